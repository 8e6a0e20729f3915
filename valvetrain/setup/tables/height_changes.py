"""The height ledger: what was cut, replaced or shimmed between cam and valve tip, read from CSV."""

from pathlib import Path

from valvetrain.mechanics.rocker.height_ledger import ITEMS
from valvetrain.parts.adjuster import HeightChange
from valvetrain.parts.spec import Spec
from valvetrain.setup.faults import Fault, SheetError, nearest
from valvetrain.setup.tables.csv_file import read_table
from valvetrain.setup.values import measured

__all__ = ["read_height_changes"]

_CHANGE = Spec("change of that height", "length", low=-0.02, high=0.02, instrument="caliper")


def read_height_changes(
    path: Path,
    shown_as: str,
    names: tuple[str, ...],
    *,
    system: str,
    instruments: dict[str, tuple[str, float]],
) -> tuple[HeightChange, ...]:
    """Read the ledger: columns `item` and `change`, and `valve` where a line is for one valve only.

    A blank change is an unknown amount, never zero.

    Raises:
        SheetError: with every fault of the table.
    """
    table = read_table(path, shown_as, required=("item", "change"))
    faults: list[Fault] = []
    changes: list[HeightChange] = []
    for line, cells in table.rows:
        item, valve = cells["item"].lower().replace(" ", "_"), cells.get("valve", "").upper()
        where = table.where(line, "item")
        if item not in ITEMS:
            faults.append(Fault(where, f"'{cells['item']}' is not part of the stack", nearest(item, ITEMS)))
            continue
        if valve and valve not in names:
            faults.append(
                Fault(
                    table.where(line, "valve"),
                    f"'{valve}' is not a valve of this engine",
                    f"Its valves are {', '.join(names)}; blank means all of them.",
                )
            )
            continue
        where = table.where(line, "change")
        try:
            amount = (
                measured(
                    cells["change"],
                    _CHANGE,
                    where,
                    system=system,
                    instruments=instruments,
                    header_unit=table.units["change"],
                )
                if cells["change"] and cells["change"].lower() != "unknown"
                else None
            )
        except ValueError as error:
            faults.append(Fault(where, str(error), "Correct it, or leave it blank if the amount is unknown."))
            continue
        changes.append(HeightChange(item, valve, amount, where))
    if faults:
        raise SheetError(faults)
    return tuple(changes)
