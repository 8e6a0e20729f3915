"""Limits of what wears, and of the oil that keeps it from wearing."""

import math

from valvetrain.parts.limits.limit import COMMON, INCH, Limit

__all__ = ["WEAR_LIMITS"]

WEAR_LIMITS = (
    Limit(
        "contact_stress",
        "pressure",
        -math.inf,
        math.inf,
        "no limit: no published stress for flat tappets could be read (180,000 to 250,000 psi are quoted as "
        "loads seen); put your own in [limits]",
        "greatest contact stress of lobe on tappet",
        short="on the lobe",
    ),
    Limit(
        "lobe_curvature",
        "length",
        0.0,
        math.inf,
        "geometry: at zero the lobe comes to a point, below zero it would be undercut",
        "least radius of curvature of the lobe",
        short="least radius of the lobe",
    ),
    Limit(
        "face_margin",
        "length",
        0.0,
        math.inf,
        "geometry: the contact must stay on the tappet's face",
        "from the contact to the rim of the tappet's face, at its farthest",
        short="to the tappet's rim",
    ),
    Limit(
        "lobe_edge_margin",
        "length",
        0.0,
        math.inf,
        "geometry: the contact must not reach the lobe's edge",
        "from the end of the contact to the lobe's edge, at the nose",
        short="to the lobe's edge",
    ),
    Limit(
        "tip_edge_margin",
        "length",
        0.0,
        math.inf,
        "geometry: the loaded band must stay inside the tip's chamfer",
        "from the loaded band of the pad to the tip's chamfer",
        short="to the tip's edge",
    ),
    Limit(
        "lobe_taper",
        "length",
        0.0007 * INCH,
        0.002 * INCH,
        COMMON + " (0.0007 to 0.002 in across the lobe)",
        "difference of radius across the width of the lobe, either way",
        short="of lobe taper",
    ),
    Limit(
        "crown_radius",
        "length",
        59 * INCH,
        100 * INCH,
        COMMON + " (59 to 100 in)",
        "radius of the tappet's crown",
        short="crown radius",
    ),
    Limit(
        "rotation_arm",
        "length",
        0.0,
        math.inf,
        "geometry: without a lever arm nothing turns the tappet",
        "lever arm that turns the tappet: load-weighted distance of the contact along the camshaft",
        short="arm that turns the tappet",
    ),
    Limit(
        "tappet_hardness",
        "rockwell",
        51.0,
        math.inf,
        COMMON + " (51 HRC at least, above 56 for racing)",
        "hardness of the tappet's face (HRC)",
        short="hardness",
    ),
    Limit(
        "stem_in_guide",
        "length",
        -math.inf,
        0.006 * INCH,
        COMMON + " (limit 0.003 to 0.006 in)",
        "clearance of the stem in its guide, on diameter",
        short="stem in guide",
    ),
    Limit(
        "oil_hole_clear",
        "angle",
        math.pi / 3,
        math.inf,
        COMMON + " (the loaded arc reaches 60 degrees to each side)",
        "from the middle of the shaft's loaded arc to the oil hole",
        short="from load to oil hole",
    ),
    Limit(
        "rocker_oil_share",
        "fraction",
        0.5,
        math.inf,
        "our own choice, no source (half of what the best fed rocker gets as built and new)",
        "oil that reaches the rocker, as a share of the best fed one as built and new",
        short="of the best fed rocker's oil",
    ),
)
