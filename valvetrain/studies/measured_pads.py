"""Valves whose pad was measured point by point: contact, lift and ratio by virtual work, feeler error."""

from collections.abc import Mapping
from dataclasses import dataclass, replace

import numpy as np

from valvetrain.mechanics.arrays import FloatArray
from valvetrain.mechanics.feeler_error import feeler_reading
from valvetrain.mechanics.pad_on_tip import closed_angle_on_tip, contact_over_tip
from valvetrain.mechanics.rocker_linkage import closed_position, planar_length, rocker_turn
from valvetrain.setup.setup import Setup
from valvetrain.studies.linkage_inputs import height_over_tip
from valvetrain.studies.quantity import Quantity

__all__ = ["MeasuredPads", "measured_pads", "with_measured_pads"]

# Shares of net lift at which a rocker is followed; as in `rocker_path`.
SHARES = np.linspace(0.0, 1.0, 41)

# Width of a usual feeler blade, 1/2 in: it bridges any tip [m].
BLADE = 0.0127


@dataclass(frozen=True)
class MeasuredPads:
    """The valves with a measured pad; NaN at the others.

    Attributes:
        contact, ratio: through the net lift, [valves, shares].
        at_edge: the contact runs onto an edge of the tip, [valves].
        gross_lift, net_lift: [m], [valves].
        feeler_error: true lash less what a wide feeler reads [m], [valves].
    """

    contact: FloatArray
    ratio: FloatArray
    at_edge: np.ndarray
    gross_lift: FloatArray
    net_lift: FloatArray
    feeler_error: FloatArray


def measured_pads(
    setup: Setup, rows: Mapping[str, FloatArray], lash: FloatArray, by_dial: FloatArray
) -> MeasuredPads | None:
    """Follow every valve that has a measured pad; None where there is none.

    Args:
        setup: the setup.
        rows: sheet key -> values, shape [n].
        lash: along the stem [m], [n].
        by_dial: gross lift read with a dial [m], NaN where it was not, [n].
    """
    outlined = [index for index, train in enumerate(setup.trains) if train.rocker.pad_outline is not None]
    if not outlined:
        return None
    count = len(setup.trains)
    contact, ratio = np.full((count, len(SHARES)), np.nan), np.full((count, len(SHARES)), np.nan)
    gross, net, feeler = (np.full(count, np.nan) for _ in range(3))
    at_edge = np.zeros(count, bool)
    for index in outlined:
        outline = setup.trains[index].rocker.pad_outline
        assert outline is not None
        one = {key: float(values[index]) for key, values in rows.items()}
        found = _followed(
            np.array(outline.points), one, float(height_over_tip(rows)[index]), lash[index], by_dial[index]
        )
        if found is not None:
            contact[index], ratio[index], gross[index], net[index], at_edge[index], feeler[index] = found
    return MeasuredPads(contact, ratio, at_edge, gross, net, feeler)


def _followed(
    face: FloatArray, one: Mapping[str, float], height: float, lash: float, by_dial: float
) -> tuple[FloatArray, FloatArray, float, float, bool, float] | None:
    """Follow one valve; None where something is unknown or the pad is not over the tip."""
    tip = 0.5 * one["valve.stem_diameter"] - one["valve.tip_chamfer"]
    setback = one["shaft.setback"]
    if not np.isfinite([tip, setback, height, lash]).all():
        return None
    start = float(closed_angle_on_tip(face, setback=setback, height=height, lash=lash, tip_radius=tip))
    if np.isnan(start):
        return None
    turned, rate, full = _turning(one, height, lash, start)
    turns = np.linspace(0.0, full if np.isfinite(full) else 0.9, 801)
    over = contact_over_tip(face, start - turns, setback=setback, tip_radius=tip)
    drop = over.y[0] - over.y
    gross = float(drop[-1]) if np.isfinite(full) else np.nan
    if np.isfinite(by_dial):
        gross = by_dial
    net = max(gross - lash, 0.0)
    good = np.isfinite(drop)
    if np.isnan(gross) or good.sum() < 2 or np.any(np.diff(drop[good]) < 0):
        return None
    at = np.interp(lash + SHARES * net, drop[good], turns[good])
    there = contact_over_tip(face, start - at, setback=setback, tip_radius=tip)
    per_tappet = np.interp(at, turned, rate) if np.isfinite(full) else np.full(at.shape, np.nan)
    reading = feeler_reading(
        face,
        setback=setback,
        height=height,
        pad_angle=start,
        tip_width=2 * tip,
        blade_width=max(BLADE, 2 * tip),
    )
    return there.x, there.fall * per_tappet, gross, net, bool(there.at_edge.any()), float(reading.error)


def _turning(
    one: Mapping[str, float], height: float, lash: float, start: float
) -> tuple[FloatArray, FloatArray, float]:
    """Turn [rad] and that per tappet rise [rad/m] through the lobe's lift, and the full turn, or NaN."""
    closed = closed_position(
        setback=one["shaft.setback"],
        height=height,
        pad_arm=one["rocker.pad_arm"],
        pad_radius=np.nan_to_num(one["rocker.pad_radius"]),
        socket_arm=one["rocker.socket_arm"],
        arm_angle=one["rocker.arm_angle"],
        lash=lash,
        pushrod_planar_length=planar_length(length=one["pushrod.length"], splay=one["pushrod.splay"]),
        tappet_setback=one["tappet.setback"],
        tappet_angle=one["tappet.angle"],
        pad_angle=start,
    )
    turn, rate = rocker_turn(closed, np.linspace(0.0, 1.0, 201) * one["lobe.lift"])
    return turn, rate, float(turn[-1])


def with_measured_pads(
    quantities: Mapping[str, Quantity], pads: MeasuredPads | None, tip: FloatArray
) -> dict[str, Quantity]:
    """Put what the measured pads say over the circular pad's quantities; uncertainties stay the latter's."""
    found = dict(quantities)
    if pads is None:
        return found
    width = pads.contact.max(axis=1) - pads.contact.min(axis=1)
    lobe = found["lobe_lift"].value
    edge = np.where(pads.at_edge, 0.0, tip - np.abs(pads.contact).max(axis=1))
    for name, value in {
        "gross_lift": pads.gross_lift,
        "net_lift": pads.net_lift,
        "ratio_at_opening": pads.ratio[:, 0],
        "ratio_at_half_lift": pads.ratio[:, len(SHARES) // 2],
        "ratio_at_full_lift": pads.ratio[:, -1],
        "mean_ratio": pads.gross_lift / lobe,
        "sweep_width": width,
        "sweep_share": width / pads.gross_lift,
        "sweep_middle": 0.5 * (pads.contact.max(axis=1) + pads.contact.min(axis=1)),
        "contact_closed": pads.contact[:, 0],
        "contact_full": pads.contact[:, -1],
        "chamfer_distance": edge,
    }.items():
        was = found[name]
        new = np.isfinite(value)
        found[name] = replace(
            was,
            value=np.where(new, value, was.value),
            uncertainty=np.where(new & np.isnan(was.uncertainty), 0.0, was.uncertainty),
        )
    return found
