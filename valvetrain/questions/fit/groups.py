"""Fitting all rockers at once: castings are shared, every shaft has its place and every valve its tip."""

import dataclasses
from collections.abc import Sequence
from dataclasses import dataclass

from valvetrain.mechanics.fit.linkage import LinkageFit, fitted
from valvetrain.parts.reading import BenchReading
from valvetrain.questions.fit.priors import Assumption, assumed
from valvetrain.questions.fit.readings import Gathered, gathered, measured_dimensions
from valvetrain.questions.fit.shared import Shared, shared_by
from valvetrain.setup.setup import Setup

__all__ = ["JointFit", "joint_fit"]


@dataclass(frozen=True)
class JointFit:
    """The fit of all rockers.

    Attributes:
        shared: which valves share what.
        fit, gathered: the fit and what went into it.
        assumptions: what was taken for granted.
    """

    shared: Shared
    fit: LinkageFit
    gathered: Gathered
    assumptions: tuple[Assumption, ...]

    def chosen(self, choice: Sequence[int]) -> "JointFit":
        """The same with one answer of each shaft, the most probable 0; the sheet holds one."""
        fit = self.fit
        wanted = []
        for shaft, place in enumerate(choice):
            wanted.append(fit.answers_of(shaft)[place].modes[0].crossing[shaft])
        modes = [mode for mode in fit.modes if mode.crossing == tuple(wanted)]
        # A combination too improbable to have been kept: the likeliest with most shafts as wanted.
        best = modes[0] if modes else max(fit.modes, key=lambda mode: _agreeing(mode.crossing, wanted))
        alone = dataclasses.replace(best, weight=1.0)
        return dataclasses.replace(self, fit=dataclasses.replace(fit, modes=(alone,)))


def _agreeing(crossing: Sequence[int], wanted: Sequence[int]) -> int:
    return sum(a == b for a, b in zip(crossing, wanted, strict=True))


def joint_fit(setup: Setup, bench: Sequence[BenchReading], by_role: bool = False) -> JointFit:
    """Fit the rockers of every shaft together.

    Raises:
        ValueError: see `linkage_fit.fitted`.
    """
    shared = shared_by(setup, by_role)
    priors, assumptions = assumed(setup, shared, measured_dimensions(setup, shared, bench))
    one = gathered(setup, shared, bench)
    fit = fitted(one.readings, priors)
    _refuse_contradictions(fit, one)
    return JointFit(shared, fit, one, assumptions)


def _refuse_contradictions(fit: LinkageFit, one: Gathered) -> None:
    """Raise where more than a third of the table's readings do not fit: no answer would rest on the rest."""
    table = [index for index, row in enumerate(one.bench) if row is not None]
    aside = [index for index in table if not fit.used[index]]
    if len(aside) > max(1, len(table) // 3):
        lines = sorted({row.line for row in (one.bench[index] for index in aside) if row is not None})
        listed = ", ".join(map(str, lines))
        raise ValueError(f"{len(aside)} of {len(table)} readings contradict the rest (lines {listed})")
