"""How the numbers of the lash come about."""

from valvetrain.studies.explanation import Explanation, noted

__all__ = ["EXPLANATIONS"]

_RAMP_LESS_TAKEUP_T = "(Ramp less take-up) times ratio, less the lash that the engine runs with."
_COMMON_PRACTICE_NO = "common practice, no source: ramp height x ratio - lash"

EXPLANATIONS = (
    noted(
        "lash",
        "cold_lash",
        "lash at the valve with the engine cold",
        "As set cold, or set hot less its growth.",
        "definition",
    ),
    Explanation(
        "hot_lash",
        "lash",
        "lash at the valve with the engine at running temperature, stopped",
        {"c": "lash:cold_lash", "g": "lash:growth"},
        (("hot_lash", "c + g"),),
        "definition",
        "As set hot, or set cold plus its growth.",
        "hot_lash",
    ),
    noted(
        "lash",
        "growth",
        "growth of the lash from cold to hot",
        "Free growth, coefficient times length times rise, of the shaft above the seat less the "
        "valve, plus ratio times that of the shaft above the cam less tappet and pushrod; each of its "
        "own material and temperature. A measured pair goes before it.",
        "derived; coefficients: Callister, Materials Science and Engineering, Table B.6",
    ),
    noted(
        "lash",
        "cold_to_set",
        "lash to set cold for the hot lash wanted",
        "Hot lash wanted less the growth.",
        "definition",
    ),
    noted(
        "lash",
        "ratio_at_opening",
        "pad drop per tappet rise where the lash is just taken up",
        "As rocker.ratio_at_opening, at the lash that the engine runs with; the nominal ratio where "
        "the linkage is not known.",
        "derived: loop closure",
    ),
    noted(
        "lash",
        "opening_ramp",
        "tappet lift at which the opening ramp ends",
        "As stated; else where the acceleration of the curve through the lift table leaves the ramp.",
        "derived",
    ),
    noted(
        "lash",
        "closing_ramp",
        "tappet lift at which the closing ramp begins, seen from the nose",
        "As stated; else where the acceleration of the curve through the lift table enters the ramp.",
        "derived",
    ),
    noted(
        "lash",
        "opening_left",
        "what is left of the opening ramp, at the valve",
        _RAMP_LESS_TAKEUP_T,
        _COMMON_PRACTICE_NO,
    ),
    noted(
        "lash",
        "closing_left",
        "what is left of the closing ramp, at the valve",
        _RAMP_LESS_TAKEUP_T,
        _COMMON_PRACTICE_NO,
    ),
    Explanation(
        "ramp_left",
        "lash",
        "what is left of the lesser ramp",
        {"o": "lash:opening_left", "c": "lash:closing_left"},
        (("ramp_left", "min(o, c)"),),
        "definition",
        "The lesser of opening_left and closing_left.",
        "ramp_left",
    ),
    noted(
        "lash",
        "least_lash",
        "least lash that keeps both ends on the ramps",
        "Ratio times the lift at which the ramp has begun, take-up counted.",
        "derived",
    ),
    noted(
        "lash",
        "greatest_lash",
        "greatest lash that keeps both ends on the ramps",
        "(The lower ramp less take-up) times ratio.",
        "derived",
    ),
    noted(
        "lash",
        "opening_velocity",
        "tappet velocity where the lash is taken up, over cam angle",
        "Slope of the lift curve at the tappet lift that takes the lash up.",
        "derived: slope of the smoothing spline",
    ),
    noted(
        "lash",
        "closing_velocity",
        "tappet velocity where the lash is given back, over cam angle",
        "Slope of the lift curve at the tappet lift that gives the lash back.",
        "derived: slope of the smoothing spline",
    ),
    noted(
        "lash",
        "opening_speed",
        "speed at which the pad meets the tip, at the redline",
        "Opening velocity times half the crank speed times the ratio.",
        "derived",
    ),
    noted(
        "lash",
        "closing_speed",
        "speed at which the valve meets its seat, at the redline",
        "Closing velocity times half the crank speed times the ratio.",
        "derived",
    ),
    noted(
        "lash",
        "turns",
        "turns of the adjuster back from zero lash, locknut tightened",
        "(Lash wanted less what the locknut adds) over thread pitch times ratio.",
        "common practice, no source: turns = lash/(thread pitch x ratio)",
    ),
)
