"""How the numbers of the rockers along the shaft come about."""

from valvetrain.studies.explanation import Explanation, noted

__all__ = ["EXPLANATIONS"]

_DERIVED_THE_PADS_B = (
    "derived: the pad's bearing line against the chamfered tip, as plane figures, over the whole lift"
)
_DERIVED_COEFFICIEN = "derived; coefficients: Callister, Materials Science and Engineering, Table B.6"

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
    noted(
        "center",
        "end_clearance_before",
        "free play of the rocker along the shaft, as measured",
        "As measured.",
        "measured",
    ),
    noted(
        "center",
        "edge_distance",
        "from the farther end of the contact line to the edge of the flat",
        "Least over the lift; negative where the line runs over the edge.",
        _DERIVED_THE_PADS_B,
    ),
    noted(
        "center",
        "load_eccentricity",
        "greatest distance of the middle of the bearing line from the stem's axis",
        "Across and along together, the greatest over the lift.",
        _DERIVED_THE_PADS_B,
    ),
    noted(
        "center",
        "turning_arm",
        "arm along the shaft on which sliding turns the valve",
        "Mean over the lift of the bearing line's middle, along the shaft.",
        _DERIVED_THE_PADS_B,
    ),
    noted(
        "center",
        "area_on_tip",
        "share of the swept area that is on the tip",
        "Area of the swept figure inside the flat over its whole area.",
        "derived: plane figures (shapely)",
    ),
    noted(
        "center",
        "offset_after",
        "offset with the shims of the plan",
        "Offset as measured plus what the shims move it.",
        "definition",
        "offset",
    ),
    noted(
        "center",
        "end_clearance",
        "end clearance with the shims of the plan",
        "End clearance as measured less what the shims take up.",
        "definition",
        "end_clearance",
    ),
    noted(
        "center",
        "contact_share_after",
        "share of the contact line on the tip with the shims of the plan",
        "As contact_share, at the offset after.",
        _DERIVED_THE_PADS_B,
    ),
    noted(
        "center",
        "offset_growth",
        "what the offset moves from cold to hot",
        "Free growth of shaft, stands and spacers from the fixed stand to this rocker.",
        _DERIVED_COEFFICIEN,
    ),
    noted(
        "center",
        "clearance_growth",
        "what the end clearance grows from cold to hot",
        "Free growth of the bay less that of what stands in it.",
        _DERIVED_COEFFICIEN,
    ),
    Explanation(
        "end_clearance_hot",
        "center",
        "end clearance when warm",
        {"e": "center:end_clearance", "g": "center:clearance_growth"},
        (("end_clearance_hot", "e + g"),),
        _DERIVED_COEFFICIEN,
        "End clearance as it stands plus its growth.",
        "hot_end_clearance",
    ),
)
