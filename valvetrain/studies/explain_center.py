"""How the numbers of the rockers along the shaft come about."""

from valvetrain.studies.explanation import Explanation

__all__ = ["EXPLANATIONS"]

EXPLANATIONS = (
    Explanation(
        "offset_before",
        "center",
        "rocker pad center from the stem axis along the shaft, as measured",
        {"o": "station.offset"},
        (("offset_before", "o"),),
        "measured",
    ),
    Explanation(
        "contact_share",
        "center",
        "least share, over the lift, of the pad's contact line that is on the tip",
        {
            "o": "station.offset",
            "B": "rocker.pad_width",
            "d": "valve.stem_diameter",
            "c": "valve.tip_chamfer",
            "w": "shaft.setback",
            "L": "rocker:net_lift",
        },
        (),
        "derived: length of the line from o - B/2 to o + B/2 inside the circle of radius d/2 - c, at "
        "every contact of the sweep, over that of a centered pad",
        "The least over the lift counts.",
        "contact_share",
    ),
    Explanation(
        "offset_limit",
        "center",
        "largest offset either way that keeps the wanted share of the contact line on the tip",
        {
            "B": "rocker.pad_width",
            "d": "valve.stem_diameter",
            "c": "valve.tip_chamfer",
            "L": "rocker:net_lift",
        },
        (),
        "derived",
        "The offset at which the share falls to its limit, found by halving.",
    ),
)
