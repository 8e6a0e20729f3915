"""The parts that pass close by the rocker, at every valve: outlines of the sheet, or simple shapes."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass

import numpy as np

from valvetrain.mechanics.arrays import FloatArray
from valvetrain.mechanics.rocker.pad_side import pad_angle_at_pad_drop
from valvetrain.mechanics.shapes.interference import (
    PartClearance,
    retainer_to_seal,
    rocker_to_retainer,
    rocker_to_stand,
)
from valvetrain.mechanics.shapes.parts import retainer_box, rocker_bar, seal_box, stand_box
from valvetrain.setup.faults import Fault, SheetError
from valvetrain.setup.setup import Setup
from valvetrain.setup.units import shown

__all__ = ["PAIRS", "Motion", "Sizes", "motion_at", "moved_by", "pair_clearance", "shapes_of", "sizes_of"]

# Name -> values at every valve, shape [..., n].
Sizes = Mapping[str, FloatArray]

_SIMPLE: Mapping[str, tuple[Callable[..., FloatArray], Mapping[str, str]]] = {
    "rocker": (
        rocker_bar,
        {
            "setback": "setback",
            "height": "height",
            "pad_arm": "pad_arm",
            "pad_radius": "pad_radius",
            "lash": "lash",
            "hub": "hub_diameter",
            "depth": "rocker_depth",
        },
    ),
    "retainer": (
        retainer_box,
        {"diameter": "retainer_diameter", "below_tip": "retainer_below_tip", "depth": "retainer_depth"},
    ),
    "seal": (
        seal_box,
        {
            "diameter": "seal_diameter",
            "below_tip": "retainer_below_tip",
            "depth": "retainer_depth",
            "gap": "retainer_to_seal",
        },
    ),
    "stand": (
        stand_box,
        {"setback": "setback", "height": "height", "width": "stand_width", "top": "stand_top"},
    ),
}

PAIRS: Mapping[str, tuple[str, str]] = {
    "rocker_to_retainer": ("rocker", "retainer"),
    "retainer_to_seal": ("retainer", "seal"),
    "rocker_to_stand": ("rocker", "stand"),
}


@dataclass(frozen=True)
class Motion:
    """Where the parts are: pivot [m], shape [..., n, xy]; rotation [rad] and lift [m], shape [..., n, p]."""

    pivot: FloatArray
    rotation: FloatArray
    lift: FloatArray


def moved_by(pair: str) -> tuple[str, ...]:
    """Return the names of the sizes that a pair's clearance can depend on, its motion's among them."""
    motion: tuple[str, ...] = ("net_lift",)
    if "rocker" in PAIRS[pair]:
        motion = ("setback", "height", "pad_arm", "pad_radius", "lash", "net_lift")
    own = (name for part in PAIRS[pair] for name in sizes_of(part))
    return tuple(dict.fromkeys((*motion, *own)))


def sizes_of(part: str) -> tuple[str, ...]:
    """Return the names of the sizes that a part's simple shape depends on."""
    return tuple(_SIMPLE[part][1].values())


def shapes_of(setup: Setup, part: str, sizes: Sizes) -> tuple[FloatArray, tuple[str, ...]]:
    """Return a part's outlines with the valve closed [m], and what each is.

    The outlines have the shape [..., n, points, xy], the shorter ones with their last point repeated; NaN
    where unknown, with an empty word.
    """
    build, names = _SIMPLE[part]
    outlines = build(**{argument: sizes[name] for argument, name in names.items()})
    own = [getattr(train.shapes, f"{part}_outline") for train in setup.trains]
    if part == "rocker":
        _must_be_whole(setup, sizes, outlines)
    known = np.isfinite(outlines.reshape(-1, len(own), *outlines.shape[-2:])[0]).all(axis=(-2, -1))
    words = tuple(
        f"{part} by its outline" if each is not None else f"{part} simple" if simple else ""
        for each, simple in zip(own, known, strict=True)
    )
    if any(each is not None for each in own):
        longest = max(outlines.shape[-2], *(len(each.points) for each in own if each is not None))
        outlines = _longer(outlines, longest)
        for index, each in enumerate(own):
            if each is not None:
                outlines[..., index, :, :] = _longer(np.array(each.points), longest)
    return outlines, words


def _must_be_whole(setup: Setup, sizes: Sizes, outlines: FloatArray) -> None:
    """Refuse a simple rocker of known sizes, by an arm that reaches, whose sides cross all the same."""
    count = len(setup.trains)
    base = {
        name: np.reshape(np.broadcast_to(sizes[name], (*outlines.shape[:-3], count)), (-1, count))[0]
        for name in sizes_of("rocker")
    }
    drawn = np.isfinite(outlines.reshape(-1, count, *outlines.shape[-2:])[0]).all(axis=(-2, -1))
    with np.errstate(invalid="ignore"):
        reaches = np.abs(base["pad_radius"] + base["lash"] - base["height"]) < base["pad_arm"]
    crossed = reaches & ~drawn & np.all([np.isfinite(each) for each in base.values()], axis=0)
    thin: dict[str, list[str]] = {}
    for index in np.flatnonzero(crossed).tolist():
        train = setup.trains[index]
        if train.shapes.rocker_outline is None and train.shapes.rocker_depth is not None:
            depth, radius = (
                shown(float(base[name][index]), "length", setup.units)
                for name in ("rocker_depth", "pad_radius")
            )
            what = f"{depth} is too thin for a pad radius of {radius}: the rocker's sides would cross"
            thin.setdefault(what, []).append(train.name)
    if thin:
        raise SheetError(
            Fault(
                f"setup.toml [shapes] rocker_depth, valves {', '.join(valves)}",
                what,
                "Measure from the line between shaft axis and pad center, or give rocker_outline.",
            )
            for what, valves in thin.items()
        )


def motion_at(sizes: Sizes, closed: np.ndarray, share: FloatArray) -> Motion:
    """Return the motion on the base circle, where `closed` says so, or at these shares of net lift.

    `closed` and `share` have the shape [n, p], or broadcast to it.
    """
    lash, net, height = (sizes[name][..., None] for name in ("lash", "net_lift", "height"))
    with np.errstate(invalid="ignore"):  # infinitely unsure lifts
        lift = np.where(closed, 0.0, net * share)
        drop = np.where(closed, 0.0, lash + lift)
    swing = {name: sizes[name][..., None] for name in ("pad_arm", "pad_radius")}
    angle = pad_angle_at_pad_drop(height=height, lash=lash, pad_drop=drop[..., None], **swing)[..., 0]
    start = pad_angle_at_pad_drop(height=height, lash=lash, pad_drop=np.zeros(1), **swing)[..., 0]
    pivot = np.stack(np.broadcast_arrays(-sizes["setback"], sizes["height"]), axis=-1)
    return Motion(pivot, angle - start, lift)


def pair_clearance(pair: str, shapes: Mapping[str, FloatArray], motion: Motion) -> PartClearance:
    """Return the clearance of a pair at every valve and position, NaN where a shape or motion is unknown."""
    first, second = (shapes[part] for part in PAIRS[pair])
    if pair == "retainer_to_seal":
        return retainer_to_seal(first, second, motion.lift)
    if pair == "rocker_to_stand":
        return rocker_to_stand(first, second, motion.pivot, motion.rotation)
    return rocker_to_retainer(first, second, motion.pivot, motion.rotation, motion.lift)


def _longer(outlines: FloatArray, count: int) -> FloatArray:
    """Outlines with their last point repeated up to `count` points."""
    return outlines[..., np.minimum(np.arange(count), outlines.shape[-2] - 1), :]
