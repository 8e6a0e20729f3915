"""The lash against ramps and heat, and how the seating changes over a range of lashes."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from valvetrain.answers.output import dimensions, output
from valvetrain.mechanics.arrays import FloatArray
from valvetrain.questions.events.lash_found import LashResult, lash_study
from valvetrain.questions.events.lash_sweep import lashes_at_valves
from valvetrain.questions.lash.setting import LashSetting, lash_setting_study
from valvetrain.setup.setup import Setup

__all__ = ["LashAnswer", "LashTrend", "lash_answer"]


@dataclass(frozen=True)
class LashTrend:
    """What a range of lashes does; arrays [lashes, valves].

    Attributes:
        lashes: [m], as the sheet measures its lash, the same at every valve; or changes of each valve's own.
        changed: True where they are changes.
        values: quantity of `LashSetting` -> values [SI]; uncertainties: theirs.
    """

    lashes: FloatArray
    changed: bool
    values: dict[str, FloatArray]
    uncertainties: dict[str, FloatArray]

    @property
    def dimensions(self) -> dict[str, str]:
        """Dimension of each quantity."""
        return dimensions(LashSetting, *self.values)


@dataclass(frozen=True)
class LashAnswer(LashSetting):
    """The lash that is set, and more."""

    trend: LashTrend | None = output(None, "over other lashes, where they were asked for; else None", key="")
    found: LashResult = output(None, "lash and lobe lift against what is wanted and what was made", key="")
    shafts: Mapping[str, tuple[int, ...]] = output(
        None, "places of the valves on each rocker shaft; empty for one shaft", key=""
    )


def lash_answer(setup: Setup, lashes: Sequence[float] = (), *, changed: bool = False) -> LashAnswer:
    """Study the lash that is set; with `lashes` [m], ramps and speeds at each of them as well.

    With `changed` they are changes of every valve's own lash.
    """
    trend = None
    if lashes:
        each = lashes_at_valves(setup, np.array(lashes), changed=changed)
        results = [lash_setting_study(setup, lash) for lash in each]
        names = ("opening_left", "closing_left", "opening_speed", "closing_speed", "closing_velocity")
        trend = LashTrend(
            np.asarray(lashes, float),
            changed,
            {name: np.array([getattr(each, name).value for each in results]) for name in names},
            {name: np.array([getattr(each, name).uncertainty for each in results]) for name in names},
        )
    return LashAnswer(
        **vars(lash_setting_study(setup)), trend=trend, found=lash_study(setup), shafts=setup.shafts
    )
