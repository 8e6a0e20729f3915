"""Limits in use, each with its basis: what a verdict is given against unless the sheet says otherwise."""

import math
from dataclasses import dataclass

__all__ = ["DEFAULT_LIMITS", "Limit"]

INCH = 0.0254
LBF = 4.4482216152605
COMMON = "common practice, no source"


@dataclass(frozen=True)
class Limit:
    """Range that a quantity should stay in.

    Attributes:
        id: name of the check, as in `[limits]`.
        dimension: dimension of the quantity.
        low, high: the range [SI], ends included; infinite where open.
        basis: a published source, "common practice, no source", or the user's own.
        doc: what is judged, in shop words.
    """

    id: str
    dimension: str
    low: float
    high: float
    basis: str
    doc: str


_ALL = (
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
        "seat_load",
        "force",
        65 * LBF,
        160 * LBF,
        COMMON + " (flat tappets: mild 65 to 80 lbf, under 160 lbf)",
        "spring load with the valve closed",
    ),
    Limit(
        "open_load",
        "force",
        -math.inf,
        385 * LBF,
        COMMON + " (flat tappets: under 385 lbf)",
        "spring load at full lift",
    ),
    Limit(
        "bind_clearance",
        "length",
        0.050 * INCH,
        math.inf,
        COMMON + " (0.050 to 0.060 in at full lift)",
        "what is left before the coils touch, at full lift",
    ),
    Limit(
        "installed_height_deviation",
        "length",
        -0.020 * INCH,
        0.020 * INCH,
        COMMON + " (+-0.020 in valve to valve)",
        "installed height against the middle of its role",
    ),
    Limit(
        "retainer_clearance",
        "length",
        0.050 * INCH,
        math.inf,
        COMMON + " (0.050 in)",
        "retainer to seal or guide, at full lift",
    ),
    Limit(
        "lash_deviation",
        "length",
        -0.004 * INCH,
        0.004 * INCH,
        COMMON + " (+-0.004 in is a usual tuning window)",
        "lash found against the lash wanted",
    ),
    Limit(
        "lobe_wear",
        "length",
        -math.inf,
        0.005 * INCH,
        COMMON + " (watch at 0.003 in, act at 0.005 to 0.010 in)",
        "lobe lift lost against the lobe as it should be",
    ),
    Limit(
        "control_margin",
        "fraction",
        0.0,
        math.inf,
        "geometry: the tappet must not leave the lobe below the redline (rigid train)",
        "room from the redline to the speed at which a rigid train leaves its lobe",
    ),
    Limit(
        "elastic_control_margin",
        "fraction",
        0.0,
        math.inf,
        "no part of the train may part from the next below the redline (elastic model; what counts as a gap: "
        "common practice, no source)",
        "room from the redline to the speed at which the elastic train parts",
    ),
    Limit(
        "bounce_margin",
        "fraction",
        0.0,
        math.inf,
        "the valve must stay on its seat below the redline (elastic model; what counts as a bounce: common "
        "practice, no source)",
        "room from the redline to the speed at which the valve bounces off its seat",
    ),
)

DEFAULT_LIMITS = {limit.id: limit for limit in _ALL}
