"""Spring load tests, read from CSV."""

from pathlib import Path

from valvetrain.mechanics.spring.tester_faults import load_test_faults
from valvetrain.parts.measured import Measured
from valvetrain.parts.spec import Spec
from valvetrain.parts.spring import LoadTest
from valvetrain.setup.faults import Fault, SheetError, nearest
from valvetrain.setup.tables.csv_file import read_table
from valvetrain.setup.units import shown
from valvetrain.setup.values import measured

__all__ = ["read_load_tests"]

_HEIGHT = Spec("height of the spring in the tester", "length", low=0.005, high=0.2, instrument="caliper")
_SOLID = Spec("height with the coils touching", "length", low=0.005, high=0.15, instrument="caliper")
_LOAD = Spec("load at that height", "force", low=0.0, high=10000.0, instrument="spring_tester")
_KINDS = ("linear", "progressive")
_COLUMNS = ("spring", "height", "load", "solid_height", "kind", "remarks")


def read_load_tests(
    path: Path, shown_as: str, *, system: str, instruments: dict[str, tuple[str, float]]
) -> dict[str, LoadTest]:
    """Read load tests: columns `height` and `load`; `spring`, `solid_height`, `kind` where they are known.

    Returns:
        spring name -> its test, in the table's order; the name is empty where there is no column `spring`.

    Raises:
        SheetError: the file cannot be read, a column is missing or not known, a spring has fewer than two
            heights, its load rises with height, or its rate is none of a valve spring.
    """
    table = read_table(path, shown_as, required=("height", "load"))
    faults = [
        Fault(f"{shown_as} header", f"column '{column}' is not known", nearest(column, _COLUMNS))
        for column in table.units
        if column not in _COLUMNS
    ]
    if (table.units["load"] or "").strip().lower() in ("psi", "lb/in2", "kpsi", "bar"):
        faults.append(
            Fault(
                f"{shown_as} header",
                f"load [{table.units['load']}] is a pressure, and a spring's load is a force",
                "A tester printed in psi shows pounds-force all the same: write load [lbf].",
            )
        )
        raise SheetError(faults)
    points: dict[str, list[tuple[int, Measured, Measured]]] = {}
    solid: dict[str, Measured] = {}
    kinds: dict[str, str] = {}
    for line, cells in table.rows:
        read: dict[str, Measured] = {}
        for column, spec in (("height", _HEIGHT), ("load", _LOAD), ("solid_height", _SOLID)):
            where = table.where(line, column)
            if not cells.get(column) and column == "solid_height":
                continue
            try:
                if not cells[column]:
                    raise ValueError("the cell is empty")
                read[column] = measured(
                    cells[column],
                    spec,
                    where,
                    system=system,
                    instruments=instruments,
                    header_unit=table.units[column],
                )
            except ValueError as error:
                mend = "Correct the row, or take it out."
                if column == "load" and "psi" in cells[column]:
                    mend = "A tester printed in psi shows pounds-force all the same: write lbf."
                faults.append(Fault(where, str(error), mend))
        name = cells.get("spring", "")
        kind = cells.get("kind", "").strip().lower()
        if kind and (kind not in _KINDS or kinds.setdefault(name, kind) != kind):
            said = "is said twice, and differently" if kind in _KINDS else "is no kind of a tested spring"
            mend = f"Write one of {' and '.join(_KINDS)}, alike in all rows of a spring, or leave it empty."
            faults.append(Fault(table.where(line, "kind"), f"'{cells['kind']}' {said}", mend))
        if "height" in read and "load" in read:
            points.setdefault(name, []).append((line, read["height"], read["load"]))
        if "solid_height" in read:
            solid.setdefault(name, read["solid_height"])
    for spring, rows in points.items():
        name = f"spring '{spring}'" if spring else "the spring"
        found = load_test_faults(
            [height.value for _, height, _ in rows],
            [load.value for _, _, load in rows],
            length=lambda value: shown(value, "length", system),
            force=lambda value: shown(value, "force", system),
            stiffness=lambda value: shown(value, "stiffness", system),
        )
        faults += [
            Fault(
                f"{shown_as} line {rows[row][0]}, {name}",
                sentence,
                "Test it near the seat height and near full lift, and correct the rows.",
            )
            for row, sentence in found
        ]
        if spring in solid and solid[spring].value >= min(height.value for _, height, _ in rows) + 1e-9:
            faults.append(
                Fault(
                    f"{shown_as}, {name}",
                    f"its solid height {shown(solid[spring].value, 'length', system)} is above a height "
                    "at which it was tested",
                    "Check both.",
                )
            )
    if faults:
        raise SheetError(faults)
    return {
        spring: LoadTest(
            spring,
            tuple(height for _, height, _ in rows),
            tuple(load for _, _, load in rows),
            shown_as,
            solid.get(spring),
            kinds.get(spring),
        )
        for spring, rows in points.items()
    }
