"""Where the rocker's pad bears on the valve tip, seen from above.

Plan view of the valve frame: x square to the stem from the rocker shaft toward the stem and on, z along the
shaft, positive toward the rear; the origin is the stem's axis. The pad touches a flat tip along a straight
line of the pad's width, centered at (contact_x, offset). Skew turns that line in plan: positive skew moves
its rear end toward +x. The flat of the tip is a circle inside the chamfer. The load is taken as even along
the part of the line that is on the tip.

Source: circle and chord geometry (derived); tests hold it against shapely and circle-segment areas.
"""

from dataclasses import dataclass
from typing import Any

import numpy as np
import shapely

from valvetrain.mechanics.arrays import ArrayLike, BoolArray, FloatArray

__all__ = [
    "CenteringLimit",
    "FootprintArea",
    "TipContact",
    "TipFootprint",
    "centering_limit",
    "contact_on_tip",
    "flat_tip_radius",
    "footprint_area",
    "footprint_over_lift",
    "swept_pad",
    "tip_disc",
]

_BISECTIONS = 60


@dataclass(frozen=True)
class TipContact:
    """The contact line on the tip at every instant, each of shape [..., angle].

    Attributes:
        share: part of the pad's line that is on the flat of the tip, 0 to 1.
        edge_distance: [m] from the farthest end of the line to the chamfer's edge; negative: over.
        line_distance: [m] from the nearest point of the line to the edge; negative: no part is on the tip.
        load_x, load_z: [m] middle of the part on the tip; NaN where no part is on it.
        eccentricity: [m] distance of that middle from the stem's axis, >= 0.
    """

    share: FloatArray
    edge_distance: FloatArray
    line_distance: FloatArray
    load_x: FloatArray
    load_z: FloatArray
    eccentricity: FloatArray


@dataclass(frozen=True)
class TipFootprint:
    """The worst of a `TipContact` over the lift, each of shape [...].

    Attributes:
        least_share: least share of the line on the tip.
        mean_share: mean over the samples.
        least_edge_distance, least_line_distance: [m], negative where over.
        greatest_eccentricity: [m].
        turning_arm: [m] signed mean of load_z: the arm on which the pad's sliding friction turns the valve
            about its axis; zero for a centered pad, which cannot turn it.
    """

    least_share: FloatArray
    mean_share: FloatArray
    least_edge_distance: FloatArray
    least_line_distance: FloatArray
    greatest_eccentricity: FloatArray
    turning_arm: FloatArray


@dataclass(frozen=True)
class FootprintArea:
    """Area swept by the contact line and the part of it on the tip, [m2], shape [...]."""

    swept: FloatArray
    on_tip: FloatArray


@dataclass(frozen=True)
class CenteringLimit:
    """The offset allowed by the contact itself, shape [...].

    Attributes:
        limit: [m] largest |offset|, both ways, that keeps the stated share and margin; NaN where it does not
            exist or an input is unknown.
        reachable: True where the centered pad meets the demands; False where no limit exists.
        centered_share: least share of the line on the tip at zero offset.
    """

    limit: FloatArray
    reachable: BoolArray
    centered_share: FloatArray


def flat_tip_radius(stem_diameter: ArrayLike, chamfer: ArrayLike) -> FloatArray:
    """Radius of the flat of the tip [m] from the tip's diameter and the chamfer's width in plan, both [m].

    NaN in, NaN out. Raises ValueError when the chamfer leaves no flat or is negative.
    """
    radius = np.asarray(stem_diameter, float) / 2 - np.asarray(chamfer, float)
    if np.any(radius <= 0) or np.any(np.asarray(chamfer, float) < 0):
        raise ValueError(f"chamfer is {chamfer!r} m; it must be >= 0 and less than half the tip's diameter")
    return np.asarray(radius)


def contact_on_tip(
    contact_x: ArrayLike,
    offset: ArrayLike,
    pad_width: ArrayLike,
    tip_radius: ArrayLike,
    skew: ArrayLike = 0.0,
) -> TipContact:
    """The pad's contact line against the tip's edge at every instant.

    Args:
        contact_x: [m], shape [..., angle], from the sweep; zero at the stem's axis, positive away from the
            shaft.
        offset: [m], shape [...], pad center from the stem's axis, positive toward the rear.
        pad_width: [m], shape [...], > 0.
        tip_radius: [m], shape [...], > 0, of the flat inside the chamfer.
        skew: [rad], shape [...], |skew| < pi/2, positive: the line's rear end toward +x.

    NaN in, NaN out. Raises ValueError for a width or radius that is not positive.
    """
    x, z, width, radius, sine, cosine = _prepared(contact_x, offset, pad_width, tip_radius, skew)
    half = width / 2
    # Along the line, t from its center; the foot of the perpendicular from the stem's axis is at t = foot.
    foot = -(x * sine + z * cosine)
    square_off = np.abs(x * cosine - z * sine)
    half_chord = np.sqrt(np.maximum(radius**2 - square_off**2, 0.0))
    low = np.maximum(-half, foot - half_chord)
    high = np.minimum(half, foot + half_chord)
    length = np.where(square_off >= radius, 0.0 * square_off, np.maximum(high - low, 0.0))
    middle = np.where(length > 0, (low + high) / 2, np.nan)
    load_x, load_z = x + middle * sine, z + middle * cosine
    # Plain squares: lengths of millimeters neither overflow nor vanish, and hypot takes four times as long.
    squared, along = square_off * square_off, np.abs(foot)
    farthest = np.sqrt(squared + (along + half) ** 2)
    nearest = np.sqrt(squared + np.maximum(along - half, 0.0) ** 2)
    return TipContact(
        share=length / width,
        edge_distance=radius - farthest,
        line_distance=radius - nearest,
        load_x=load_x,
        load_z=load_z,
        eccentricity=np.sqrt(load_x * load_x + load_z * load_z),
    )


def footprint_over_lift(contact: TipContact, lifting: BoolArray | bool = True) -> TipFootprint:
    """The worst of the contact over the samples where `lifting` is True (last axis).

    NaN at a lifting sample gives NaN; where no sample lifts the result is NaN. Samples at which the line has
    left the tip altogether count with share 0 and are left out of the eccentricity and the turning arm.
    """
    where = np.broadcast_to(np.asarray(lifting), contact.share.shape)
    count = np.sum(where, axis=-1)
    any_lift = count > 0
    bearing = where & ~(contact.share == 0)  # NaN shares stay in and give NaN
    bearing_count = np.sum(bearing, axis=-1)
    bears = bearing_count > 0

    def least(values: FloatArray) -> FloatArray:
        return np.where(any_lift, np.min(values, axis=-1, where=where, initial=np.inf), np.nan)

    return TipFootprint(
        least_share=least(contact.share),
        mean_share=np.where(
            any_lift, np.sum(contact.share, axis=-1, where=where) / np.maximum(count, 1), np.nan
        ),
        least_edge_distance=least(contact.edge_distance),
        least_line_distance=least(contact.line_distance),
        greatest_eccentricity=np.where(
            bears, np.max(contact.eccentricity, axis=-1, where=bearing, initial=0.0), np.nan
        ),
        turning_arm=np.where(
            bears, np.sum(contact.load_z, axis=-1, where=bearing) / np.maximum(bearing_count, 1), np.nan
        ),
    )


def centering_limit(
    contact_x: ArrayLike,
    pad_width: ArrayLike,
    tip_radius: ArrayLike,
    skew: ArrayLike = 0.0,
    *,
    least_share: ArrayLike = 0.9,
    of_centered: bool = True,
    edge_margin: ArrayLike | None = None,
) -> CenteringLimit:
    """Largest |offset| at which the contact stays on the tip over the whole of `contact_x` (last axis).

    Args:
        contact_x, pad_width, tip_radius, skew: as for `contact_on_tip`.
        least_share: 0 to 1, shape [...]: share of the line that must stay on the tip at every sample.
        of_centered: the share is counted against the line's share at zero offset (a pad wider than the tip
            overhangs however well it is centered); otherwise against the whole line.
        edge_margin: [m], shape [...]: each end of the line must stay this far inside the edge; None: no such
            demand (the usual choice for a pad wider than the tip).

    Closed form without skew: offset = width/2 + half chord - wanted length. With skew, bisection: the length
    of a line moved across a disc is concave in the move, so each side has one crossing.
    """
    x, _, width, radius, sine, _ = _prepared(contact_x, 0.0, pad_width, tip_radius, skew)
    share = np.asarray(least_share, float)[..., None]
    if np.any((share <= 0) | (share > 1)):
        raise ValueError(f"least_share is {least_share!r}; it must be over 0 and at most 1")
    margin = -np.inf if edge_margin is None else np.asarray(edge_margin, float)[..., None]
    centered = contact_on_tip(contact_x, 0.0, pad_width, tip_radius, skew)
    wanted = share * (centered.share if of_centered else 1.0) * width

    def meets(offset: FloatArray) -> BoolArray:
        now = contact_on_tip(contact_x, offset, pad_width, tip_radius, skew)
        enough = (now.share * width >= wanted - 1e-12 * width) & (now.share > 0)
        return np.asarray(np.all(enough & (now.edge_distance >= margin), axis=-1))

    least = np.min(centered.share, axis=-1)
    reachable = meets(np.zeros(least.shape))
    if not np.any(sine):
        half_chord = np.sqrt(np.maximum(radius**2 - x**2, 0.0))
        limit = width / 2 + half_chord - wanted
        if edge_margin is not None:
            limit = np.minimum(limit, np.sqrt(np.maximum((radius - margin) ** 2 - x**2, 0.0)) - width / 2)
        limit = np.min(limit, axis=-1)
    else:
        far = np.max(np.abs(x) + radius + width, axis=-1)
        limit = np.minimum(_crossing(meets, far), _crossing(meets, -far))
    limit = np.broadcast_to(limit, least.shape)
    return CenteringLimit(np.where(reachable, np.maximum(limit, 0.0), np.nan), reachable, least)


def swept_pad(
    contact_x: ArrayLike,
    offset: ArrayLike,
    pad_width: ArrayLike,
    skew: ArrayLike = 0.0,
    least_sweep: float = 0.0,
) -> Any:
    """Polygons (shapely, shape [...]) swept in plan by the contact line over the lift.

    Without sweep the polygon has no area; `least_sweep` [m] widens the sweep for drawing. Arguments as for
    `contact_on_tip`, all finite.
    """
    x = np.asarray(contact_x, float)
    z, width, angle = (np.asarray(v, float) for v in (offset, pad_width, skew))
    first, last = np.min(x, axis=-1), np.max(x, axis=-1)
    grow = np.maximum(least_sweep - (last - first), 0.0) / 2
    dx, dz = width / 2 * np.sin(angle), width / 2 * np.cos(angle)
    first, last, z, dx, dz = np.broadcast_arrays(first - grow, last + grow, z, dx, dz)
    corners = [(first - dx, z - dz), (last - dx, z - dz), (last + dx, z + dz), (first + dx, z + dz)]
    return shapely.polygons(np.stack([np.stack(corner, axis=-1) for corner in corners], axis=-2))


def tip_disc(tip_radius: ArrayLike, quad_segs: int = 64) -> Any:
    """Flat of the tip as polygons (shapely), inscribed: the area is low by 1.0e-4 of itself at 64."""
    radius = np.asarray(tip_radius, float)
    return shapely.buffer(shapely.points(np.zeros((*radius.shape, 2))), radius, quad_segs=quad_segs)


def footprint_area(
    contact_x: ArrayLike,
    offset: ArrayLike,
    pad_width: ArrayLike,
    tip_radius: ArrayLike,
    skew: ArrayLike = 0.0,
) -> FootprintArea:
    """Area that the contact line sweeps over the lift, and its part on the tip (shapely). All finite."""
    pad = swept_pad(contact_x, offset, pad_width, skew)
    on_tip = shapely.area(shapely.intersection(pad, tip_disc(tip_radius)))
    return FootprintArea(np.asarray(shapely.area(pad)), np.asarray(on_tip))


def _prepared(
    contact_x: ArrayLike, offset: ArrayLike, pad_width: ArrayLike, tip_radius: ArrayLike, skew: ArrayLike
) -> tuple[FloatArray, FloatArray, FloatArray, FloatArray, FloatArray, FloatArray]:
    """Inputs checked and broadcast to [..., angle]."""
    for name, value in (("pad_width", pad_width), ("tip_radius", tip_radius)):
        if np.any(np.asarray(value, float) <= 0):
            raise ValueError(f"{name} is {value!r} m; it must be positive")
    if np.any(np.abs(np.asarray(skew, float)) >= np.pi / 2):
        raise ValueError(f"skew is {skew!r} rad; it must be within a quarter turn either way")
    each = [np.asarray(value, float)[..., None] for value in (offset, pad_width, tip_radius)]
    angle = np.asarray(skew, float)[..., None]
    x, z, width, radius, sine, cosine = np.broadcast_arrays(
        np.asarray(contact_x, float), *each, np.sin(angle), np.cos(angle)
    )
    return x, z, width, radius, sine, cosine


def _crossing(meets: Any, far: FloatArray) -> FloatArray:
    """|offset| toward `far` at which the demand, met at zero, ceases to be met."""
    low, high = np.zeros(far.shape), np.array(far)
    for _ in range(_BISECTIONS):
        middle = (low + high) / 2
        ok = meets(middle)
        low, high = np.where(ok, middle, low), np.where(ok, high, middle)
    return np.abs(low)
