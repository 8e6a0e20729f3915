"""What a starter sheet says, and which keys it asks for first."""

__all__ = [
    "ESSENTIALS",
    "HEAD",
    "INSTRUMENT_WORDS",
    "LOBE_CSV",
    "MORE",
    "SHOP_INSTRUMENTS",
    "SPRINGS_CSV",
    "VALVES_CSV",
    "WITHOUT",
]

SHOP_INSTRUMENTS = (
    "caliper",
    "micrometer",
    "height_micrometer",
    "feeler",
    "indicator",
    "radius_gauge",
    "protractor",
    "degree_wheel",
    "spring_tester",
    "scale",
)
"""What a shop may have or not; names of `[instruments]`."""

INSTRUMENT_WORDS = {
    "dial": "indicator",
    "dial_indicator": "indicator",
    "dial_gauge": "indicator",
    "clock": "indicator",
    "calipers": "caliper",
    "vernier": "caliper",
    "vernier_caliper": "caliper",
    "mike": "micrometer",
    "mic": "micrometer",
    "spring_micrometer": "height_micrometer",
    "height_mic": "height_micrometer",
    "feelers": "feeler",
    "feeler_gauge": "feeler",
    "feeler_gauges": "feeler",
    "radius_gauges": "radius_gauge",
    "angle_finder": "protractor",
    "wheel": "degree_wheel",
    "timing_wheel": "degree_wheel",
    "spring_checker": "spring_tester",
    "tester": "spring_tester",
    "scales": "scale",
    "weighing_scale": "scale",
}
"""Everyday word -> the name of the instrument in the sheet."""

HEAD = (
    "A sheet to fill in. Everything is unknown until you write it: take the # away before a key and put the",
    "number behind the =. What stays behind # is unknown, never zero, and is reported as not measured.",
    "",
    "  valvetrain check FOLDER      what is known by now, what is still missing      (as often as you like)",
    "  valvetrain guide setback     how to take a measurement: any key or topic may be asked for",
    "  valvetrain next FOLDER       which measurement would decide most",
    "",
    'A value may carry its own unit, "36.8 mm", and its doubt, "1.450 +/- 0.003". Each section begins with',
    "what `check` needs; what stands below `further questions` can wait.",
    "Cold engine, turned by hand, fuel and ignition off.",
)

MORE = (
    "PART 2. For further questions; nothing here is needed for a first verdict. Take from it what you know.",
)

WITHOUT = {
    "caliper": 'a steel rule; write its doubt with the value: "1.45 +/- 0.02".',
    "micrometer": 'a caliper; write its doubt with the value: "0.341 +/- 0.001".',
    "height_micrometer": "a depth caliper over a bridge; write its doubt with the value.",
    "feeler": "turns of the adjuster tell the lash: valvetrain guide turns",
    "indicator": "lift and durations from the cam card; a worn lobe then goes unseen.",
    "radius_gauge": "trace the pad on paper and compare circles, or let `valvetrain fit` find it.",
    "protractor": "draw the three centers on paper, or let `valvetrain fit` find the angle.",
    "degree_wheel": "lobe centers and durations from the cam card.",
    "spring_tester": "catalog rate, or catalog loads at two heights (part 2).",
    "scale": "sizes and materials in [masses] give estimates (part 2).",
}

# section, its keys, what is said above them
ESSENTIALS: tuple[tuple[str, tuple[str, ...], str], ...] = (
    (
        "shaft",
        ("setback", "height", "reference_stem_height", "stand_shim"),
        "The rocker shaft, seen from the tip of a closed valve. Cannot be reached? Leave it out, and let "
        "`valvetrain fit` find it from ink marks and dial readings.",
    ),
    (
        "rocker",
        (
            "tip",
            "pad_arm",
            "pad_radius",
            "pad_width",
            "socket_arm",
            "arm_angle",
            "nominal_ratio",
            "thread_pitch",
        ),
        "One rocker on the bench.",
    ),
    ("pushrod", ("length",), "Adjuster as set."),
    (
        "tappet",
        ("kind", "setback", "angle"),
        "Its line, seen from the front of the engine.",
    ),
    ("valve.intake", ("stem_diameter", "tip_chamfer"), "At the tip."),
    ("valve.exhaust", ("stem_diameter", "tip_chamfer"), "At the tip."),
    (
        "spring",
        ("tests", "rate", "free_length", "solid_height", "seat_load_target", "retainer_to_seal"),
        "Springs. CAUTION: a compressed spring can injure; proper compressor, eye protection.",
    ),
    (
        "lobe.intake",
        ("lift", "table"),
        "The lobe as it should be: its lift, and its shape from a dial's table or from the cam card.",
    ),
    ("lobe.exhaust", ("lift", "table"), "The same."),
    (
        "cam",
        ("intake_centerline", "exhaust_centerline"),
        "Lobe centers as degreed in, or from the card.",
    ),
    (
        "lash",
        ("intake", "exhaust", "at", "state"),
        "Lash that is wanted; what was found goes into valves.csv.",
    ),
    (
        "stock",
        ("stand_shims", "rocker_shims", "spring_shims"),
        "Shims in the drawer, like [0.015, 0.030]: what is advised is made from these.",
    ),
)

VALVES_CSV = (
    "spring",
    "offset",
    "end_clearance",
    "stem_height",
    "installed_height",
    "shims_fitted",
    "lash",
    "lobe_lift",
    "remarks",
)

SPRINGS_CSV = """\
# Spring tester readings: two or more heights a spring, near the installed and near the open height.
# solid_height: coils touching; once a spring is enough. Then take the # from `tests` under [spring].
spring,height [{length}],load [{force}],solid_height [{length}]
"""

LOBE_CSV = """\
# Lift of the {role} lobe, read with dial and degree wheel; every 2 cam degrees, base circle to base circle.
# Rename the columns if you read crank_angle, or valve_lift. Then take the # from `table` under [lobe.{role}].
cam_angle [deg],tappet_lift [{length}]
"""
