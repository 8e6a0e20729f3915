"""Limits of what the cam does to the valve: lash, clearances and control at speed."""

import math

from valvetrain.parts.limits.limit import COMMON, INCH, Limit

__all__ = ["CAM_LIMITS"]

CAM_LIMITS = (
    Limit(
        "ramp_left",
        "length",
        0.0,
        math.inf,
        "geometry: the lash must be taken up and given back on the cam's ramps",
        "what is left of the cam's ramps beyond the lash, at the valve",
        short="of ramp left",
    ),
    Limit(
        "hot_lash",
        "length",
        0.0,
        math.inf,
        "geometry: without lash the valve is held open",
        "lash with the engine hot",
        short="lash hot",
    ),
    Limit(
        "intake_piston_clearance",
        "length",
        0.080 * INCH,
        math.inf,
        COMMON + " (0.080 in; 0.060 and 0.040 in are used with care)",
        "least clearance of an intake valve to the piston, along the stem",
        short="to the piston",
    ),
    Limit(
        "exhaust_piston_clearance",
        "length",
        0.100 * INCH,
        math.inf,
        COMMON + " (0.100 in; 0.060 and 0.040 in are used with care)",
        "least clearance of an exhaust valve to the piston, along the stem",
        short="to the piston",
    ),
    Limit(
        "relief_clearance",
        "length",
        0.0,
        math.inf,
        "geometry: the valve head must not reach the relief's wall",
        "valve head to the wall of the piston's relief",
        short="to the relief's side",
    ),
    Limit(
        "valve_to_valve",
        "length",
        0.030 * INCH,
        math.inf,
        COMMON + " (0.030 in)",
        "least gap between the intake and exhaust valve heads of a cylinder",
        short="valve to valve",
    ),
    Limit(
        "cam_position",
        "angle",
        math.radians(-2.0),
        math.radians(2.0),
        COMMON + " (within 2 crank degrees of the card)",
        "lateness of the cam against its card, by the degree wheel",
    ),
    Limit(
        "lash_deviation",
        "length",
        -0.004 * INCH,
        0.004 * INCH,
        COMMON + " (+-0.004 in is a usual tuning window)",
        "lash found against the lash wanted",
        short="off the lash wanted",
    ),
    Limit(
        "lobe_wear",
        "length",
        -math.inf,
        0.005 * INCH,
        COMMON + " (watch at 0.003 in, act at 0.005 to 0.010 in)",
        "lobe lift lost against the lobe as it should be",
        short="of lobe lift lost",
    ),
    Limit(
        "control_margin",
        "fraction",
        0.0,
        math.inf,
        "geometry: the tappet must not leave the lobe below the redline (rigid train)",
        "room from the redline to the speed at which a rigid train leaves its lobe",
        short="over the redline",
    ),
    Limit(
        "elastic_control_margin",
        "fraction",
        0.0,
        math.inf,
        "no part of the train may part from the next below the redline (elastic model; what counts as a gap: "
        "common practice, no source)",
        "room from the redline to the speed at which the elastic train parts",
        short="over the redline (elastic)",
    ),
    Limit(
        "bounce_margin",
        "fraction",
        0.0,
        math.inf,
        "the valve must stay on its seat below the redline (elastic model; what counts as a bounce: common "
        "practice, no source)",
        "room from the redline to the speed at which the valve bounces off its seat",
        short="to bouncing",
    ),
)
