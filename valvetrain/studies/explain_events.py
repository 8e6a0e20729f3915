"""How the events' numbers come about."""

from valvetrain.studies.explanation import Explanation, noted

__all__ = ["EXPLANATIONS"]

_SEARCH = (
    "Crank angle at which the lift curve of the lobe, through the rocker and less the lash, has "
    "the checking lift."
)
_CURVE = (
    "periodic smoothing spline through the lift table, or the motion law, or a curve through the cam card"
)

EXPLANATIONS = (
    Explanation(
        "opens", "events", "opening, at the checking lift", {"g": "rocker:lash"}, (), _CURVE, _SEARCH
    ),
    Explanation(
        "closes", "events", "closing, at the checking lift", {"g": "rocker:lash"}, (), _CURVE, _SEARCH
    ),
    Explanation(
        "duration",
        "events",
        "crank angle from opening to closing",
        {"o": "events:opens", "c": "events:closes"},
        (("duration", "o + pi + c"),),
        "definition: opening before one dead center and closing after the other, 180 degrees (pi) "
        "between them",
    ),
    noted(
        "events",
        "lash",
        "lash as used, along the stem",
        "As set; at the pushrod, times the ratio on the base circle.",
        "measured",
    ),
    noted(
        "events",
        "centerline",
        "middle of the two events, intake after, exhaust before top dead center",
        "Half the duration less the opening (intake) or less the closing (exhaust).",
        "definition",
    ),
    noted(
        "events",
        "max_lift",
        "greatest lift: net at the valve, or lobe lift at the tappet",
        "Gross lift less lash; at the tappet the lobe lift.",
        "definition",
    ),
    noted(
        "events",
        "area",
        "area under the lift between the two events, over crank angle",
        "Sum of the lift over the crank angle.",
        "derived: numerical integral of the lift curve",
    ),
    noted(
        "events",
        "tappet_lift_at_event",
        "tappet lift at which the events are",
        "Tappet lift at which the pad has dropped by lash and checking lift.",
        "derived: loop closure",
    ),
    noted(
        "events",
        "overlap",
        "crank angle for which both valves of the cylinder are open",
        "First intake opening before, plus last exhaust closing after top dead center.",
        "definition",
    ),
    noted(
        "events",
        "separation",
        "angle between the two centerlines, on the cam",
        "Half of the sum of the two centerlines.",
        "definition",
    ),
)
