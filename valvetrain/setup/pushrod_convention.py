"""A pushrod's stated length carried to the distance between its ball centers, which all else uses."""

import math
from typing import Any

from valvetrain.mechanics.pushrod.length import beyond_centers
from valvetrain.parts.measured import Measured
from valvetrain.setup.faults import Fault
from valvetrain.setup.units import shown

__all__ = ["with_center_distance", "without_convention"]

# Two lengths of one pushrod that differ by more than this contradict each other: 0.25 mm [m].
SAME = 2.5e-4


def without_convention(where: str) -> Fault:
    """Say that a length stands there which nobody can read without its convention."""
    return Fault(
        where,
        "a length means nothing without its convention",
        'Add convention = "between ball centers", "over the balls", "ball tip to cup bottom" or "to gauge '
        'diameter" to [pushrod].',
    )


def with_center_distance(where: str, values: dict[str, Any], faults: list[Fault]) -> dict[str, Any]:
    """Fill `length` from the stated length and its convention, or from a checking pushrod.

    A stated length without its convention, or without the sizes that the convention needs, is a fault.
    """
    stated: Measured | None = values.get("stated_length")
    convention = values.get("convention")
    if stated is not None and convention is None:
        _add(
            faults,
            without_convention(f"{where} stated_length"),
        )
        return values
    if stated is not None:
        sizes = {name: _value(values.get(name)) for name in ("lower_ball", "upper_ball")}
        needs = [] if convention == "between ball centers" else ["lower_ball", "upper_ball"]
        if convention == "to gauge diameter":
            needs.append("gauge_diameter")
        missing = [name for name in needs if values.get(name) is None]
        if missing:
            _add(
                faults,
                Fault(
                    f"{where} convention",
                    f"a length {convention} needs {' and '.join(missing)}",
                    "Measure and add them.",
                ),
            )
            return values
        hole = values.get("oil_hole")
        try:
            beyond = float(
                beyond_centers(
                    str(convention),
                    **sizes,
                    gauge=_value(values.get("gauge_diameter")),
                    oil_hole=0.0 if hole is None else hole.value,
                )
            )
        except ValueError as error:
            _add(faults, Fault(f"{where} convention", str(error).rstrip("."), "Correct the sizes."))
            return values
        centers = Measured(stated.value - beyond, stated.uncertainty, stated.source, stated.stated)
        given: Measured | None = values.get("length")
        if given is not None and abs(given.value - centers.value) > SAME:
            _add(
                faults,
                Fault(
                    f"{where} stated_length",
                    f"it makes {_both(centers.value)} between the ball centers, and `length` says "
                    f"{_both(given.value)}",
                    "Correct one of the two, the convention or the ball sizes, or leave one out.",
                ),
            )
        return values | {"length": given or centers}
    checking = all(values.get(f"checking_{key}") for key in ("length", "turns", "pitch"))
    if values.get("length") is None and checking:
        turns, pitch, start = (values[f"checking_{key}"] for key in ("turns", "pitch", "length"))
        spread = math.hypot(start.uncertainty, turns.uncertainty * pitch.value)
        return values | {"length": Measured(start.value + turns.value * pitch.value, spread, turns.source)}
    return values


def _value(measured: Measured | None) -> float:
    return math.nan if measured is None else measured.value


def _both(length: float) -> str:
    return f"{shown(length, 'length', 'inch')} ({shown(length, 'length', 'metric')})"


def _add(faults: list[Fault], fault: Fault) -> None:
    """Add a fault once, however many valves it concerns."""
    if fault not in faults:
        faults.append(fault)
