"""Limits of the springs and of the room round them."""

import math

from valvetrain.parts.limits.limit import COMMON, INCH, LBF, Limit

__all__ = ["SPRING_LIMITS"]

SPRING_LIMITS = (
    Limit(
        "seat_load",
        "force",
        65 * LBF,
        160 * LBF,
        COMMON + " (flat tappets: mild 65 to 80 lbf, under 160 lbf)",
        "spring load with the valve closed",
        short="on the seat",
    ),
    Limit(
        "open_load",
        "force",
        -math.inf,
        385 * LBF,
        COMMON + " (flat tappets: under 385 lbf)",
        "spring load at full lift",
        short="open",
    ),
    Limit(
        "bind_clearance",
        "length",
        0.050 * INCH,
        math.inf,
        COMMON + " (0.050 to 0.060 in at full lift)",
        "what is left before the coils touch, at full lift",
        short="to bind",
    ),
    Limit(
        "installed_height_deviation",
        "length",
        -0.020 * INCH,
        0.020 * INCH,
        COMMON + " (+-0.020 in valve to valve)",
        "installed height against the middle of its role",
        short="off its role's height",
    ),
    Limit(
        "retainer_clearance",
        "length",
        0.050 * INCH,
        math.inf,
        COMMON + " (0.050 in)",
        "retainer to seal or guide, at full lift",
        short="retainer to seal",
    ),
    Limit(
        "guide_clearance",
        "length",
        0.050 * INCH,
        math.inf,
        COMMON + " (0.050 in)",
        "retainer to guide, at full lift",
        short="retainer to guide",
    ),
    Limit(
        "hardened_shims",
        "force",
        -math.inf,
        80 * LBF,
        COMMON + " (hardened above 80 lbf)",
        "seat load above which spring shims must be hardened",
        short="on shims not hardened",
    ),
    Limit(
        "goodman_safety",
        "ratio",
        1.0,
        math.inf,
        "Goodman line through Zimmerli's endurance (Shigley, Mechanical Engineering Design, memory)",
        "safety of the spring's wire against fatigue",
        short="times the fatigue strength",
    ),
    Limit(
        "solid_stress",
        "fraction",
        -math.inf,
        0.65,
        "Shigley, Mechanical Engineering Design, allowable stress of springs with set removed (memory)",
        "stress of the spring pressed solid, as a share of its wire's tensile strength",
        short="of strength when solid",
    ),
    Limit(
        "surge_order",
        "ratio",
        10.0,
        math.inf,
        COMMON + " (10 to 13; Shigley asks 15 to 20 of springs in general, memory)",
        "spring's own frequency over the cam's turns at the redline",
        short="order of surge at the redline",
    ),
    Limit(
        "break_in_margin",
        "fraction",
        0.0,
        math.inf,
        "mechanics: below it the lobe would have to pull",
        "speed to which the outer springs alone keep control, over the break-in speed",
        short="over the break-in speed",
    ),
)
