"""How the numbers of valve, piston and compression come about."""

from valvetrain.studies.explanation import noted

__all__ = ["EXPLANATIONS"]

_DERIVED_CRANK_AND = (
    "derived: crank and rod in closed form (method: Khurmi, example 15.5) against the valve lift"
)

EXPLANATIONS = (
    noted(
        "clearance",
        "clearance",
        "least clearance of valve to piston along the stem",
        "Gap at the overlap's top dead center with the valve shut, plus the piston's fall along the "
        "stem, less the valve's lift at the lash set; the least over the crank angles counts.",
        _DERIVED_CRANK_AND,
    ),
    noted(
        "clearance",
        "at_angle",
        "crank angle of that least clearance, after the overlap's top dead center",
        "Where the clearance is least.",
        _DERIVED_CRANK_AND,
    ),
    noted(
        "clearance",
        "measured",
        "least clearance from dial or clay readings, brought to the lash set",
        "The reading, with the lash at which it was taken brought to the lash set.",
        "measured",
    ),
    noted(
        "clearance",
        "measured_angle",
        "crank angle of the least measured clearance",
        "Where the readings, joined by a smooth curve, are least.",
        "measured",
    ),
    noted(
        "clearance",
        "judged",
        "clearance that intake_piston_clearance and exhaust_piston_clearance judge",
        "Measured where there is a reading, else worked out.",
        "definition",
    ),
    noted(
        "clearance",
        "relief_gap",
        "valve head to the wall of its relief, seen along the stem",
        "Relief radius less half the head's diameter, less the distance of the two centers.",
        "geometry",
        "relief_clearance",
    ),
    noted(
        "clearance",
        "valve_gap",
        "least gap between the intake and exhaust heads of the cylinder",
        "Distance of the two heads, each at its own lift, least over the overlap.",
        "derived: distance of the two discs",
        "valve_to_valve",
    ),
    noted(
        "clearance",
        "gap_angle",
        "crank angle at which the two heads are nearest",
        "Where that gap is least.",
        "derived",
    ),
    noted(
        "clearance",
        "static_ratio",
        "compression ratio from the whole stroke",
        "(Swept volume plus clearance volume) over clearance volume.",
        "definition",
    ),
    noted(
        "clearance",
        "effective_ratio",
        "compression ratio from the stroke left when the intake valve seats",
        "The same with the stroke counted from the intake's closing at its lash.",
        "definition; crank and rod in closed form",
    ),
)
