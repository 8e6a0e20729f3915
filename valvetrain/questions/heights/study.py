"""What the adjusters say about the height stack: the unknown change between cam and valve tip."""

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from valvetrain.answers.output import dimensions, output
from valvetrain.answers.quantity import Quantity, computed
from valvetrain.mechanics.arrays import FloatArray
from valvetrain.mechanics.rocker.height_ledger import (
    ITEMS,
    ExposureRates,
    exposure_rates,
    implied_change,
    weighted_mean,
)
from valvetrain.questions.rocker.linkage_inputs import closed_linkage
from valvetrain.questions.rocker.shaft_heights import standing_apart
from valvetrain.questions.rocker.study import RockerResult
from valvetrain.setup.linkage_columns import linkage_columns
from valvetrain.setup.setup import Column, Setup

__all__ = ["HeightsResult", "LedgerLine", "heights_study"]


@dataclass(frozen=True)
class LedgerLine:
    """One line of the ledger: item, valve or empty for all, change [m] or NaN, its doubt, what it moves."""

    item: str
    valve: str
    change: float
    uncertainty: float
    reach: int
    rise: int


@dataclass(frozen=True)
class HeightsResult:
    """The height stack."""

    valves: tuple[str, ...]
    roles: tuple[str, ...]
    exposure_change: Quantity = output(
        "length", "thread showing now less before", heading="thread now less before"
    )
    known_reach: Quantity = output("length", "what the known lines change, tappet to shaft")
    known_rise: Quantity = output("length", "what the known lines change, tip to shaft")
    known_exposure_change: Quantity = output(
        "length", "what the known lines explain of the thread's change", heading="known explains"
    )
    unknown_reach: Quantity = output(
        "length", "what is left, if it all lies between cam and shaft", heading="unknown, cam to shaft"
    )
    unknown_rise: Quantity = output(
        "length", "the same, if it all lies between shaft and valve tip", heading="or shaft to tip"
    )
    own_part: Quantity = output(
        "length",
        "a valve's own part of the unknown reach: less the mean of the set",
        heading="valve's own part",
    )
    pushrod_change: Quantity = output(
        "length",
        "longer (minus: shorter) pushrod that brings the thread back to what showed before",
        heading="pushrod to bring it back",
    )
    stand_shim_change: Quantity = output(
        "length",
        "shim under the stand (minus: less) that does the same; it raises the shaft over the valve's tip as "
        "well, so that less of it is needed, and moves the pattern",
        heading="or stand shim",
    )
    total: "Total" = output(None, "what the valves have in common", key="")
    ledger: "Ledger" = output(None, "the lines, and the items whose amount is not known", key="")


@dataclass(frozen=True)
class Total:
    """What the set has in common.

    Attributes:
        value, uncertainty: unknown change of reach [m], mean of the valves that stand together.
        scatter: their chi-square per degree of freedom.
        apart: valves that stand apart from them.
        pushrod_change, stand_shim_change: what brings their thread back to what showed before [m].
    """

    value: float
    uncertainty: float
    scatter: float
    apart: tuple[str, ...]
    pushrod_change: float
    stand_shim_change: float


@dataclass(frozen=True)
class Ledger:
    """The ledger's lines, and the items of unknown amount."""

    lines: tuple[LedgerLine, ...]
    unknown_items: tuple[str, ...]


def heights_study(setup: Setup, rocker: RockerResult) -> HeightsResult:
    """Solve the ledger from the adjuster positions."""
    inputs = linkage_columns(setup) | {
        "adjuster.exposure": setup.column("adjuster", "exposure"),
        "adjuster.exposure_before": setup.column("adjuster", "exposure_before"),
        "adjuster.axis_lean": setup.column("adjuster", "axis_lean"),
    }
    count = len(setup.valves)
    lash = rocker.lash
    inputs["lash"] = Column(lash.value, np.nan_to_num(lash.uncertainty), ("studied",) * count)
    shares: dict[str, tuple[int, int]] = {}
    for number, change in enumerate(setup.heights):
        if change.change is None:
            continue
        here = np.array([change.valve in ("", valve) for valve in setup.valves])
        name = f"heights.{number}:{change.item}"
        reach, rise, _ = ITEMS[change.item]
        shares[name] = (reach, rise)
        inputs[name] = Column(
            np.where(here, change.change.value, 0.0),
            np.where(here, change.change.uncertainty, 0.0),
            (change.source,) * count,
        )
    found = computed(lambda rows: _quantities(rows, shares), inputs, dimensions(HeightsResult))
    unknown = found["unknown_reach"]
    apart = standing_apart(unknown.value)
    shared = np.where(apart, np.nan, unknown.value)
    mean, doubt, scatter = weighted_mean(shared, unknown.uncertainty)
    found["own_part"] = Quantity("length", unknown.value - mean, unknown.uncertainty, unknown.contributions)
    lines = tuple(
        LedgerLine(
            each.item,
            each.valve,
            float("nan") if each.change is None else each.change.value,
            float("nan") if each.change is None else each.change.uncertainty,
            *ITEMS[each.item][:2],
        )
        for each in setup.heights
    )
    items = tuple(dict.fromkeys(line.item for line in lines if np.isnan(line.change)))
    # The known lines are common to all valves, so their doubt does not average out over the set.
    common = np.hypot.reduce(
        [
            np.nan_to_num(np.nanmean(np.abs(part)))
            for name, part in unknown.contributions.items()
            if name.startswith("heights.") and np.isfinite(part).any()
        ]
        or [0.0]
    )
    return HeightsResult(
        valves=setup.valves,
        roles=setup.roles,
        total=Total(
            mean,
            float(np.hypot(doubt, common)),
            scatter,
            tuple(setup.valves[index] for index in np.flatnonzero(apart)),
            _middle(found["pushrod_change"].value, apart),
            _middle(found["stand_shim_change"].value, apart),
        ),
        ledger=Ledger(lines, items),
        **found,
    )


def _middle(values: FloatArray, apart: np.ndarray) -> float:
    """Return the median over the valves that stand together and are known; NaN where none is."""
    known = values[np.isfinite(values) & ~apart]
    return float(np.median(known)) if known.size else float("nan")


def _quantities(
    rows: Mapping[str, FloatArray], shares: Mapping[str, tuple[int, int]]
) -> dict[str, FloatArray]:
    closed = closed_linkage(rows, rows["lash"])
    lean = np.nan_to_num(rows["adjuster.axis_lean"])
    by_linkage = exposure_rates(closed, lean)
    # Without the linkage: an upright pushrod, and the rocker's nominal ratio.
    by_rise = np.where(np.isnan(by_linkage.by_rise), 1.0 / rows["rocker.nominal_ratio"], by_linkage.by_rise)
    by_reach = np.where(np.isnan(by_linkage.by_reach), 1.0, by_linkage.by_reach)
    rates = ExposureRates(by_reach, by_rise)
    zero = np.zeros(rows["adjuster.exposure"].shape)
    reach, rise = zero, zero
    for name, (to_reach, to_rise) in shares.items():
        reach = reach + to_reach * rows[name]
        rise = rise + to_rise * rows[name]
    change = rows["adjuster.exposure"] - rows["adjuster.exposure_before"]
    unknown = implied_change(change, reach, rise, rates)
    return {
        "exposure_change": change,
        "known_reach": reach,
        "known_rise": rise,
        "known_exposure_change": reach * by_reach + rise * by_rise,
        "unknown_reach": unknown,
        "unknown_rise": unknown * by_reach / by_rise,
        "own_part": unknown,
        # A longer pushrod takes up as much reach as it is longer: less thread then shows.
        "pushrod_change": change / by_reach,
        "stand_shim_change": -change / (by_reach + by_rise),
    }
