"""A quantity against its limit, by the decision rule of ISO 14253-1 (published; the rule from memory)."""

import math
from collections.abc import Mapping
from dataclasses import dataclass, field

import numpy as np

from valvetrain.answers.quantity import Quantity, correlated_parts
from valvetrain.parts.limits.limit import Limit
from valvetrain.setup.setup import Setup
from valvetrain.setup.units import shown, shown_spread

__all__ = ["WAITS", "Check", "decided", "judged"]

COVERAGE = 2.0

# A verdict whose own keys are there waits for a result that others wait for as well.
WAITS = "Measure first what the other verdicts of this valve wait for."


@dataclass(frozen=True)
class Check:
    """One verdict.

    Attributes:
        id: the limit's name.
        valve: the valve, or None where it concerns the engine.
        quantity: what was judged, in shop words.
        dimension: of value, uncertainty, low and high, all [SI]; value NaN where unmeasured.
        verdict: "ok", "out", "unsure" or "unmeasured".
        basis: where the limit comes from.
        advice: what to do; empty where nothing is to be done.
        parts: sheet key -> how far its doubt moves the value [SI], correlations of inferred values included.
        missing: sheet keys for want of which it is unmeasured.
        short: what stands behind the value where a line must be read at arm's length.
    """

    id: str
    valve: str | None
    quantity: str
    dimension: str
    value: float
    uncertainty: float
    low: float
    high: float
    verdict: str
    basis: str
    advice: str
    parts: Mapping[str, float] = field(default_factory=dict)
    missing: tuple[str, ...] = ()
    short: str = ""


def decided(
    value: float, uncertainty: float, low: float, high: float, ends: tuple[float, float] | None = None
) -> str:
    """Return the verdict on a value with its standard uncertainty, both in the limit's unit.

    With the expanded uncertainty (k = 2) wholly inside the limit it is "ok", wholly outside "out", across a
    limit "unsure"; a value that is NaN is "unmeasured". Where `ends` of a 95 % interval are given they stand
    in place of value -+ 2 uncertainties, which is symmetric and so too long on one side where the draws are
    not.
    """
    if math.isnan(value):
        return "unmeasured"
    least, most = ends or (value - COVERAGE * uncertainty, value + COVERAGE * uncertainty)
    if most < low or least > high:
        return "out"
    if least >= low and most <= high:
        return "ok"
    return "unsure"


def judged(
    setup: Setup,
    limit_id: str,
    quantity: Quantity,
    *,
    needs: tuple[str, ...],
    cure: tuple[str, ...] | None = None,
    system: str | None = None,
) -> list[Check]:
    """Judge a quantity at every valve.

    Args:
        setup: the setup, for its limits and what was measured.
        limit_id: the limit's name.
        quantity: what is judged.
        needs: sheet keys without which it cannot be known, for the advice where it is unmeasured.
        cure: at each valve, what puts it right, for the advice where it is out.
        system: units of the advice; the sheet's own if left out.
    """
    limit = setup.limits[limit_id]
    columns = {key: setup.column(*key.split(".")) for key in needs}
    parts = correlated_parts(quantity)
    checks = []
    for index, valve in enumerate(setup.valves):
        value, uncertainty = float(quantity.value[index]), float(np.nan_to_num(quantity.uncertainty[index]))
        verdict = decided(value, uncertainty, limit.low, limit.high, quantity.ends(index))
        advice = ""
        missing: list[str] = []
        if verdict == "out":
            advice = cure[index] if cure else ""
        elif verdict == "unsure":
            advice = _surer(quantity, index, limit, value, uncertainty, system or setup.units)
            if cure and cure[index] and not limit.low <= value <= limit.high:
                advice += f" If it holds: {cure[index]}"
        elif verdict == "unmeasured":
            missing = [key for key, column in columns.items() if np.isnan(column.value[index])]
            advice = f"Measure {' and '.join(missing)}." if missing else WAITS
        checks.append(
            Check(
                limit_id,
                valve,
                limit.doc,
                limit.dimension,
                value,
                uncertainty,
                limit.low,
                limit.high,
                verdict,
                limit.basis,
                advice,
                {key: float(part[index]) for key, part in parts.items() if part[index] != 0.0},
                tuple(missing),
                limit.short,
            )
        )
    return checks


def _surer(
    quantity: Quantity, index: int, limit: Limit, value: float, uncertainty: float, system: str
) -> str:
    """Say which measurement to improve, and to what the answer must become sure."""
    nearest = min(abs(value - limit.low), abs(value - limit.high))
    parts = {name: abs(float(part[index])) for name, part in quantity.contributions.items()}
    if not parts or uncertainty == 0.0:
        return "Measure it more surely."
    name = max(parts, key=lambda each: parts[each])
    share = 100 * (parts[name] / uncertainty) ** 2 if math.isfinite(uncertainty) else 100.0
    room = shown_spread(nearest, limit.dimension, system)
    ends = quantity.ends(index)
    if ends is None:
        known = f"Known to +-{shown_spread(COVERAGE * uncertainty, limit.dimension, system)}"
    else:
        least, most = (shown(end, limit.dimension, system, uncertainty) for end in ends)
        known = f"It bends here: between {least} and {most} (95 % of draws)"
    return (
        f"{known}, and only {room} from the limit: measure {name} more surely ({share:.0f} % of the doubt)."
    )
