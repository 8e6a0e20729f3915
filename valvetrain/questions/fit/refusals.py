"""What stands in the way of a fit: unknown lobes, several shafts or castings, readings beyond the lobe."""

from collections.abc import Sequence

import numpy as np

from valvetrain.parts.reading import BenchReading
from valvetrain.questions.fit.priors import PARAMETER_KEYS
from valvetrain.setup.faults import Fault, SheetError
from valvetrain.setup.linkage_columns import lobe_lift
from valvetrain.setup.setup import Setup
from valvetrain.setup.units import shown

__all__ = ["refuse_unfit"]


def refuse_unfit(setup: Setup, table: str, bench: Sequence[BenchReading]) -> None:
    """Raise for a sheet or readings from which no linkage can be inferred.

    Args:
        setup: the sheet.
        table: name of the table of readings.
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
    if len({train.shaft.name for train in setup.trains}) > 1:
        faults.append(
            Fault(
                table,
                "the sheet has more than one rocker shaft, and a fit infers one",
                "Make a sheet for each shaft.",
            )
        )
    for key in PARAMETER_KEYS.values():
        values = setup.column(*key.split(".")).value
        for role in dict.fromkeys(setup.roles):
            own = values[[each == role for each in setup.roles]]
            if np.unique(own[np.isfinite(own)]).size > 1 and not (
                setup.correlation and key in setup.correlation.keys
            ):
                faults.append(
                    Fault(
                        f"the table of valves, {key}",
                        f"differs among the {role} valves, and a fit infers one casting",
                        "Give it once, in the sheet.",
                    )
                )
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
