"""Does the spring keep the tappet on its lobe to the redline, and what would raise the speed?

The train is rigid here: every part follows the lobe exactly until the lobe would have to pull. A real train
is elastic and parts earlier; `elastic_study` says how much.
"""

from collections.abc import Mapping
from dataclasses import dataclass, replace

import numpy as np

from valvetrain.answers.quantity import Quantity, computed
from valvetrain.mechanics.arrays import FloatArray
from valvetrain.mechanics.dynamics.control_limit import LobeTerms, control_limit, lobe_terms, seat_load_for
from valvetrain.mechanics.dynamics.train_loads import TrainMasses
from valvetrain.questions.control.curves import LobeShapes, lobe_shapes, train_curves
from valvetrain.questions.control.inputs import (
    SpringColumns,
    SpringLoads,
    control_columns,
    moving_masses,
    spring_columns,
)
from valvetrain.questions.control.train_masses import train_mass_columns
from valvetrain.setup.setup import Column, Setup

__all__ = ["STEP", "WORN", "ControlResult", "control_quantities", "control_speed", "control_study"]

STEP = 0.10
"""Change of load, rate and masses for which gains are told, as a share."""

# The train leaves its lobe over the nose: the flanks farther off press it on at any speed.
_ANGLE = np.radians(np.arange(-75.0, 75.1, 1.5))

WORN = 76e-6
"""Loss of lobe lift from which a lobe counts as worn here [m]: 0.003 in, common practice, no source."""

# with their uncertainties
_DIMENSIONS = {
    "limit_speed": "rotation",
    "control_margin": "fraction",
    "seat_load": "force",
    "seat_load_needed": "force",
    "seat_load_spare": "force",
    "nose_load": "force",
    "valve_side_mass": "mass",
    "rocker_inertia": "inertia",
    "follower_mass": "mass",
}

# without: they explain the answer, and a few percent would change nothing
_EXPLAINING = {
    "limit_angle": "angle",
    "limit_lift": "length",
    "gain_by_seat_load": "rotation",
    "gain_by_rate": "rotation",
    "gain_by_valve_side": "rotation",
    "gain_by_rocker": "rotation",
    "gain_by_follower": "rotation",
    "nose_load_by_seat_load": "force",
    "nose_load_by_rate": "force",
}


@dataclass(frozen=True)
class ControlResult:
    """Rigid control at every valve. Speeds are the crankshaft's.

    Attributes:
        redline: [rad/s], NaN where the sheet gives none.
        asked: whether the sheet says anything of masses, or the question was asked by itself.
        limit_speed: at which the force of lobe on tappet first reaches zero; infinite where it never does.
        limit_angle: where, in crank angle from the lobe center, negative before it; limit_lift: valve lift
            there.
        control_margin: limit_speed over the redline, less 1.
        seat_load: as the spring stands now; seat_load_needed: that just holds the train to the redline;
            seat_load_spare: what there is more than needed.
        nose_load: greatest force of the lobe on the tappet, engine turned slowly.
        valve_side_mass: valve, retainer, keepers and the counted share of the spring; rocker_inertia;
            follower_mass: pushrod and tappet.
        gain_by_...: crankshaft speed gained by 10 % more seat load or rate, or 10 % less mass or inertia.
        nose_load_by_...: what these loads add at the nose.
        springs: as they were taken.
        lobe_from: per valve "table", "law", "card" or empty; coarse: whether its table is too coarse.
        worn: per valve, its lobe lifts less than the lobe as made, whose whole shape is scaled down for it.
        spring_bow: how far the spring stays below the straight line taken for it, about half lift.
        estimated: per valve, masses estimated and not weighed; missing: masses not known.
        doubt_from: per valve, the input with the greatest part in the limit's uncertainty.
        angle: cam angles from the lobe center at which the force on the lobe was worked out [rad]; terms: its
            parts there, each [valves, angles].
    """

    valves: tuple[str, ...]
    roles: tuple[str, ...]
    redline: float
    asked: bool
    limit_speed: Quantity
    limit_angle: Quantity
    limit_lift: Quantity
    control_margin: Quantity
    seat_load: Quantity
    seat_load_needed: Quantity
    seat_load_spare: Quantity
    nose_load: Quantity
    valve_side_mass: Quantity
    rocker_inertia: Quantity
    follower_mass: Quantity
    gain_by_seat_load: Quantity
    gain_by_rate: Quantity
    gain_by_valve_side: Quantity
    gain_by_rocker: Quantity
    gain_by_follower: Quantity
    nose_load_by_seat_load: Quantity
    nose_load_by_rate: Quantity
    springs: SpringColumns
    lobe_from: tuple[str, ...]
    coarse: tuple[bool, ...]
    worn: tuple[bool, ...]
    spring_bow: Quantity
    estimated: tuple[tuple[str, ...], ...]
    missing: tuple[tuple[str, ...], ...]
    doubt_from: tuple[str, ...]
    angle: FloatArray
    terms: LobeTerms

    def weakest(self, role: str) -> int | None:
        """Return the valve of a role with the lowest limit, or None where none is known."""
        own = [
            (float(value), index)
            for index, value in enumerate(self.limit_speed.value)
            if self.roles[index] == role and not np.isnan(value)
        ]
        return min(own)[1] if own else None


def control_study(
    setup: Setup, spring: SpringLoads, net_lift: Quantity, *, asked: bool = False
) -> ControlResult:
    """Study the rigid control limit of every valve, with the springs as they stand now.

    Args:
        setup: the setup.
        spring: result of the study of the springs.
        net_lift: of the valves, from the study of the rockers.
        asked: the question was asked by itself, and not as one of all.
    """
    springs = spring_columns(spring, net_lift)
    shapes = lobe_shapes(setup, _ANGLE)
    masses = train_mass_columns(setup)
    redline = np.nan if setup.engine.redline is None else setup.engine.redline.value
    given = any(train.valve.mass or any(vars(train.masses).values()) for train in setup.trains)
    inputs = control_columns(setup, shapes, springs)
    at_pushrod = np.array([train.lash.at == "pushrod" for train in setup.trains])
    with np.errstate(invalid="ignore", divide="ignore"):
        found = computed(
            lambda rows: _only(_DIMENSIONS, control_quantities(rows, shapes, at_pushrod, redline)),
            inputs,
            _DIMENSIONS,
            core=lambda rows: _seat_load_quantities(rows, shapes, at_pushrod, redline),
        )
        as_given = {key: column.value for key, column in inputs.items()}
        once = control_quantities(
            {key: value[np.newaxis] for key, value in as_given.items()}, shapes, at_pushrod, redline
        )
        terms = lobe_terms(train_curves(shapes, as_given, at_pushrod), as_given["rocker.pad_arm"])
    unknown = np.full(len(setup.trains), np.nan)
    found |= {
        name: Quantity(dimension, once[name][0], unknown, {}) for name, dimension in _EXPLAINING.items()
    }
    found = {name: _in_words(quantity) for name, quantity in found.items()}
    return ControlResult(
        valves=setup.valves,
        roles=setup.roles,
        redline=redline,
        asked=asked or given,
        springs=springs,
        lobe_from=shapes.source,
        coarse=shapes.coarse,
        worn=_worn(inputs["lobe.lift"].value, shapes),
        spring_bow=_spring_bow(spring, net_lift),
        estimated=masses.estimated,
        missing=masses.missing,
        doubt_from=_doubt_from(found["limit_speed"]),
        angle=shapes.angle,
        terms=terms,
        **found,
    )


def control_speed(setup: Setup, seat_load: Column, rate: Column) -> Quantity:
    """Crankshaft speed at which each rigid train leaves its lobe, with springs of other load and rate.

    For example with the inner springs taken out for the break-in.

    Args:
        setup: the setup.
        seat_load, rate: of the springs left in, at every valve.
    """
    shapes = lobe_shapes(setup, _ANGLE)
    at_pushrod = np.array([train.lash.at == "pushrod" for train in setup.trains])
    inputs = control_columns(setup, shapes, SpringColumns(seat_load, rate))
    wanted = {"limit_speed": "rotation"}
    with np.errstate(invalid="ignore", divide="ignore"):
        return computed(
            lambda rows: _only(wanted, control_quantities(rows, shapes, at_pushrod, np.nan)), inputs, wanted
        )["limit_speed"]


def control_quantities(
    rows: Mapping[str, FloatArray], shapes: LobeShapes, at_pushrod: np.ndarray, redline: float
) -> dict[str, FloatArray]:
    """Compute the study's quantities from sheet keys, each [k, n]; see `ControlResult`."""
    terms, masses, seat, rate = _terms(rows, shapes, at_pushrod)
    limit = control_limit(terms, shapes.angle, masses, seat, rate)
    needed = seat_load_for(terms, masses, rate, [redline / 2.0])[..., 0]
    valve, inertia = np.asarray(masses.valve_side), np.asarray(masses.rocker_inertia)
    follower = np.asarray(masses.pushrod) + np.asarray(masses.tappet)
    crank = 2.0
    return {
        "limit_speed": crank * limit.speed,
        "limit_angle": crank * limit.angle,
        "limit_lift": limit.valve_lift,
        "control_margin": crank * limit.speed / redline - 1.0,
        "seat_load": seat,
        "seat_load_needed": needed,
        "seat_load_spare": seat - needed,
        "nose_load": limit.nose_force,
        "valve_side_mass": valve,
        "rocker_inertia": inertia,
        "follower_mass": follower,
        "gain_by_seat_load": crank * limit.per_seat_load * STEP * seat,
        "gain_by_rate": crank * limit.per_rate * STEP * rate,
        "gain_by_valve_side": -crank * limit.per_valve_mass * STEP * valve,
        "gain_by_rocker": -crank * limit.per_rocker_inertia * STEP * inertia,
        "gain_by_follower": -crank * limit.per_follower_mass * STEP * follower,
        "nose_load_by_seat_load": limit.nose_per_seat_load * STEP * seat,
        "nose_load_by_rate": limit.nose_per_rate * STEP * rate,
    }


def _seat_load_quantities(
    rows: Mapping[str, FloatArray], shapes: LobeShapes, at_pushrod: np.ndarray, redline: float
) -> dict[str, FloatArray]:
    """Those of `control_quantities` that need no limit, each [k, n]: they bend where no load is needed."""
    terms, masses, seat, rate = _terms(rows, shapes, at_pushrod)
    needed = seat_load_for(terms, masses, rate, [redline / 2.0])[..., 0]
    return {"seat_load_needed": needed, "seat_load_spare": seat - needed}


def _terms(
    rows: Mapping[str, FloatArray], shapes: LobeShapes, at_pushrod: np.ndarray
) -> tuple[LobeTerms, TrainMasses, FloatArray, FloatArray]:
    """Terms of the force on the lobe, moving masses, seat load and rate."""
    terms = lobe_terms(train_curves(shapes, rows, at_pushrod), rows["rocker.pad_arm"])
    # A load moved down by its uncertainty may no longer press; such a row has no limit.
    seat = np.where(rows["seat load"] > 0, rows["seat load"], np.nan)
    rate = np.where(rows["spring rate"] > 0, rows["spring rate"], np.nan)
    return terms, moving_masses(rows), seat, rate


def _worn(lift: FloatArray, shapes: LobeShapes) -> tuple[bool, ...]:
    """Whether the lift found at each valve is less than its lobe's own by what calls for watching."""
    return tuple(bool(found < own - WORN) for found, own in zip(lift, shapes.lobe_lift, strict=True))


def _spring_bow(spring: SpringLoads, net_lift: Quantity) -> Quantity:
    """Load by which a spring whose rate grows evenly stays below its chord at half lift: dk L/8."""
    bow = (spring.rate_open.value - spring.rate.value) * net_lift.value / 8.0
    return Quantity("force", bow, np.full(bow.shape, np.nan), {})


def _only(wanted: Mapping[str, str], found: dict[str, FloatArray]) -> dict[str, FloatArray]:
    """Return those quantities whose uncertainty is wanted: each costs its time."""
    return {name: found[name] for name in wanted}


def _in_words(quantity: Quantity) -> Quantity:
    """Name the lobe's contribution in words: it is no key of the sheet that could be measured more surely."""
    parts = {
        "the lobe's shape" if name == "lobe.acceleration" else name: part
        for name, part in quantity.contributions.items()
    }
    return replace(quantity, contributions=parts)


def _doubt_from(quantity: Quantity) -> tuple[str, ...]:
    """Name the input with the greatest part in the uncertainty at every valve."""
    names = list(quantity.contributions)
    if not names:
        return ("",) * len(quantity.value)
    parts = np.nan_to_num(np.abs(np.array([quantity.contributions[name] for name in names])))
    return tuple(
        names[int(np.argmax(parts[:, index]))] if np.isfinite(value) and parts[:, index].max() > 0 else ""
        for index, value in enumerate(quantity.value)
    )
