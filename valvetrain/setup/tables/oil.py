"""The oil's passages and the layouts to compare, read from CSV."""

from pathlib import Path

from valvetrain.mechanics.oil.network import ATMOSPHERE
from valvetrain.parts.measured import Measured
from valvetrain.parts.oil import LayoutChange, OilLayouts, OilNetwork, Passage
from valvetrain.parts.spec import Spec
from valvetrain.setup.faults import Fault, SheetError, nearest
from valvetrain.setup.tables.csv_file import Table, read_table
from valvetrain.setup.units import shown
from valvetrain.setup.values import measured

__all__ = ["PASSAGE_KINDS", "PASSAGE_SPECS", "read_oil_layouts", "read_oil_network"]

Known = dict[str, tuple[str, float]]

PASSAGE_SPECS = {
    "diameter": Spec("diameter of the passage, hole or shaft", "length", low=1e-4, high=0.1),
    "length": Spec("length along the flow", "length", low=0.0, high=20.0),
    "roughness": Spec("roughness height of a pipe's wall", "length", low=0.0, high=0.001),
    "loss": Spec("sum of a pipe's loss coefficients of bends and ends", "ratio", low=0.0, high=1000.0),
    "coefficient": Spec("discharge coefficient of a hole", "ratio", low=0.01, high=1.0),
    "clearance": Spec("clearance of a bore on its shaft, on diameter", "length", low=1e-7, high=0.002),
    "worn_clearance": Spec("the same when worn", "length", low=1e-7, high=0.002),
    "eccentricity": Spec("0 centered to 1 touching", "ratio", low=0.0, high=1.0),
    "pressure": Spec("gauge pressure held at the place", "oil_pressure", low=0.0, high=2e6),
}

# kind -> (columns that it needs, columns that it may have); a leak's clearance may be the valve's own
PASSAGE_KINDS: dict[str, tuple[tuple[str, ...], tuple[str, ...]]] = {
    "pipe": (("diameter", "length"), ("roughness", "loss")),
    "hole": (("diameter",), ("coefficient",)),
    "jet": (("diameter",), ("coefficient",)),
    "leak": (("diameter", "length"), ("clearance", "worn_clearance", "eccentricity")),
    "pressure": (("pressure",), ()),
}

_WORDS = ("passage", "kind", "from", "to", "valve", "fitted", "remarks")


def read_oil_network(path: Path, shown_as: str, *, system: str, instruments: Known) -> OilNetwork:
    """Read the passages: columns `passage`, `kind`, `from`, `to`, and the sizes that the kind needs.

    `valve` names the valve whose rocker the passage feeds; `fitted` = no keeps it for the layouts. A jet and
    a leak end in the open air where `to` is blank.

    Raises:
        SheetError: with all of the table's faults.
    """
    table = read_table(path, shown_as, required=("passage", "kind", "from", "to"))
    known = (*_WORDS, *PASSAGE_SPECS)
    faults = [
        Fault(f"{shown_as} header", f"column '{name}' is not known", nearest(name, known))
        for name in table.units
        if name not in known
    ]
    passages: dict[str, Passage] = {}
    for line, cells in table.rows:
        name, kind = cells["passage"], cells["kind"].lower()
        where = f"{shown_as} line {line}"
        if not name or name in passages:
            what = f"passage '{name}' stands twice" if name else "the passage has no name"
            faults.append(Fault(where, what, "Give each passage a name of its own."))
            continue
        if kind not in PASSAGE_KINDS:
            faults.append(
                Fault(
                    table.where(line, "kind"),
                    f"'{cells['kind']}' is not a kind of passage",
                    nearest(kind, PASSAGE_KINDS),
                )
            )
            continue
        values = _values(table, line, cells, kind, system, instruments, faults)
        new, worn = values.get("clearance"), values.get("worn_clearance")
        if new is not None and worn is not None and worn.value < new.value:
            faults.append(
                Fault(
                    table.where(line, "worn_clearance"),
                    f"{shown(worn.value, 'length', system)} worn is less than "
                    f"{shown(new.value, 'length', system)} new",
                    "Correct one of the two.",
                )
            )
        end = cells["to"] or (ATMOSPHERE if kind in ("jet", "leak") else "")
        if not cells["from"] or (not end and kind != "pressure"):
            faults.append(Fault(where, "the place that it comes from or leads to is not named", "Name both."))
        fitted = cells.get("fitted", "").lower()
        if fitted not in ("", "yes", "no"):
            faults.append(
                Fault(table.where(line, "fitted"), f"'{fitted}' is not allowed", "Write yes or no.")
            )
        valve = cells.get("valve", "").upper()
        passages[name] = Passage(name, kind, cells["from"], end, values, valve, fitted != "no", where)
    if faults:
        raise SheetError(faults)
    return OilNetwork(tuple(passages.values()), shown_as)


def _values(
    table: Table,
    line: int,
    cells: dict[str, str],
    kind: str,
    system: str,
    instruments: Known,
    faults: list[Fault],
) -> dict[str, Measured]:
    """Read the sizes of one passage."""
    needed, allowed = PASSAGE_KINDS[kind]
    values: dict[str, Measured] = {}
    for column, spec in PASSAGE_SPECS.items():
        cell = cells.get(column, "")
        where = table.where(line, column)
        if not cell:
            if column in needed:
                faults.append(Fault(where, f"a {kind} needs it, and the cell is empty", "Measure it."))
            continue
        if column not in needed and column not in allowed:
            faults.append(Fault(where, f"a {kind} has no {column}", "Empty the cell, or is the kind wrong?"))
            continue
        try:
            values[column] = measured(
                cell, spec, where, system=system, instruments=instruments, header_unit=table.units[column]
            )
        except ValueError as error:
            faults.append(Fault(where, str(error), "Correct the cell."))
    return values


def read_oil_layouts(path: Path, shown_as: str, *, system: str, instruments: Known) -> OilLayouts:
    """Read the layouts: columns `layout`, `passage`, `change` and `value`; a row a change.

    `change` is `fit`, `remove`, or the name of the size that becomes `value`. A passage's name may end in `*`
    for all that begin alike.

    Raises:
        SheetError: with all of the table's faults.
    """
    table = read_table(path, shown_as, required=("layout", "passage", "change", "value"))
    faults: list[Fault] = []
    layouts: dict[str, list[LayoutChange]] = {}
    for line, cells in table.rows:
        change, where = cells["change"].lower(), table.where(line, "change")
        value = None
        if change not in ("fit", "remove", *PASSAGE_SPECS):
            faults.append(
                Fault(
                    where,
                    f"'{cells['change']}' is not a change",
                    nearest(change, ("fit", "remove", *PASSAGE_SPECS)),
                )
            )
            continue
        if change in PASSAGE_SPECS:
            where = table.where(line, "value")
            try:
                if not cells["value"]:
                    raise ValueError("the cell is empty")
                value = measured(
                    cells["value"], PASSAGE_SPECS[change], where, system=system, instruments=instruments
                )
            except ValueError as error:
                faults.append(Fault(where, str(error), "Correct the cell."))
                continue
        if not cells["layout"] or not cells["passage"]:
            faults.append(Fault(f"{shown_as} line {line}", "names no layout or no passage", "Name both."))
            continue
        layouts.setdefault(cells["layout"], []).append(
            LayoutChange(cells["passage"], change, value, f"{shown_as} line {line}")
        )
    if faults:
        raise SheetError(faults)
    return OilLayouts({name: tuple(changes) for name, changes in layouts.items()}, shown_as)
