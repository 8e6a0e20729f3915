"""Do rocker, retainer, seal and stand clear each other through the lift?"""

from collections.abc import Callable
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
from valvetrain.setup.setup import Setup
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
    """Least clearances at every valve, negative where the parts overlap; uncertainties are not known: 0.

    Attributes:
        rocker_to_retainer, retainer_to_seal, rocker_to_stand: least through the lift.
        ..._at: valve lift at which it is least.
        shapes: per valve, whether rocker, retainer, seal and stand are the sheet's outlines or simple shapes.
        parts: what was compared.
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
    rows = {key: column.value for key, column in linkage_columns(setup).items()}
    sizes = {name: setup.column(*where).value for name, where in _SIZES.items()}
    height = height_over_tip(rows)
    drawn, kinds = [], []
    for index in range(len(setup.valves)):
        one = {key: float(values[index]) for key, values in rows.items()}
        size = {key: float(values[index]) for key, values in sizes.items()}
        lash, net = float(rocker.lash.value[index]), float(rocker.net_lift.value[index])
        parts, kind = _parts(setup, index, one, size, float(height[index]), lash, net)
        drawn.append(parts)
        kinds.append(kind)
    found: dict[str, list[tuple[float, float]]] = {name: [] for name in _PAIRS}
    for parts in drawn:
        for name, compare in _PAIRS.items():
            clearance = compare(parts)
            if clearance is None:
                found[name].append((np.nan, np.nan))
            else:
                found[name].append((float(clearance.least), float(parts.lift[int(clearance.at)])))
    quantities = {}
    for name, pairs in found.items():
        for suffix, place in (("", 0), ("_at", 1)):
            value = np.array([pair[place] for pair in pairs])
            quantities[f"{name}{suffix}"] = Quantity("length", value, 0.0 * value, {})
    return InterferenceResult(
        valves=setup.valves, roles=setup.roles, shapes=tuple(kinds), parts=Parts(tuple(drawn)), **quantities
    )


def _parts(
    setup: Setup,
    index: int,
    one: dict[str, float],
    size: dict[str, float],
    height: float,
    lash: float,
    net: float,
) -> tuple[PartsDrawn, str]:
    """Return the shapes of one valve, and in words where they come from."""
    shapes = setup.trains[index].shapes
    pad = {"pad_arm": one["rocker.pad_arm"], "pad_radius": one["rocker.pad_radius"], "lash": lash}
    place = {"setback": one["shaft.setback"], "height": height}
    lift = np.concatenate([[0.0], net * np.linspace(0.0, 1.0, _SAMPLES)])
    drop = np.concatenate([[0.0], lash + net * np.linspace(0.0, 1.0, _SAMPLES)])
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
