"""What stands in the way of a fit: unknown lobes, readings beyond the lobe."""

from collections.abc import Sequence

import numpy as np

from valvetrain.parts.reading import BenchReading
from valvetrain.setup.faults import Fault, SheetError
from valvetrain.setup.linkage_columns import lobe_lift
from valvetrain.setup.setup import Setup
from valvetrain.setup.units import shown

__all__ = ["refuse_unfit"]


def refuse_unfit(setup: Setup, bench: Sequence[BenchReading]) -> None:
    """Raise for a sheet or readings from which no linkage can be inferred.

    Args:
        setup: the sheet.
        bench: the readings.

    Raises:
        SheetError: every reason at once.
    """
    faults = []
    missing = [
        valve for valve, lift in zip(setup.valves, lobe_lift(setup).value, strict=True) if np.isnan(lift)
    ]
    if missing:
        faults.append(
            Fault(
                f"valves {', '.join(missing)}",
                "the lobe lift is not known",
                "Add [lobe] lift, a lift table, or the column lobe_lift.",
            )
        )
    faults += _beyond_full_lift(setup, bench)
    if faults:
        raise SheetError(faults)


def _beyond_full_lift(setup: Setup, bench: Sequence[BenchReading]) -> list[Fault]:
    """Readings at a tappet lift that the lobe does not have."""
    lobe = lobe_lift(setup)
    faults = []
    for row in bench:
        if row.tappet_lift is None or not row.valve:
            continue
        index = setup.valves.index(row.valve)
        room = 4.0 * float(np.hypot(row.tappet_lift.uncertainty, lobe.uncertainty[index]))
        if row.tappet_lift.value > lobe.value[index] + room:
            at, full = (
                shown(float(lift), "length", setup.units)
                for lift in (row.tappet_lift.value, lobe.value[index])
            )
            faults.append(
                Fault(
                    f"{row.source}, column tappet_lift",
                    f"{at} is more than the lobe of {row.valve} lifts, {full}",
                    "Is it the valve's lift, are two digits transposed, or was it read in another unit?",
                )
            )
    return faults
