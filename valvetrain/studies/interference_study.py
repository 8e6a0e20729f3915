"""Do rocker, retainer, seal and stand clear each other through the lift?

Uncertainty: each input is raised by its standard uncertainty at the position of the least clearance only,
which to first order stays where it is (GUM 5.1.3 note 2, one-sided).
"""

from collections.abc import Callable, Mapping
from dataclasses import dataclass

import numpy as np

from valvetrain.mechanics.arrays import FloatArray
from valvetrain.mechanics.interference import (
    PartClearance,
    retainer_to_seal,
    rocker_to_retainer,
    rocker_to_stand,
)
from valvetrain.mechanics.pad_side import pad_angle_at_pad_drop
from valvetrain.mechanics.part_shapes import retainer_box, rocker_bar, seal_box, stand_box
from valvetrain.parts.adjuster import Outline
from valvetrain.parts.instruments import DEFAULT_UNCERTAINTY
from valvetrain.setup.setup import Column, Setup
from valvetrain.studies.linkage_inputs import height_over_tip, linkage_columns
from valvetrain.studies.quantity import Quantity
from valvetrain.studies.rocker_study import RockerResult

__all__ = ["InterferenceResult", "PartsDrawn", "interference_study"]

# Positions: on the base circle, then through the net lift.
_SAMPLES = 15

_SIZES = {
    "retainer_diameter": ("shapes", "retainer_diameter"),
    "retainer_below_tip": ("shapes", "retainer_below_tip"),
    "retainer_depth": ("shapes", "retainer_depth"),
    "seal_diameter": ("shapes", "seal_diameter"),
    "rocker_depth": ("shapes", "rocker_depth"),
    "hub_diameter": ("shapes", "hub_diameter"),
    "stand_width": ("shapes", "stand_width"),
    "stand_top": ("shapes", "stand_top"),
    "retainer_to_seal": ("spring", "retainer_to_seal"),
}

# What moves each clearance: sheet keys, and the lash and net lift of the rocker study.
_SWING = (
    "shaft.setback",
    "shaft.height",
    "shaft.reference_stem_height",
    "valve.stem_height",
    "rocker.pad_arm",
    "rocker.pad_radius",
    "lash",
    "net lift",
)
_MOVED_BY = {
    "rocker_to_retainer": (
        *_SWING,
        "retainer_diameter",
        "retainer_below_tip",
        "retainer_depth",
        "rocker_depth",
        "hub_diameter",
    ),
    "retainer_to_seal": (
        "net lift",
        "retainer_diameter",
        "retainer_below_tip",
        "retainer_depth",
        "seal_diameter",
        "retainer_to_seal",
    ),
    "rocker_to_stand": (*_SWING, "rocker_depth", "hub_diameter", "stand_width", "stand_top"),
}
_OUTLINES = {
    "rocker_to_retainer": ("rocker", "retainer"),
    "retainer_to_seal": ("retainer", "seal"),
    "rocker_to_stand": ("rocker", "stand"),
}
_SHARES = np.linspace(0.0, 1.0, _SAMPLES)


@dataclass(frozen=True)
class PartsDrawn:
    """Shapes of one valve [m], closed, None where unknown; rotation [rad] and lift [m] of every position."""

    rocker: FloatArray | None
    retainer: FloatArray | None
    seal: FloatArray | None
    stand: FloatArray | None
    pivot: FloatArray
    rotation: FloatArray
    lift: FloatArray


@dataclass(frozen=True)
class InterferenceResult:
    """Least clearances at every valve, negative where the parts overlap.

    Attributes:
        rocker_to_retainer, retainer_to_seal, rocker_to_stand: least through the lift.
        ..._at: valve lift at which it is least.
        shapes: per valve, whether rocker, retainer, seal and stand are the sheet's outlines or simple shapes.
        parts: what was compared.
        nearest: clearance -> the nearest points of the two parts there [m], from the tip as in
            `mechanics.interference`, shape [valves, part, xy]; NaN where unknown.
        lift_share: clearance -> share of net lift at which it is least, 0 on the base circle too.
    """

    valves: tuple[str, ...]
    roles: tuple[str, ...]
    rocker_to_retainer: Quantity
    rocker_to_retainer_at: Quantity
    retainer_to_seal: Quantity
    retainer_to_seal_at: Quantity
    rocker_to_stand: Quantity
    rocker_to_stand_at: Quantity
    shapes: tuple[str, ...]
    parts: "Parts"
    nearest: Mapping[str, FloatArray]
    lift_share: Mapping[str, FloatArray]

    @property
    def asked(self) -> bool:
        """Return whether the sheet gives any shape at all."""
        return any(part is not None for one in self.parts.by_valve for part in _shapes_of(one))


@dataclass(frozen=True)
class Parts:
    """The shapes compared, one entry a valve."""

    by_valve: tuple[PartsDrawn, ...]


def _shapes_of(one: PartsDrawn) -> tuple[FloatArray | None, ...]:
    """Return the shapes that only the section [shapes] describes."""
    return one.retainer, one.seal, one.stand


def interference_study(setup: Setup, rocker: RockerResult) -> InterferenceResult:
    """Compare the parts of every valve through its lift, with the lifts of the rocker study."""
    columns = linkage_columns(setup)
    columns |= {name: setup.column(*where) for name, where in _SIZES.items()}
    count = len(setup.valves)
    for name, quantity in (("lash", rocker.lash), ("net lift", rocker.net_lift)):
        known = ("the rocker study",) * count
        columns[name] = Column(quantity.value, np.nan_to_num(quantity.uncertainty), known)
    drawn, kinds = [], []
    found = {name: np.full((2, count), np.nan) for name in _PAIRS}
    nearest = {name: np.full((count, 2, 2), np.nan) for name in _PAIRS}
    lift_share = {name: np.full(count, np.nan) for name in _PAIRS}
    moves: dict[str, dict[str, FloatArray]] = {name: {} for name in _PAIRS}
    for index in range(count):
        one = {key: float(column.value[index]) for key, column in columns.items()}
        parts, kind = _parts(setup, index, one, _SHARES)
        drawn.append(parts)
        kinds.append(kind)
        for name, compare in _PAIRS.items():
            clearance = compare(parts)
            if clearance is None:
                continue
            at = int(clearance.at)
            found[name][:, index] = clearance.least, parts.lift[at]
            nearest[name][index] = clearance.first_point, clearance.second_point
            lift_share[name][index] = np.concatenate([[0.0], _SHARES])[at]
            doubts = {key: float(columns[key].uncertainty[index]) for key in _MOVED_BY[name]}
            for key, moved in _moves(setup, index, one, doubts, name, at, float(clearance.least)).items():
                moves[name].setdefault(key, np.zeros(count))[index] = moved
    quantities = {}
    for name, (least, at_lift) in found.items():
        total = np.sqrt(sum((part**2 for part in moves[name].values()), np.zeros(count)))
        doubt = np.where(np.isnan(least), np.nan, total)
        quantities[name] = Quantity("length", least, doubt, moves[name])
        quantities[f"{name}_at"] = Quantity("length", at_lift, 0.0 * at_lift, {})
    return InterferenceResult(
        valves=setup.valves,
        roles=setup.roles,
        shapes=tuple(kinds),
        parts=Parts(tuple(drawn)),
        nearest=nearest,
        lift_share=lift_share,
        **quantities,
    )


def _moves(
    setup: Setup,
    index: int,
    one: dict[str, float],
    doubts: dict[str, float],
    name: str,
    at: int,
    least: float,
) -> dict[str, float]:
    """Return how far one least clearance [m] moves with each input's standard uncertainty."""
    shares = _SHARES[at - 1 : at] if at > 0 else _SHARES[:0]
    moved = {}
    for key, doubt in doubts.items():
        if not doubt > 0:
            continue
        parts, _ = _parts(setup, index, one | {key: one[key] + doubt}, shares)
        clearance = _PAIRS[name](parts)
        shift = np.nan if clearance is None else float(clearance.clearance[-1]) - least
        label = ".".join(_SIZES[key]) if key in _SIZES else "lash.lash" if key == "lash" else key
        moved[label] = np.inf if np.isnan(shift) else shift
    shapes = setup.trains[index].shapes
    for part in _OUTLINES[name]:
        # An outline is read point by point with a caliper; its points come without an uncertainty.
        if getattr(shapes, f"{part}_outline") is not None:
            moved[f"shapes.{part}_outline"] = DEFAULT_UNCERTAINTY["caliper"][1]
    return moved


def _parts(setup: Setup, index: int, one: dict[str, float], shares: FloatArray) -> tuple[PartsDrawn, str]:
    """Return the shapes of one valve on the base circle and at these shares of its net lift.

    In words as well where they come from.
    """
    shapes = setup.trains[index].shapes
    size, lash, net = one, one["lash"], one["net lift"]
    height = float(height_over_tip({key: np.asarray(value) for key, value in one.items()}))
    pad = {"pad_arm": one["rocker.pad_arm"], "pad_radius": one["rocker.pad_radius"], "lash": lash}
    place = {"setback": one["shaft.setback"], "height": height}
    lift = np.concatenate([[0.0], net * shares])
    drop = np.concatenate([[0.0], lash + net * shares])
    angle = pad_angle_at_pad_drop(height=height, pad_drop=drop, **pad)
    simple: dict[str, tuple[Callable[..., FloatArray], dict[str, float]]] = {
        "retainer": (
            retainer_box,
            {
                "diameter": size["retainer_diameter"],
                "below_tip": size["retainer_below_tip"],
                "depth": size["retainer_depth"],
            },
        ),
        "seal": (
            seal_box,
            {
                "diameter": size["seal_diameter"],
                "below_tip": size["retainer_below_tip"],
                "depth": size["retainer_depth"],
                "gap": size["retainer_to_seal"],
            },
        ),
        "stand": (
            stand_box,
            {**place, "width": size["stand_width"], "top": size["stand_top"]},
        ),
        "rocker": (
            rocker_bar,
            {**place, **pad, "hub": size["hub_diameter"], "depth": size["rocker_depth"]},
        ),
    }
    made: dict[str, FloatArray | None] = {}
    words = []
    for name, (build, arguments) in simple.items():
        outline: Outline | None = getattr(shapes, f"{name}_outline")
        if outline is not None:
            made[name] = np.array(outline.points)
            words.append(f"{name} by its outline")
        elif np.isfinite(list(arguments.values())).all():
            made[name] = build(**arguments)
            words.append(f"{name} simple")
        else:
            made[name] = None
    pivot = np.array([-one["shaft.setback"], height])
    return PartsDrawn(pivot=pivot, rotation=angle - angle[0], lift=lift, **made), ", ".join(words)


def _retainer(parts: PartsDrawn) -> PartClearance | None:
    if parts.rocker is None or parts.retainer is None or not np.isfinite(parts.rotation).all():
        return None
    return rocker_to_retainer(parts.rocker, parts.retainer, parts.pivot, parts.rotation, parts.lift)


def _seal(parts: PartsDrawn) -> PartClearance | None:
    if parts.retainer is None or parts.seal is None or not np.isfinite(parts.lift).all():
        return None
    return retainer_to_seal(parts.retainer, parts.seal, parts.lift)


def _stand(parts: PartsDrawn) -> PartClearance | None:
    if parts.rocker is None or parts.stand is None or not np.isfinite(parts.rotation).all():
        return None
    return rocker_to_stand(parts.rocker, parts.stand, parts.pivot, parts.rotation)


_PAIRS: dict[str, Callable[[PartsDrawn], PartClearance | None]] = {
    "rocker_to_retainer": _retainer,
    "retainer_to_seal": _seal,
    "rocker_to_stand": _stand,
}
