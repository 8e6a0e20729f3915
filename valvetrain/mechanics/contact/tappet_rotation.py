"""Where a lobe touches a tappet's face, what runs over its edge, and what makes the tappet turn.

Frame of the face: origin on the tappet's axis; x square to the camshaft, positive toward the side on which
the lobe touches while opening (its surface comes from there and drags the face toward -x); z along the
camshaft, positive toward the rear of the engine. Closed forms of geometry and friction (derived), angle axis
last where there is one. NaN in, NaN out.

Taper: slope of the lobe's surface along z [rad], positive where the rear side of the lobe is the larger. A
bore that leans adds its lean to it. Bore offset: middle of the lobe's width from the tappet's axis along z.
"""

from dataclasses import dataclass

import numpy as np

from valvetrain.mechanics.arrays import ArrayLike, BoolArray, FloatArray
from valvetrain.mechanics.guards import not_negative, positive

__all__ = [
    "FacePath",
    "RotationDrive",
    "contact_path",
    "rotation_drive",
    "rotation_obstacles",
]


@dataclass(frozen=True)
class FacePath:
    """The contact's path over the tappet's face.

    Attributes:
        across: x of the contact's middle [m], s' per cam radian.
        along: z of the middle of the part that bears [m].
        on_lobe: the same from the middle of the lobe's width [m], = along - bore offset.
        edge_riding: True where the contact reaches an edge of the lobe's width, or would lie beyond it.
        reach: farthest point of the bearing contact from the tappet's axis [m].
        least_face_diameter: face that would hold the whole path, edge chamfer not counted [m]; no angle axis.
        face_overhang: reach less the face radius, worst angle [m]; positive: the contact runs off the face.
        lobe_overhang: how far the lobe's side stands past the face at the contact's x, worst angle [m];
            positive values are usual and harmless as long as the contact itself stays on the face.
    """

    across: FloatArray
    along: FloatArray
    on_lobe: FloatArray
    edge_riding: BoolArray
    reach: FloatArray
    least_face_diameter: FloatArray
    face_overhang: FloatArray
    lobe_overhang: FloatArray


@dataclass(frozen=True)
class RotationDrive:
    """What turns a tappet, over one turn of the cam (angle axis gone).

    Attributes:
        arm: load-weighted mean lever arm of the friction about the tappet's axis [m]; positive: the rear (+z)
            side of the face goes the way the lobe drags it.
        moment: mean driving moment, friction x load x arm [N m], same sign.
        resisting_moment: what the pushrod's seat and the bore can hold, mean [N m], >= 0.
        strength: |moment| / resisting moment [1]; above 1 the tappet turns; inf where nothing resists.
        free_speed_ratio: tappet speed over cam speed if nothing held it [1], by the friction balance for
            small spin; seat and bore make real tappets far slower.
    """

    arm: FloatArray
    moment: FloatArray
    resisting_moment: FloatArray
    strength: FloatArray
    free_speed_ratio: FloatArray


def contact_path(
    *,
    lift_rate: ArrayLike,
    taper: ArrayLike,
    crown_radius: ArrayLike,
    bore_offset: ArrayLike,
    lobe_width: ArrayLike,
    face_diameter: ArrayLike,
    half_length: ArrayLike = 0.0,
    half_width: ArrayLike = 0.0,
) -> FacePath:
    """Path of the contact over the face, and what passes an edge.

    A crowned face touches where its slope equals the lobe's: at taper x crown radius from the tappet's axis,
    whatever the bore's offset; the offset moves the lobe under that point, and so decides how near the lobe's
    edge it comes. Where the lobe's width limits the contact, its middle is that of the part that bears: for a
    flat face without taper it is the bore offset itself. A flat face on a tapered lobe rides the large
    edge.

    Args:
        lift_rate: s' [m per cam rad], shape [..., angles].
        taper: [rad]; crown_radius: [m], > 0, inf flat; bore_offset: [m]; lobe_width: [m], > 0;
            face_diameter: [m], > 0: shape [...] without the angle axis.
        half_length, half_width: of the uncut contact along z and along x [m], >= 0, shape [..., angles]
            (`crowned_tappet_on_lobe`: uncut_half_length, half_width).

    Raises:
        ValueError: a crown radius, lobe width or face diameter <= 0, or a negative contact size.
    """
    crown, width, face = (np.asarray(x, float)[..., None] for x in (crown_radius, lobe_width, face_diameter))
    slope, offset = np.asarray(taper, float)[..., None], np.asarray(bore_offset, float)[..., None]
    for name, value in (("crown radius", crown), ("lobe width", width), ("face diameter", face)):
        positive(name, value, "m", finite=False)
    length, narrow = np.asarray(half_length, float), np.asarray(half_width, float)
    not_negative("contact half length", length, "m", finite=False)
    not_negative("contact half width", narrow, "m", finite=False)
    x = np.asarray(lift_rate, float)

    flat = np.isinf(crown)
    finite_crown = np.where(flat, 0.0, crown)
    # A flat face on a tapered lobe: the touching point runs off to the large side without end.
    center = np.where(
        flat & (slope != 0), np.sign(slope) * 4 * (np.abs(offset) + width), slope * finite_crown
    )
    length = np.where(flat, np.where(slope != 0, 0.0, np.inf), length)
    low_edge, high_edge = offset - 0.5 * width, offset + 0.5 * width
    low = np.clip(center - length, low_edge, high_edge)
    high = np.clip(center + length, low_edge, high_edge)
    along, x = np.broadcast_arrays(0.5 * (low + high) + 0 * x, x)
    riding = (center - length < low_edge) | (center + length > high_edge)
    # The full width of an untapered flat face is no edge riding: nothing is nearer one edge than the other.
    riding = np.broadcast_to(riding & ~(flat & (slope == 0)), x.shape)
    reach = np.hypot(np.abs(x) + narrow, np.maximum(np.abs(low), np.abs(high)))
    radius = 0.5 * face[..., 0]
    chord = np.sqrt(np.maximum(0.0, radius[..., None] ** 2 - x**2))
    side = np.maximum(np.abs(low_edge), np.abs(high_edge))
    worst = reach.max(axis=-1)
    return FacePath(
        across=x,
        along=along,
        on_lobe=along - offset,
        edge_riding=riding,
        reach=reach,
        least_face_diameter=2 * worst,
        face_overhang=worst - radius,
        lobe_overhang=(side - chord).max(axis=-1),
    )


def rotation_drive(
    *,
    load: ArrayLike,
    across: ArrayLike,
    along: ArrayLike,
    lobe_arm: ArrayLike,
    friction: ArrayLike,
    seat_friction: ArrayLike = 0.0,
    seat_radius: ArrayLike = 0.0,
    bore_friction: ArrayLike = 0.0,
    side_load: ArrayLike = 0.0,
    bore_radius: ArrayLike = 0.0,
) -> RotationDrive:
    """Strength and sense of what turns a tappet.

    The lobe slides along x over the contact, so its friction mu F has the lever arm z about the tappet's
    axis; the contact's x gives none. Against it stand the pushrod's seat, 2/3 mu F r as in a collar (memory),
    and the friction of the side load in the bore, mu N R. Angles evenly spaced; an angle at which the
    train has parted (load NaN or below zero) drives nothing.

    Args:
        load: F of the lobe on the tappet [N], shape [..., angles].
        across, along: x, z of the contact [m], shape [..., angles].
        lobe_arm: Rb + s, so that the sliding speed is w times it [m], > 0, shape [..., angles].
        friction: of lobe on tappet [1], >= 0; seat_friction, bore_friction: of the seat and the bore [1].
        seat_radius: outer radius of the pushrod's seat contact [m].
        side_load: of the tappet on its bore [N], shape [..., angles]; bore_radius: [m].

    Raises:
        ValueError: a negative friction or a lobe arm <= 0.
    """
    arm = np.asarray(lobe_arm, float)
    positive("lobe radius plus lift", arm, "m", finite=False)
    mu, seat_mu, bore_mu = (
        np.asarray(value, float)[..., None] for value in (friction, seat_friction, bore_friction)
    )
    for value in (mu, seat_mu, bore_mu):
        not_negative("coefficient of friction", value, "", finite=False)
    x, z = np.asarray(across, float), np.asarray(along, float)
    force = np.asarray(load, float)
    force = np.where(force > 0, force, 0.0)
    total = force.sum(axis=-1)
    carried = np.where(total > 0, total, np.nan)
    mean_arm = (force * z).sum(axis=-1) / carried
    moment = (mu * force * z).mean(axis=-1) * np.where(total > 0, 1.0, np.nan)
    seat = 2 / 3 * seat_mu * force * np.asarray(seat_radius, float)[..., None]
    bore = bore_mu * np.abs(np.asarray(side_load, float)) * np.asarray(bore_radius, float)[..., None]
    resisting = (seat + bore).mean(axis=-1)
    with np.errstate(divide="ignore", invalid="ignore"):
        strength = np.where(resisting > 0, np.abs(moment) / resisting, np.where(moment != 0, np.inf, 0.0))
    strength = np.where(np.isnan(moment) | np.isnan(resisting), np.nan, strength)
    # Small spin W: slip (u - W z, W x), so the friction's moment is mu F (u z - W (x^2 + z^2))/u.
    damping = (force * (x**2 + z**2) / arm).sum(axis=-1)
    free = np.where(damping > 0, (force * z).sum(axis=-1) / np.where(damping > 0, damping, 1.0), 0.0)
    free = np.where(np.isnan(mean_arm) | np.isnan(damping), np.nan, free)
    return RotationDrive(mean_arm, moment, resisting, strength, free)


def rotation_obstacles(
    *,
    taper: float,
    crown_radius: float,
    bore_offset: float,
    lobe_width: float,
    half_length: float = 0.0,
    taper_uncertainty: float = 0.0,
) -> tuple[tuple[str, str], ...]:
    """What takes the turning away from one tappet: pairs of (name, sentence), empty if nothing does.

    Args:
        taper, crown_radius, bore_offset, lobe_width, half_length: as for `contact_path`; NaN is unmeasured. A
            negative crown radius is a hollow face.
        taper_uncertainty: standard uncertainty of the taper [rad]; a taper within twice it is not proven.
    """
    found: list[tuple[str, str]] = []
    if np.isnan([taper, crown_radius]).any():
        missing = "lobe taper" if np.isnan(taper) else "crown radius"
        found.append(("unmeasured", f"the {missing} is not measured, so the drive cannot be judged"))
        return tuple(found)
    proven = abs(taper) > 2 * taper_uncertainty
    if crown_radius < 0:
        found.append(
            ("hollow face", "the face is hollow: the lobe's edges carry, and the crown drives nothing")
        )
    elif np.isinf(crown_radius):
        found.append(
            (
                "flat face",
                "the face has no crown: a taper only loads one edge of the lobe, it sets no lever arm",
            )
        )
    if not proven:
        if taper == 0.0:
            found.append(("no taper", "the lobe has no taper: the crown touches on the tappet's axis"))
        else:
            found.append(
                (
                    "taper not proven",
                    "the lobe's taper lies within its doubt: without one the crown touches on the axis",
                )
            )
    if crown_radius > 0 and np.isfinite(crown_radius) and proven:
        contact = taper * crown_radius
        if not np.isnan(bore_offset):
            low, high = bore_offset - 0.5 * lobe_width, bore_offset + 0.5 * lobe_width
            if not low <= contact <= high:
                found.append(("past the edge", "taper and crown set the contact beyond the lobe's edge"))
            elif contact - half_length < low or contact + half_length > high:
                found.append(
                    ("edge riding", "the contact reaches the lobe's edge, which shortens the lever arm")
                )
            if bore_offset * taper < 0:
                found.append(
                    (
                        "offset against taper",
                        "the bore is offset away from the lobe's large side: its edge is nearer",
                    )
                )
    return tuple(found)
