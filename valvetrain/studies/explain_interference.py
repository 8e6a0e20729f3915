"""How the clearances of rocker, retainer, seal and stand come about."""

from valvetrain.studies.explanation import noted

__all__ = ["EXPLANATIONS"]

_DISTANCE_OF_THE_TW = (
    "Distance of the two outlines (the sheet's, or boxes and a bar from [shapes]) at fifteen "
    "positions through the lift, the rocker turned about the shaft and the retainer lowered by "
    "the lift; the least counts. Negative where they overlap, by the depth."
)
_THE_LIFT_OF_THE_PO = "The lift of the position at which the outlines are nearest."

EXPLANATIONS = (
    noted(
        "interference",
        "rocker_to_retainer",
        "least clearance of the rocker's underside to the retainer",
        _DISTANCE_OF_THE_TW,
        "derived: distance of polygons (shapely)",
        "rocker_to_retainer",
    ),
    noted(
        "interference",
        "retainer_to_seal",
        "least clearance of the retainer to seal or guide",
        _DISTANCE_OF_THE_TW,
        "derived: distance of polygons (shapely)",
        "retainer_to_seal",
    ),
    noted(
        "interference",
        "rocker_to_stand",
        "least clearance of the rocker to its stand",
        _DISTANCE_OF_THE_TW,
        "derived: distance of polygons (shapely)",
        "rocker_to_stand",
    ),
    noted(
        "interference",
        "rocker_to_retainer_at",
        "valve lift at which that clearance is least",
        _THE_LIFT_OF_THE_PO,
        "derived: distance of polygons (shapely)",
    ),
    noted(
        "interference",
        "retainer_to_seal_at",
        "valve lift at which that clearance is least",
        _THE_LIFT_OF_THE_PO,
        "derived: distance of polygons (shapely)",
    ),
    noted(
        "interference",
        "rocker_to_stand_at",
        "valve lift at which that clearance is least",
        _THE_LIFT_OF_THE_PO,
        "derived: distance of polygons (shapely)",
    ),
)
