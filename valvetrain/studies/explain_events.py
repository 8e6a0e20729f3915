"""How the events' numbers come about."""

from valvetrain.studies.explanation import Explanation

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
)
