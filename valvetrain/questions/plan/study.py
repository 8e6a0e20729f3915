"""One joint plan: decided stage by stage in the order of assembly, proved by asking every question again."""

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from valvetrain.answers.output import output
from valvetrain.answers.table import worst
from valvetrain.answers.verdict import Check
from valvetrain.questions.asking import asked
from valvetrain.questions.next.checks import NextMeasurement, next_measurements
from valvetrain.questions.plan import stages
from valvetrain.questions.plan.probability import log_conformity
from valvetrain.questions.plan.step import Step
from valvetrain.questions.registry import QUESTIONS, question
from valvetrain.questions.rocker.stand_plan import ShaftPlan, shim_choices
from valvetrain.setup.editing.changed import changed
from valvetrain.setup.setup import Setup

__all__ = ["Left", "PlanResult", "plan_study"]

# Of the stock's stand shims so many are asked of in full where the first choice leaves a verdict unsure.
_TRIED = 4

Verdicts = Mapping[str, Mapping[str, str]]


@dataclass(frozen=True)
class Left:
    """What is not right when the plan is carried out."""

    valve: str = output(None, "the valve; empty where it concerns the engine")
    question: str = output(None, "the question")
    verdict: str = output(None, "its verdict then")
    reason: str = output(None, "why")


@dataclass(frozen=True)
class PlanResult:
    """The plan, and how the engine stands before and after it."""

    setup: Setup = output(None, "the engine as it is", key="")
    then: Setup = output(None, "the engine as it will be", key="")
    steps: tuple[Step, ...] = output(None, "the steps, in the order of assembly")
    before: Verdicts = output(None, "question -> valve -> worst verdict now")
    after: Verdicts = output(None, "the same when the plan is carried out")
    probability_before: float = output("fraction", "probability that every measured verdict is right now")
    probability_after: float = output("fraction", "the same when the plan is carried out")
    left: tuple[Left, ...] = output(None, "what is then not right, and why")
    measure_first: tuple[NextMeasurement, ...] = output(None, "what to measure first", key="")
    checks_after: Mapping[str, Sequence[Check]] = output(None, "every verdict then", key="")

    @property
    def edits(self) -> dict[str, str | None]:
        """Every key that the plan changes, with what stands there afterward."""
        found: dict[str, str | None] = {}
        for step in self.steps:
            found |= step.edits
        return found


def plan_study(setup: Setup, system: str | None = None) -> PlanResult:
    """Plan the whole engine.

    Each stage is decided on the engine as the stages before it leave it, so that what a stand shim does to
    sweep, adjuster and spring is known when these are decided; at the end every question is asked of the
    engine as it will be.

    Args:
        setup: the engine.
        system: units of the words; the sheet's own if left out.

    Raises:
        Refused: a question cannot be answered.
    """
    units = system or setup.units
    names = tuple(name for name in QUESTIONS if question(name).in_check)
    results = asked(setup, names)
    checks = {name: question(name).checks(setup, results, units) for name in names}
    state = _State(setup, results, checks, units)
    state.take(stages.tip_steps(setup, results["rocker"], checks["rocker"], units))
    _stand_shims(state)
    state.ask("rocker", "center")
    state.take(stages.rocker_shim_steps(state.setup, state.results["center"], units))
    state.take(stages.cam_steps(state.setup, _every(checks), units))
    state.ask("rocker", "spring")
    state.take(stages.spring_steps(state.setup, state.results["spring"], units))
    state.ask("pushrod")
    state.take(stages.pushrod_steps(state.setup, state.results["pushrod"], units))
    moved = {
        valve
        for step in state.steps
        if step.kind in ("valve work", "stand shims", "pushrods", "cam")
        for valve in step.valves
    }
    state.take(stages.lash_steps(state.setup, moved, units))
    state.ask(*names)
    after = state.checks
    measure = next_measurements(state.setup, [check for own in after.values() for check in own])
    return PlanResult(
        setup=setup,
        then=state.setup,
        steps=tuple(state.steps),
        before=_worst(setup, checks),
        after=_worst(setup, after),
        probability_before=math.exp(log_conformity(_every(checks))),
        probability_after=math.exp(log_conformity(_every(after))),
        left=tuple(_left(after, state.steps)),
        measure_first=tuple(measure),
        checks_after=after,
    )


class _State:
    """The engine as the steps so far leave it, with what is known of it."""

    def __init__(
        self, setup: Setup, results: dict[str, Any], checks: dict[str, list[Check]], system: str
    ) -> None:
        self.setup, self.results, self.checks, self.system = setup, results, checks, system
        self.steps: list[Step] = []
        self._stale = False

    def take(self, steps: Iterable[Step]) -> None:
        """Carry out steps in the setup."""
        edits: dict[str, str | None] = {}
        for step in steps:
            self.steps.append(step)
            edits |= step.edits
        if edits:
            self.setup = changed(self.setup, edits)
            self._stale = True

    def ask(self, *names: str) -> None:
        """Ask questions again where the setup has changed since."""
        if not self._stale:
            return
        found = asked(self.setup, names)
        self.results = {**self.results, **found}
        for name in names:
            self.checks = {**self.checks, name: question(name).checks(self.setup, found, self.system)}
        self._stale = set(names) != set(self.checks) and self._stale


def _stand_shims(state: _State) -> None:
    """Choose every shaft's stand shim: the one with which its verdicts are most probably right."""
    state.ask("rocker")
    for place in range(len(state.results["rocker"].stand.shafts)):
        plan: ShaftPlan = state.results["rocker"].stand.shafts[place]
        if not plan.needed or not plan.group.deciding:
            continue
        fitted = state.setup.column("shaft", "stand_shim").value[list(plan.group.members)]
        known = fitted[np.isfinite(fitted)]
        choices = shim_choices(state.setup, float(np.median(known)) if known.size else math.nan)
        first = (plan.change, plan.stack, plan.removed)
        near = sorted(choices, key=lambda one: (abs(one[0] - plan.exact), len(one[1])))[:_TRIED]
        best = _most_probable(state, plan, [first, *(one for one in near if one != first)])
        if best is not None:
            state.take([best])
            state.ask("rocker")


def _most_probable(
    state: _State, plan: ShaftPlan, choices: Sequence[tuple[float, tuple[float, ...], bool]]
) -> Step | None:
    """Return the step whose rocker verdicts are most probably right; at once one that makes all right."""
    own = {state.setup.valves[index] for index in plan.group.deciding}

    def probability(checks: Sequence[Check]) -> tuple[float, bool]:
        ours = [check for check in checks if check.valve in own and check.verdict != "unmeasured"]
        return log_conformity(ours), all(check.verdict == "ok" for check in ours)

    best, best_value = None, probability(state.checks["rocker"])[0]
    for change, stack, removed in choices:
        if abs(change) < 1e-9:
            continue
        step = stages.stand_steps(state.setup, plan, change, stack, removed, state.system)
        tried = changed(state.setup, step.edits)
        value, right = probability(question("rocker").checks(tried, asked(tried, ("rocker",)), state.system))
        if right:
            return step
        if value > best_value + 1e-6:
            best, best_value = step, value
    return best


def _every(checks: Mapping[str, Sequence[Check]]) -> list[Check]:
    return [check for own in checks.values() for check in own]


def _worst(setup: Setup, checks: Mapping[str, Sequence[Check]]) -> dict[str, dict[str, str]]:
    """Return the worst verdict of every question at every valve that it judges."""
    found: dict[str, dict[str, str]] = {}
    for name, own in checks.items():
        for valve in setup.valves:
            verdicts = [check.verdict for check in own if check.valve == valve]
            if verdicts:
                found.setdefault(name, {})[valve] = worst(verdicts)
    return found


def _left(checks: Mapping[str, Sequence[Check]], steps: Sequence[Step]) -> Iterable[Left]:
    """List what is still not right, once a valve and question, with the reason."""
    replaced = {valve for step in steps if step.kind == "springs" for valve in step.valves}
    for name, own in checks.items():
        seen = set()
        for check in own:
            if check.verdict == "ok" or check.valve in seen:
                continue
            seen.add(check.valve)
            if check.verdict == "unmeasured":
                reason = f"not measured: {', '.join(check.missing)}" if check.missing else "not measured"
            elif name == "spring" and check.valve in replaced:
                reason = "the new spring is not measured yet: test it and fit it by its load"
            elif check.verdict == "unsure":
                reason = check.advice
            else:
                reason = check.advice or "no part in stock puts it right"
            yield Left(check.valve or "", name, check.verdict, reason)
