"""Limits of the rocker, its pushrod and its place on the shaft."""

import math

from valvetrain.parts.limits.limit import COMMON, INCH, Limit

__all__ = ["ROCKER_LIMITS"]

ROCKER_LIMITS = (
    Limit(
        "sweep_width",
        "fraction",
        -math.inf,
        0.12,
        COMMON + " (9 to 12 % of gross lift)",
        "sweep width on the tip, as a share of gross lift",
    ),
    Limit(
        "contact_on_tip",
        "length",
        0.0,
        math.inf,
        "geometry: the contact must not reach the tip's chamfer",
        "least distance from the contact to the tip's chamfer, along the sweep",
    ),
    Limit(
        "adjuster_reserve",
        "length",
        0.8e-3,
        math.inf,
        "our judgment, no source: about a turn of thread left either way for wear and the next lash",
        "thread of the adjuster left, the lesser way",
    ),
    Limit(
        "pushrod_column_factor",
        "ratio",
        3.0,
        math.inf,
        "our judgment, no source: what a straight column leaves for bent tubes and valve float",
        "load at which the pushrod buckles over its greatest load",
    ),
    Limit(
        "pushrod_hole_clearance",
        "length",
        0.0,
        math.inf,
        "geometry: the pushrod must not touch the head",
        "least clearance of the pushrod in the head's hole",
    ),
    Limit(
        "rocker_to_retainer",
        "length",
        0.050 * INCH,
        math.inf,
        COMMON + " (0.050 in)",
        "rocker to retainer, least through the lift",
    ),
    Limit(
        "retainer_to_seal",
        "length",
        0.050 * INCH,
        math.inf,
        COMMON + " (0.050 in)",
        "retainer to seal and guide by their shapes, least through the lift",
    ),
    Limit(
        "rocker_to_stand",
        "length",
        0.0,
        math.inf,
        "geometry: the rocker must not touch its stand",
        "rocker to stand, least through the swing",
    ),
    Limit(
        "contact_share",
        "fraction",
        0.90,
        math.inf,
        COMMON + " (no number in print; nine tenths of the pad's contact line kept on the tip)",
        "share of the pad's possible contact line that is on the tip",
    ),
    Limit(
        "end_clearance",
        "length",
        -math.inf,
        0.008 * INCH,
        COMMON + " (act above 0.008 in)",
        "free play of the rocker along the shaft",
    ),
    Limit(
        "offset",
        "length",
        -math.inf,
        math.inf,
        "none of its own: how far a rocker may be off follows from the share of its contact on the tip",
        "offset of the rocker's pad from the stem along the shaft",
    ),
    Limit(
        "hot_end_clearance",
        "length",
        0.0,
        math.inf,
        "geometry: the rocker must not bind when warm",
        "free play of the rocker along the shaft when warm",
    ),
    Limit(
        "bore_clearance",
        "length",
        -math.inf,
        0.005 * INCH,
        COMMON + " (bush or replace at 0.003 to 0.006 in)",
        "clearance of the rocker's bore on the shaft",
    ),
)
