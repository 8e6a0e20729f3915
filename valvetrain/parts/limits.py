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
        "guide_clearance",
        "length",
        0.050 * INCH,
        math.inf,
        COMMON + " (0.050 in)",
        "retainer to guide, at full lift",
    ),
    Limit(
        "hardened_shims",
        "force",
        -math.inf,
        80 * LBF,
        COMMON + " (hardened above 80 lbf)",
        "seat load above which spring shims must be hardened",
    ),
    Limit(
        "goodman_safety",
        "ratio",
        1.0,
        math.inf,
        "Goodman line through Zimmerli's endurance (Shigley, Mechanical Engineering Design, memory)",
        "safety of the spring's wire against fatigue",
    ),
    Limit(
        "solid_stress",
        "fraction",
        -math.inf,
        0.65,
        "Shigley, Mechanical Engineering Design, allowable stress of springs with set removed (memory)",
        "stress of the spring pressed solid, as a share of its wire's tensile strength",
    ),
    Limit(
        "surge_order",
        "ratio",
        10.0,
        math.inf,
        COMMON + " (10 to 13; Shigley asks 15 to 20 of springs in general, memory)",
        "spring's own frequency over the cam's turns at the redline",
    ),
    Limit(
        "break_in_margin",
        "fraction",
        0.0,
        math.inf,
        "mechanics: below it the lobe would have to pull",
        "speed to which the outer springs alone keep control, over the break-in speed",
    ),
    Limit(
        "ramp_left",
        "length",
        0.0,
        math.inf,
        "geometry: the lash must be taken up and given back on the cam's ramps",
        "what is left of the cam's ramps beyond the lash, at the valve",
    ),
    Limit(
        "hot_lash",
        "length",
        0.0,
        math.inf,
        "geometry: without lash the valve is held open",
        "lash with the engine hot",
    ),
    Limit(
        "intake_piston_clearance",
        "length",
        0.080 * INCH,
        math.inf,
        COMMON + " (0.080 in; 0.060 and 0.040 in are used with care)",
        "least clearance of an intake valve to the piston, along the stem",
    ),
    Limit(
        "exhaust_piston_clearance",
        "length",
        0.100 * INCH,
        math.inf,
        COMMON + " (0.100 in; 0.060 and 0.040 in are used with care)",
        "least clearance of an exhaust valve to the piston, along the stem",
    ),
    Limit(
        "relief_clearance",
        "length",
        0.0,
        math.inf,
        "geometry: the valve head must not reach the relief's wall",
        "valve head to the wall of the piston's relief",
    ),
    Limit(
        "valve_to_valve",
        "length",
        0.030 * INCH,
        math.inf,
        COMMON + " (0.030 in)",
        "least gap between the intake and exhaust valve heads of a cylinder",
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
    Limit(
        "contact_stress",
        "pressure",
        -math.inf,
        math.inf,
        "no limit: no published stress for flat tappets could be read (180,000 to 250,000 psi are quoted as "
        "loads seen); put your own in [limits]",
        "greatest contact stress of lobe on tappet",
    ),
    Limit(
        "lobe_curvature",
        "length",
        0.0,
        math.inf,
        "geometry: a flat face cannot follow a hollow flank",
        "least radius of curvature of the lobe",
    ),
    Limit(
        "face_margin",
        "length",
        0.0,
        math.inf,
        "geometry: the contact must stay on the tappet's face",
        "from the contact to the rim of the tappet's face, at its farthest",
    ),
    Limit(
        "lobe_edge_margin",
        "length",
        0.0,
        math.inf,
        "geometry: the contact must not reach the lobe's edge",
        "from the end of the contact to the lobe's edge, at the nose",
    ),
    Limit(
        "tip_edge_margin",
        "length",
        0.0,
        math.inf,
        "geometry: the loaded band must stay inside the tip's chamfer",
        "from the loaded band of the pad to the tip's chamfer",
    ),
    Limit(
        "lobe_taper",
        "length",
        0.0007 * INCH,
        0.002 * INCH,
        COMMON + " (0.0007 to 0.002 in across the lobe)",
        "difference of radius across the width of the lobe, either way",
    ),
    Limit(
        "crown_radius",
        "length",
        59 * INCH,
        100 * INCH,
        COMMON + " (59 to 100 in)",
        "radius of the tappet's crown",
    ),
    Limit(
        "rotation_arm",
        "length",
        0.0,
        math.inf,
        "geometry: without a lever arm nothing turns the tappet",
        "lever arm that turns the tappet: load-weighted distance of the contact along the camshaft",
    ),
    Limit(
        "tappet_hardness",
        "rockwell",
        51.0,
        math.inf,
        COMMON + " (51 HRC at least, above 56 for racing)",
        "hardness of the tappet's face (HRC)",
    ),
    Limit(
        "stem_in_guide",
        "length",
        -math.inf,
        0.006 * INCH,
        COMMON + " (limit 0.003 to 0.006 in)",
        "clearance of the stem in its guide, on diameter",
    ),
    Limit(
        "oil_hole_clear",
        "angle",
        math.pi / 3,
        math.inf,
        COMMON + " (the loaded arc reaches 60 degrees to each side)",
        "from the middle of the shaft's loaded arc to the oil hole",
    ),
    Limit(
        "rocker_oil_share",
        "fraction",
        0.5,
        math.inf,
        "our own choice, no source (half of what the best fed rocker gets as built and new)",
        "oil that reaches the rocker, as a share of the best fed one as built and new",
    ),
)

DEFAULT_LIMITS = {limit.id: limit for limit in _ALL}
