"""How the spring's numbers come about."""

from valvetrain.studies.explanation import Explanation

__all__ = ["EXPLANATIONS"]

EXPLANATIONS = (
    Explanation(
        "seat_load",
        "spring",
        "spring load with the valve closed",
        {"k": "spring:rate", "H": "spring:installed_height"},
        (),
        "straight line through the load tests (least squares), or catalog rate from the free length",
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
)
