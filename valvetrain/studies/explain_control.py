"""How the numbers of valve control come about."""

from valvetrain.studies.explanation import Explanation, noted

__all__ = ["EXPLANATIONS"]

_RIGID = (
    "derived: rigid train, force of the lobe on the tappet = 0; masses brought to the valve by "
    "the square of the ratio"
)
_THE_LIMIT_SPEED_WO = "The limit speed worked out again with the change, less the limit speed now."
_NOSE_LOAD_WORKED_O = "Nose load worked out again with the change, less nose load now."

EXPLANATIONS = (
    noted(
        "control",
        "limit_speed",
        "crank speed at which the train first leaves its lobe",
        "Least speed over the nose at which the spring no longer holds what the masses need: speed "
        "squared = spring force over mass times the lift curve's acceleration.",
        _RIGID,
    ),
    noted(
        "control",
        "limit_angle",
        "crank angle from the lobe's center at which it leaves",
        "Where that speed is least.",
        _RIGID,
    ),
    noted(
        "control",
        "limit_lift",
        "valve lift at which it leaves",
        "Lift at that angle.",
        _RIGID,
    ),
    noted(
        "control",
        "control_margin",
        "limit speed over the redline, less 1",
        "Limit speed over redline, less 1.",
        "definition",
        "control_margin",
    ),
    noted(
        "control",
        "seat_load",
        "spring load on the seat, as the spring stands",
        "As spring.seat_load.",
        "definition",
    ),
    noted(
        "control",
        "seat_load_needed",
        "seat load that just holds the train to the redline",
        "Load needed at the worst angle at the redline, less what the rate adds at that lift.",
        _RIGID,
    ),
    Explanation(
        "seat_load_spare",
        "control",
        "seat load beyond what is needed",
        {"s": "spring:seat_load", "n": "control:seat_load_needed"},
        (("seat_load_spare", "s - n"),),
        "definition",
        "Seat load less seat load needed.",
    ),
    noted(
        "control",
        "nose_load",
        "greatest force of lobe on tappet, engine turned slowly",
        "Open load times the ratio, along the tappet.",
        "derived: virtual work",
    ),
    noted(
        "control",
        "valve_side_mass",
        "valve, retainer, keepers and the counted share of the spring",
        "Sum; a third of the spring counts.",
        "Rothbart (ed.), Cam Design Handbook (2004), chapter 11",
    ),
    noted(
        "control",
        "rocker_inertia",
        "inertia of the rocker about its shaft",
        "As given, or from its mass and arms.",
        "derived; a bar of the rocker's arms",
    ),
    noted(
        "control",
        "follower_mass",
        "pushrod and tappet",
        "Sum; a pushrod not weighed from its size.",
        "definition",
    ),
    noted(
        "control",
        "gain_by_seat_load",
        "crank speed gained by 10 % more seat load",
        _THE_LIMIT_SPEED_WO,
        _RIGID,
    ),
    noted(
        "control",
        "gain_by_rate",
        "crank speed gained by 10 % more spring rate",
        _THE_LIMIT_SPEED_WO,
        _RIGID,
    ),
    noted(
        "control",
        "gain_by_valve_side",
        "crank speed gained by 10 % less mass at the valve",
        _THE_LIMIT_SPEED_WO,
        _RIGID,
    ),
    noted(
        "control",
        "gain_by_rocker",
        "crank speed gained by 10 % less inertia of the rocker",
        _THE_LIMIT_SPEED_WO,
        _RIGID,
    ),
    noted(
        "control",
        "gain_by_follower",
        "crank speed gained by 10 % less mass of pushrod and tappet",
        _THE_LIMIT_SPEED_WO,
        _RIGID,
    ),
    noted(
        "control",
        "nose_load_by_seat_load",
        "load at the nose that 10 % more seat load adds",
        _NOSE_LOAD_WORKED_O,
        "derived: virtual work",
    ),
    noted(
        "control",
        "nose_load_by_rate",
        "load at the nose that 10 % more spring rate adds",
        _NOSE_LOAD_WORKED_O,
        "derived: virtual work",
    ),
    noted(
        "control",
        "spring_bow",
        "how far the spring stays below the straight line taken for it",
        "Load on the line less the spring's own, about half lift.",
        "definition",
    ),
)
