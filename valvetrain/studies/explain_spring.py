"""How the spring's numbers come about."""

from valvetrain.studies.explanation import Explanation, noted

__all__ = ["EXPLANATIONS"]

_STRAIGHT_LINE_THRO = (
    "straight line through the load tests (least squares), or catalog rate from the free length"
)

_ELEMENTARY_TORSION = (
    "elementary torsion of a coiled wire; Bergstraesser's factor: Shigley, Mechanical "
    "Engineering Design, chapter 10 (memory)"
)
_SHIGLEY_MECHANICAL = "Shigley, Mechanical Engineering Design, chapter 10 (memory)"

EXPLANATIONS = (
    Explanation(
        "seat_load",
        "spring",
        "spring load with the valve closed",
        {"k": "spring:rate", "H": "spring:installed_height"},
        (),
        _STRAIGHT_LINE_THRO,
        "The line's load at the installed height H.",
        "seat_load",
    ),
    Explanation(
        "open_load",
        "spring",
        "spring load at full lift",
        {"F": "spring:seat_load", "k": "spring:rate", "L": "rocker:net_lift"},
        (("open_load", "F + k*L"),),
        "linear spring",
        "",
        "open_load",
    ),
    Explanation(
        "bind_clearance",
        "spring",
        "what is left before the coils touch, at full lift",
        {"H": "spring.installed_height", "L": "rocker:net_lift", "S": "spring.solid_height"},
        (("bind_clearance", "H - L - S"),),
        "definition",
        "",
        "bind_clearance",
    ),
    Explanation(
        "retainer_clearance",
        "spring",
        "retainer to seal or guide, at full lift",
        {"R": "spring.retainer_to_seal", "L": "rocker:net_lift"},
        (("retainer_clearance", "R - L"),),
        "definition",
        "",
        "retainer_clearance",
    ),
    Explanation(
        "installed_height_deviation",
        "spring",
        "installed height against the middle of its role",
        {"H": "spring.installed_height"},
        (),
        "definition",
        "H less the median of the installed heights of all valves of the same role.",
        "installed_height_deviation",
    ),
    noted(
        "spring",
        "rate",
        "spring rate at the seat",
        "Slope of the line through the load tests at the installed height; of a set, the sum.",
        _STRAIGHT_LINE_THRO,
    ),
    noted(
        "spring",
        "rate_open",
        "spring rate at full lift",
        "Slope at the height of full lift.",
        _STRAIGHT_LINE_THRO,
    ),
    noted(
        "spring",
        "installed_height",
        "spring seat, on top of the shims, to the retainer",
        "As measured, plus what seat work sinks the valve.",
        "measured",
    ),
    noted(
        "spring",
        "guide_clearance",
        "retainer to the guide, at full lift",
        "Distance with the valve closed less net lift.",
        "definition",
        "guide_clearance",
    ),
    noted(
        "spring",
        "stem_height_after_work",
        "spring seat to valve tip after the seat work",
        "Stem height plus what the valve is sunk less what the tip is ground.",
        "definition",
    ),
    noted(
        "spring",
        "open_load_following",
        "load at full lift that follows the valve down",
        "Open load less the damper's friction.",
        "definition",
    ),
    noted(
        "spring",
        "rate_after",
        "spring rate, the same with springs and shims as planned",
        "As rate, with springs and shims as planned.",
        "definition",
    ),
    noted(
        "spring",
        "installed_height_after",
        "installed height, the same with springs and shims as planned",
        "As installed_height, with springs and shims as planned.",
        "definition",
    ),
    noted(
        "spring",
        "seat_load_after",
        "seat load, the same with springs and shims as planned",
        "As seat_load, with springs and shims as planned.",
        "definition",
    ),
    noted(
        "spring",
        "open_load_after",
        "open load, the same with springs and shims as planned",
        "As open_load, with springs and shims as planned.",
        "definition",
    ),
    noted(
        "spring",
        "bind_clearance_after",
        "bind clearance, the same with springs and shims as planned",
        "As bind_clearance, with springs and shims as planned.",
        "definition",
    ),
    noted(
        "spring",
        "stress_seat",
        "shear stress of the wire with the valve closed",
        "K 8 F D/(pi d^3) with the seat load, K = (4C + 2)/(4C - 3), C = D/d.",
        _ELEMENTARY_TORSION,
    ),
    noted(
        "spring",
        "stress_open",
        "shear stress of the wire at full lift",
        "K 8 F D/(pi d^3) with the open load, K = (4C + 2)/(4C - 3), C = D/d.",
        _ELEMENTARY_TORSION,
    ),
    noted(
        "spring",
        "stress_mean",
        "mean shear stress",
        "Half the sum of the stresses closed and open.",
        "definition",
    ),
    noted(
        "spring",
        "stress_alternating",
        "alternating shear stress",
        "Half the difference of the stresses open and closed.",
        "definition",
    ),
    noted(
        "spring",
        "tensile_strength",
        "tensile strength of the wire",
        "A/d^m with the constants named in the table.",
        "Shigley, Mechanical Engineering Design, or FE Reference Handbook: the set is named",
    ),
    noted(
        "spring",
        "tensile_strength_other",
        "the same by the other published constants",
        "A/d^m with the other set of constants.",
        "the set is named",
    ),
    noted(
        "spring",
        "goodman_safety",
        "safety against fatigue, on the Goodman line",
        "Goodman line through Zimmerli's endurance of the surface and the wire's shear strength.",
        _SHIGLEY_MECHANICAL,
        "goodman_safety",
    ),
    noted(
        "spring",
        "goodman_safety_other",
        "the same by the other published constants",
        "As goodman_safety.",
        "the set is named",
    ),
    noted(
        "spring",
        "sines_safety",
        "safety against fatigue by Sines",
        "Zimmerli's alternating stress over the alternating stress: the mean does not count.",
        _SHIGLEY_MECHANICAL,
    ),
    noted(
        "spring",
        "solid_stress",
        "stress pressed solid, as a share of the tensile strength",
        "K 8 F D/(pi d^3) with the load at solid height, over the tensile strength.",
        _ELEMENTARY_TORSION,
        "solid_stress",
    ),
    noted(
        "spring",
        "surge_frequency",
        "lowest natural frequency of the spring, both ends held",
        "(1/2) sqrt(k/m), m the mass of the active wire.",
        "closed form of a rod between held ends",
    ),
    noted(
        "spring",
        "surge_order",
        "harmonic of the cam's turn that meets it at the redline",
        "Surge frequency over half the crank's frequency at the redline.",
        "definition",
        "surge_order",
    ),
)
