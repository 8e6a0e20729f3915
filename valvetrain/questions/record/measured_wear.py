"""Wear and form as measured: crown, taper, bushings, hardness, and how the lobes compare with one another."""

from collections.abc import Mapping

import numpy as np

from valvetrain.mechanics.arrays import FloatArray
from valvetrain.mechanics.trend.crown_readings import crown_radius_from_sagitta, lobe_taper
from valvetrain.setup.setup import Column, Setup

__all__ = [
    "FORM_KEYS",
    "bushing_clearance",
    "crown_curvature",
    "face_forms",
    "lift_deviation",
    "taper_slope",
]

FORM_KEYS = (
    "tappet.crown_radius",
    "contact.crown_rise",
    "contact.crown_gap_1",
    "contact.crown_gap_2",
    "contact.crown_span",
    "lobe.taper",
    "lobe.width",
    "contact.taper_front",
    "contact.taper_rear",
    "contact.taper_distance",
    "contact.bore_lean",
)
"""Sheet keys from which crown and taper follow."""

Rows = Mapping[str, FloatArray]


def face_forms(setup: Setup) -> FloatArray:
    """Return the sign of each tappet's crown: 1 crowned (where the sheet says nothing), 0 flat, -1 hollow.

    A roller has no face: NaN.
    """
    signs = {None: 1.0, "crowned": 1.0, "flat": 0.0, "hollow": -1.0}
    return np.array(
        [
            np.nan if train.tappet.kind == "roller" else signs[train.contact.face_form]
            for train in setup.trains
        ]
    )


def crown_curvature(rows: Rows, form: FloatArray) -> FloatArray:
    """Curvature of each tappet's face [1/m], [..., n]: 0 flat, below 0 hollow, NaN not measured.

    From its radius; or else from the dial's rise, or the straightedge's two gaps, over the span.
    """
    rise = rows["contact.crown_rise"]
    gaps = 0.5 * (rows["contact.crown_gap_1"] + rows["contact.crown_gap_2"])
    rise = np.where(np.isnan(rise), gaps, rise)
    read = 1 / crown_radius_from_sagitta(rise, rows["contact.crown_span"])
    given = form / rows["tappet.crown_radius"]
    curvature = np.where(np.isnan(given), read, given)
    curvature = np.where(np.isnan(form), np.nan, curvature)
    return np.asarray(np.where(form == 0, 0.0, curvature))


def taper_slope(rows: Rows) -> FloatArray:
    """Slope of each lobe's surface over its tappet's face [rad], [..., n]; positive: the rear is the larger.

    From the two dial readings, or else the difference across the width; the bore's lean is added where it is
    known.
    """
    read = lobe_taper(rows["contact.taper_front"], rows["contact.taper_rear"], rows["contact.taper_distance"])
    given = np.arctan2(rows["lobe.taper"], rows["lobe.width"])
    slope = np.where(np.isnan(read), given, read)
    return np.asarray(slope + np.nan_to_num(rows["contact.bore_lean"]))


def bushing_clearance(setup: Setup) -> Column:
    """Return the clearance of every rocker's bore on its shaft, on diameter: as given, or bore less shaft."""
    given = setup.column("rocker", "bore_clearance")
    bore, shaft = setup.column("contact", "bushing_bore"), setup.column("contact", "shaft_at_rocker")
    read = bore.value - shaft.value
    missing = np.isnan(given.value)
    return Column(
        np.where(missing, read, given.value),
        np.where(missing, np.hypot(bore.uncertainty, shaft.uncertainty), given.uncertainty),
        tuple(
            two if gone else own for two, own, gone in zip(bore.source, given.source, missing, strict=True)
        ),
    )


def lift_deviation(measured: FloatArray, roles: tuple[str, ...]) -> FloatArray:
    """Lobe lift measured less the median of its role [m], [..., n]; NaN where it was not measured."""
    out = np.full(measured.shape, np.nan)
    for role in dict.fromkeys(roles):
        mask = np.array([each == role for each in roles])
        own = measured[..., mask]
        known = ~np.isnan(own).any(axis=tuple(range(own.ndim - 1)))
        if known.any():
            out[..., mask] = own - np.median(own[..., known], axis=-1, keepdims=True)
    return out
