"""How the pushrod's numbers come about."""

from valvetrain.studies.explanation import Explanation, noted

__all__ = ["EXPLANATIONS"]

_COLUMN = (
    "Euler and J. B. Johnson columns, as in Wentzell's worked examples 3.5 and 3.6; pinned ends (K "
    "= 1): ball and cup"
)
_TUBE = {
    "D": "pushrod.outside_diameter",
    "t": "pushrod.wall",
    "l": "pushrod:length",
    "E": "pushrod.elastic_modulus",
}
_AREA = ("A", "pi/4*(D^2 - (D - 2*t)^2)")
_SCREW = {"T": "adjuster.thread_length", "B": "adjuster.boss_thickness", "N": "adjuster.locknut_height"}

_GROSS_LIFT_OF_THE = "Gross lift of the linkage with the upper ball moved along the screw, over lobe lift."
_GREATEST_OVER_NINE = "Greatest over nine positions through the lift."
_DERIVED_LOOP_CLOSU = "derived: loop closure, splay in three dimensions"

EXPLANATIONS = (
    Explanation(
        "exposure_greatest",
        "pushrod",
        "most thread that can show under the rocker",
        _SCREW,
        (("exposure_greatest", "T - B - N"),),
        "definition: the thread must still fill rocker and locknut",
    ),
    Explanation(
        "reserve",
        "pushrod",
        "thread of the adjuster left, the lesser way",
        {**_SCREW, "x": "adjuster.exposure"},
        (("out", "T - B - N - x"), ("reserve", "min(out, x)")),
        "definition",
        "",
        "adjuster_reserve",
    ),
    Explanation(
        "length_for_wanted_exposure",
        "pushrod",
        "pushrod, between ball centers, that shows the thread wanted at the lash set",
        {
            "l": "pushrod:length",
            "x": "adjuster.exposure",
            "v": "pushrod:exposure_wanted",
            "a": "rocker.pad_arm",
            "r": "rocker.pad_radius",
            "h": "shaft.height",
            "g": "rocker:lash",
            "b": "rocker.socket_arm",
            "alpha": "rocker.arm_angle",
            "z": "pushrod.splay",
            "e": "tappet.setback",
            "tau": "tappet.angle",
            "m": "adjuster.axis_lean",
        },
        (
            ("psi", "asin((r + g - h)/a) + alpha - tau"),
            ("across", "e + b*cos(psi)"),
            ("along", "sqrt(l^2 - z^2 - across^2)"),
            ("u", "v - x"),
            ("across2", "across + u*cos(psi + pi/2 - m)"),
            ("along2", "along + u*sin(psi + pi/2 - m)"),
            ("length", "sqrt(across2^2 + along2^2 + z^2)"),
        ),
        "derived: the screw moves the upper ball square to the socket arm; rocker and tappet stay",
        "across and along: upper ball from the lower one, square to the tappet's bore and along it.",
    ),
    Explanation(
        "lash_turns",
        "pushrod",
        "turns of the adjuster that open the lash from nothing",
        {"g": "rocker:lash", "P": "rocker.thread_pitch", "i": "rocker:ratio_at_opening"},
        (("turns", "g/(P*i)"),),
        "common practice, no source",
        "The locknut adds about 0.001 in (0.025 mm).",
    ),
    Explanation(
        "column_load",
        "pushrod",
        "load at which the pushrod buckles",
        {**_TUBE, "Sy": "pushrod.yield_strength"},
        (
            _AREA,
            ("k", "sqrt(D^2 + (D - 2*t)^2)/4"),
            ("SR", "l/k"),
            ("Cc", "sqrt(2*pi^2*E/Sy)"),
            ("euler", "pi^2*E*A/SR^2"),
            ("johnson", "A*Sy*(1 - Sy*SR^2/(4*pi^2*E))"),
            ("column_load", "where(SR > Cc, euler, johnson)"),
        ),
        _COLUMN,
    ),
    Explanation(
        "column_factor",
        "pushrod",
        "load at which the pushrod buckles over its greatest load",
        {"C": "pushrod:column_load", "F": "pushrod:peak_load"},
        (("column_factor", "C/F"),),
        "definition",
        "",
        "pushrod_column_factor",
    ),
    Explanation(
        "stiffness",
        "pushrod",
        "stiffness of the tube along its axis",
        _TUBE,
        (_AREA, ("stiffness", "E*A/l")),
        "elementary strength of materials",
    ),
    Explanation(
        "deflection",
        "pushrod",
        "shortening under the peak load",
        {"F": "pushrod:peak_load", "k": "pushrod:stiffness"},
        (("deflection", "F/k"),),
        "Hooke's law",
    ),
    Explanation(
        "lift_lost_to_deflection",
        "pushrod",
        "lift lost at the valve to the pushrod's shortening",
        {"f": "pushrod:deflection", "i": "rocker:ratio_at_full_lift"},
        (("lift_lost", "f*i"),),
        "definition",
    ),
    Explanation(
        "hole_clearance",
        "pushrod",
        "least clearance of the pushrod in the head's hole, through the lift",
        {"H": "head.hole_diameter", "D": "pushrod.outside_diameter"},
        (),
        "derived",
        "H/2 less D/(2 cos tilt) less the distance of the pushrod's axis from the hole's, at the worse "
        "end of the hole, the least over the lift.",
        "pushrod_hole_clearance",
    ),
    Explanation(
        "reserve_out",
        "pushrod",
        "thread left to screw out",
        {**_SCREW, "x": "adjuster.exposure"},
        (("reserve_out", "T - B - N - x"),),
        "definition",
    ),
    Explanation(
        "reserve_in",
        "pushrod",
        "thread left to screw in",
        {"x": "adjuster.exposure"},
        (("reserve_in", "x"),),
        "definition",
    ),
    noted(
        "pushrod",
        "length",
        "pushrod, between ball centers",
        "As measured, converted from its convention, or the checking pushrod's with its turns, the "
        "lash added.",
        "measured",
    ),
    Explanation(
        "adjuster_exposure",
        "pushrod",
        "thread showing under the rocker",
        {"x": "adjuster.exposure"},
        (("adjuster_exposure", "x"),),
        "measured",
        "As measured.",
    ),
    noted(
        "pushrod",
        "exposure_wanted",
        "thread wanted under the rocker",
        "As the sheet asks; else half of the most that can show.",
        "definition",
    ),
    noted(
        "pushrod",
        "ratio_adjuster_in",
        "mean ratio with the screw all the way in",
        _GROSS_LIFT_OF_THE,
        "derived: loop closure",
    ),
    noted(
        "pushrod",
        "ratio_adjuster_out",
        "mean ratio with the screw all the way out",
        _GROSS_LIFT_OF_THE,
        "derived: loop closure",
    ),
    noted(
        "pushrod",
        "peak_load",
        "greatest load along the pushrod",
        "As the sheet gives it; else open load times the ratio at full lift over the cosine of the "
        "pushrod's angle to the tappet's bore.",
        "derived: virtual work",
    ),
    noted(
        "pushrod",
        "tappet_angle_greatest",
        "greatest angle of the pushrod to the tappet's bore",
        _GREATEST_OVER_NINE,
        _DERIVED_LOOP_CLOSU,
    ),
    noted(
        "pushrod",
        "socket_angle_greatest",
        "greatest angle of the pushrod to square to the socket arm",
        _GREATEST_OVER_NINE,
        _DERIVED_LOOP_CLOSU,
    ),
)
