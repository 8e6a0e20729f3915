"""Spring load tests, read from CSV."""

from itertools import pairwise
from pathlib import Path

from valvetrain.parts.measured import Measured
from valvetrain.parts.spec import Spec
from valvetrain.parts.spring import LoadTest
from valvetrain.setup.csv_table import read_table
from valvetrain.setup.faults import Fault, SheetError
from valvetrain.setup.values import measured

__all__ = ["read_load_tests"]

_HEIGHT = Spec("height of the spring in the tester", "length", low=0.005, high=0.2, instrument="caliper")
_LOAD = Spec("load at that height", "force", low=0.0, high=10000.0, instrument="spring_tester")


def read_load_tests(
    path: Path, shown_as: str, *, system: str, instruments: dict[str, tuple[str, float]]
) -> dict[str, LoadTest]:
    """Read load tests: columns `height` and `load`, and `spring` where there is more than one spring.

    Returns:
        spring name -> its test, in the table's order; the name is empty where there is no column `spring`.

    Raises:
        SheetError: the file cannot be read, a column is missing, a spring has fewer than two heights, or its
            load rises with height.
    """
    table = read_table(path, shown_as, required=("height", "load"))
    faults: list[Fault] = []
    points: dict[str, list[tuple[Measured, Measured]]] = {}
    for line, cells in table.rows:
        pair = []
        for column, spec in (("height", _HEIGHT), ("load", _LOAD)):
            where = table.where(line, column)
            try:
                if not cells[column]:
                    raise ValueError("the cell is empty")
                pair.append(
                    measured(
                        cells[column],
                        spec,
                        where,
                        system=system,
                        instruments=instruments,
                        header_unit=table.units[column],
                    )
                )
            except ValueError as error:
                faults.append(Fault(where, str(error), "Correct the row, or take it out."))
        if len(pair) == 2:
            points.setdefault(cells.get("spring", ""), []).append((pair[0], pair[1]))
    for spring, pairs in points.items():
        name = f"spring '{spring}'" if spring else "the spring"
        ordered = sorted(pairs, key=lambda pair: pair[0].value)
        if len({height.value for height, _ in pairs}) < 2:
            faults.append(
                Fault(
                    shown_as,
                    f"{name} has fewer than two heights",
                    "Test it near the seat height and near full lift.",
                )
            )
        elif any(upper[1].value >= lower[1].value for lower, upper in pairwise(ordered)):
            faults.append(
                Fault(
                    shown_as,
                    f"the load of {name} does not fall as its height rises",
                    "Are the columns height and load swapped, or two rows mixed up?",
                )
            )
    if faults:
        raise SheetError(faults)
    return {
        spring: LoadTest(
            spring, tuple(height for height, _ in pairs), tuple(load for _, load in pairs), shown_as
        )
        for spring, pairs in points.items()
    }
