"""How the numbers of the lash come about."""

from collections.abc import Callable, Mapping
from dataclasses import replace
from typing import Any

from valvetrain.answers.explanation import Explanation, Plain
from valvetrain.questions.lash.explain_growth import GROWTH
from valvetrain.questions.lash.explain_ramps import RAMPS, RUNNING
from valvetrain.questions.rocker.explain_linkage import ARMS, CLOSURE, LINKAGE_NOTE, ratio_at
from valvetrain.setup.linkage_columns import lobe_lift_as_made
from valvetrain.setup.setup import Setup

__all__ = ["EXPLANATIONS"]


def _state(
    own: Explanation, as_set: str, other: str
) -> Callable[[Setup, Mapping[str, Any], int], Explanation]:
    """Explain the lash in one state: as set in it, or from the other state by the growth."""

    def told(setup: Setup, results: Mapping[str, Any], index: int) -> Explanation:
        state = setup.trains[index].lash.state
        if state == as_set:
            return replace(
                own, symbols={"g": "rocker:lash"}, steps=((own.name, "g"),), note=f"As set {state}."
            )
        if state is None:
            note = "The sheet does not say whether the lash was set cold or hot (lash.state)."
            return replace(own, symbols={"g": "rocker:lash"}, steps=(), note=note)
        return replace(own, note=f"Set {state}, so by its growth.")

    return told


_COLD = Explanation(
    "cold_lash",
    "lash",
    "lash at the valve with the engine cold",
    {"g": "rocker:lash", "D": "lash:growth"},
    (("cold_lash", "g - D"),),
    "definition",
)
_HOT = Explanation(
    "hot_lash",
    "lash",
    "lash at the valve with the engine at running temperature, stopped",
    {"g": "rocker:lash", "D": "lash:growth"},
    (("hot_lash", "g + D"),),
    "definition",
    "",
    "hot_lash",
)


def _turns(setup: Setup, results: Mapping[str, Any], index: int) -> Explanation:
    """Turns; a lash wanted at the pushrod counts through the ratio."""
    if setup.trains[index].lash.at != "pushrod":
        return _TURNS
    return replace(_TURNS, steps=(("turns", "(W*i - either(n, 0))/(P*i)"),))


_TURNS = Explanation(
    "turns",
    "lash",
    "turns of the adjuster back from zero lash, locknut tightened",
    {
        "W": "lash.wanted",
        "n": "rocker.locknut_gain",
        "P": "rocker.thread_pitch",
        "i": "lash:ratio_at_opening",
    },
    (("turns", "(W - either(n, 0))/(P*i)"),),
    "common practice, no source: turns = lash/(thread pitch x ratio)",
    "n: lash that tightening the locknut adds; none where left out.",
)


def _made(setup: Setup, result: Any, index: int) -> float:
    return float(lobe_lift_as_made(setup).value[index])


def _made_at(setup: Setup, index: int) -> str:
    return lobe_lift_as_made(setup).source[index] or "not in the sheet, lobe.lift"


EXPLANATIONS = (
    replace(_COLD, at=_state(_COLD, "cold", "hot")),
    replace(_HOT, at=_state(_HOT, "hot", "cold")),
    GROWTH,
    Explanation(
        "cold_to_set",
        "lash",
        "lash to set cold for the hot lash wanted",
        {"w": "hot.wanted_hot_lash", "D": "lash:growth"},
        (("cold_to_set", "w - D"),),
        "definition",
    ),
    Explanation(
        "ratio_at_opening",
        "lash",
        "pad drop per tappet rise where the lash is just taken up",
        {**ARMS, "R": RUNNING, "n": "rocker.nominal_ratio"},
        (
            *ratio_at("r + g - h - R", "i"),
            ("ratio_at_opening", "where(known(R), where(R >= 0, either(i, n), n), n)"),
        ),
        CLOSURE,
        "At the lash that the engine runs with; the nominal ratio where linkage or lash is not known. "
        f"{LINKAGE_NOTE}",
    ),
    *RAMPS,
    replace(_TURNS, at=_turns),
    Explanation(
        "lash_wanted",
        "lash",
        "lash that the sheet asks for, as it is measured",
        {"W": "lash.wanted"},
        (("lash_wanted", "W"),),
        "given",
    ),
    Explanation(
        "lash_deviation",
        "lash",
        "lash found less the lash wanted, as it is measured",
        {"q": "lash.lash", "W": "lash.wanted"},
        (("lash_deviation", "q - W"),),
        "definition",
        "",
        "lash_deviation",
    ),
    Explanation(
        "lobe_wear",
        "lash",
        "lift that the lobe should have less the lift measured at this valve",
        {
            "s": Plain(
                "lash", "lobe lift as made: written, or the top of its table", "length", _made, _made_at
            ),
            "m": "lobe.measured_lift",
        },
        (("lobe_wear", "s - m"),),
        "definition",
        "",
        "lobe_wear",
    ),
)
