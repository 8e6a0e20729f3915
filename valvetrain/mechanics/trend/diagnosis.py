"""What the record of a valve says, and when to look again."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from valvetrain.mechanics.arrays import ArrayLike, FloatArray
from valvetrain.mechanics.guards import positive
from valvetrain.mechanics.trend.wear import CANNOT_TELL, FALLING, RISING, STEADY

__all__ = ["AS_THE_REST", "Diagnosis", "diagnoses", "next_inspection"]

AS_THE_REST = "wears as the rest"
"""Name of what a valve's record says where all its fellows move alike: even wear, told once for all."""

_STATES = (RISING, STEADY, FALLING, CANNOT_TELL)


@dataclass(frozen=True)
class Diagnosis:
    """One thing that the record of a valve says.

    Attributes:
        name: what it is.
        reason: on what it rests.
        sure: False where another cause is left open, and the reason says what to measure.
    """

    name: str
    reason: str
    sure: bool


def diagnoses(
    lash: str, lift: str, turned: bool | None = None, stands_out: Sequence[str] = ()
) -> tuple[Diagnosis, ...]:
    """What one valve's record says, by the rules of the trade (common practice, no source).

    Lash is set on the base circle, so a worn lobe nose does not show in it.

    Args:
        lash, lift: RISING, STEADY, FALLING or CANNOT_TELL: growth of the lash, and the lobe lift measured.
        turned: whether the pushrod's mark was seen to move; None if nobody looked.
        stands_out: the quantities ("lash", "lift") in which the valve differs from the rest of the set.

    Returns:
        at least one diagnosis, the gravest first.

    Raises:
        ValueError: an unknown state.
    """
    for name, state in (("lash", lash), ("lift", lift)):
        if state not in _STATES:
            raise ValueError(f"state of the {name} is {state!r}: one of {', '.join(_STATES)} is allowed")
    found: list[Diagnosis] = []
    if lift == FALLING:
        with_lash = {
            STEADY: "the lift falls while the lash stays",
            CANNOT_TELL: "the lift falls; the lash record cannot tell",
            RISING: "the lift falls while the lash grows; a lift read at the valve over the lash falls "
            "with it: read it at the pushrod",
            FALLING: "the lift falls while the lash closes",
        }[lash]
        found.append(Diagnosis("lobe nose wear", with_lash, sure=lash != RISING))
    if lash == RISING:
        reason = {
            STEADY: "the lash grows while the lift stays",
            CANNOT_TELL: "the lash grows; measure the lobe lift to know whether the lobe is sound",
            FALLING: "the lash grows too: base circle, tappet or train wear with the nose",
            RISING: "the lash grows; the lift reading grows, which no wear does: measure it again",
        }[lift]
        found.append(Diagnosis("tappet, pad, cup or pushrod wear", reason, sure=lift == STEADY))
    if lash == FALLING:
        found.append(
            Diagnosis(
                "seat recession",
                "the lash closes: the valve sinks into its seat, or its head stretches",
                True,
            )
        )
    if lift == RISING:
        found.append(
            Diagnosis("doubtful lift reading", "lobe lift grows, which no wear does: measure it again", False)
        )
    if turned is False:
        found.append(
            Diagnosis(
                "tappet not turning", "the pushrod's mark stayed put: a warning, not a proof of wear", False
            )
        )
    told = {quantity for quantity, state in (("lash", lash), ("lift", lift)) if state in (RISING, FALLING)}
    for quantity in stands_out:
        if quantity not in told:
            found.append(
                Diagnosis(
                    f"{quantity} unlike the rest", f"its {quantity} moves otherwise than the set's", False
                )
            )
    if CANNOT_TELL in (lash, lift):
        missing = " and ".join(n for n, s in (("lash", lash), ("lift", lift)) if s == CANNOT_TELL)
        found.append(Diagnosis("cannot tell", f"too few or too rough readings of {missing}", False))
    if not found:
        found.append(Diagnosis("no change found", "lash and lift both stay", True))
    return tuple(found)


def next_inspection(
    worn: ArrayLike, rate: ArrayLike, rate_uncertainty: ArrayLike, limit: ArrayLike, longest: ArrayLike
) -> FloatArray:
    """Time until the next look: half of what is left at the fastest believable rate, and no more than usual.

    Args:
        worn: change so far in the direction of wear [value]; rate: its slope [value per time].
        rate_uncertainty: standard uncertainty of the rate; twice it is added.
        limit: change at which to act [value], > 0; longest: usual interval [time], > 0.

    Returns:
        [time] from the last reading, 0 where the limit is reached; NaN where the rate is unknown: keep to the
        usual interval or shorter then.

    Raises:
        ValueError: a limit or interval <= 0.
    """
    end, usual = np.asarray(limit, float), np.asarray(longest, float)
    positive("wear limit", end, "", finite=False)
    positive("longest interval", usual, "", finite=False)
    fastest = np.asarray(rate, float) + 2 * np.asarray(rate_uncertainty, float)
    left = np.maximum(end - np.asarray(worn, float), 0.0)
    with np.errstate(divide="ignore", invalid="ignore"):
        time = np.where(left == 0, 0.0, np.where(fastest > 0, 0.5 * left / fastest, np.inf))
    return np.where(np.isnan(fastest) | np.isnan(left), np.nan, np.minimum(time, usual))
