"""The plan as lines and tables: what to do in order, with what, how the engine stands before and after."""

import math
from collections import Counter
from collections.abc import Iterator, Mapping, Sequence

from valvetrain.answers.grid import grid, legend
from valvetrain.answers.table import SIGNS, Block, Sentence
from valvetrain.questions.plan.step import PartUsed
from valvetrain.questions.plan.study import PlanResult
from valvetrain.setup.units import brief, display_unit

__all__ = ["plan_tables"]

_LISTED = 3
_WIDTH = 80


def plan_tables(result: PlanResult, system: str) -> Iterator[Block]:
    """Say the plan, its parts, the verdicts before and after, what is left, what to measure first."""
    unit = display_unit("length", system)
    if result.steps:
        yield Sentence(f"Do, in this order ({unit})", strong=True)
    else:
        yield Sentence(
            "Nothing to do: no verdict asks for work that the parts or a machine shop can do.", strong=True
        )
    for number, step in enumerate(result.steps, 1):
        where = "" if step.shaft or not step.valves or len(step.valves) > 6 else f"{', '.join(step.valves)}: "
        why = f" ({step.why})" if step.why else ""
        yield Sentence(f"{where}{step.do}{why}", mark=f"{number:3d} [ ] ")
    if parts := _parts(result, system):
        yield Sentence(f"Parts: {parts}.")
    if result.steps:
        yield from _grid("Now", result.before, result.setup.valves)
    yield from _grid("When it is done", result.after, result.setup.valves)
    chance = f"{100 * result.probability_before:.0f} % -> {100 * result.probability_after:.0f} %"
    yield Sentence(f"Probability that every measured verdict is right: {chance} (JCGM 106).")
    if result.left:
        yield Sentence("Left when it is done", strong=True)
    yield from _left(result)
    if result.measure_first and result.left:
        wanted = "; ".join(
            f"{' and '.join(map(_called, one.keys))} of {', '.join(one.valves)}"
            for one in result.measure_first[:_LISTED]
        )
        yield Sentence(f"Measure first: {wanted}.")


def _left(result: PlanResult) -> Iterator[Block]:
    """Say what is left, the same reason once; what is not measured a line a valve."""
    alike: dict[tuple[str, str, str], list[str]] = {}
    missing: dict[str, dict[str, None]] = {}
    for each in result.left:
        if each.verdict == "unmeasured":
            keys = each.reason.partition(": ")[2].split(", ")
            missing.setdefault(each.valve or "engine", {}).update({_called(key): None for key in keys if key})
        else:
            alike.setdefault((each.question, each.verdict, each.reason), []).append(each.valve or "engine")
    for (name, verdict, reason), valves in alike.items():
        yield Sentence(f"{', '.join(valves)}, {name}: {SIGNS[verdict]}; {reason}", mark="    ")
    for valve, keys_of in missing.items():
        wanted = f" ({', '.join(keys_of)})" if keys_of else ": test the new spring"
        yield Sentence(f"{valve}: not measured{wanted}", mark="    ")


def _called(key: str) -> str:
    return key.rpartition(".")[2].replace("_", " ")


def _parts(result: PlanResult, system: str) -> str:
    """Count the parts that the plan takes and gives back."""
    used: Counter[tuple[str, float]] = Counter()
    for step in result.steps:
        for part in step.parts:
            used[part.item, round(part.thickness, 7) if math.isfinite(part.thickness) else math.nan] += (
                part.count
            )
    return "; ".join(
        _part(PartUsed(item, thick, count), system) for (item, thick), count in sorted(used.items()) if count
    )


def _part(part: PartUsed, system: str) -> str:
    size = "" if math.isnan(part.thickness) else f" {brief(part.thickness, 'length', system)}"
    word = f"{abs(part.count)} x {part.item}{size}"
    return word if part.count > 0 else f"{word} left over"


def _grid(title: str, verdicts: Mapping[str, Mapping[str, str]], valves: Sequence[str]) -> Iterator[Block]:
    """Lay out the worst verdicts of every question at every valve."""
    rows = {name: [own.get(valve, "") for valve in valves] for name, own in verdicts.items()}
    yield Sentence(title, strong=True)
    yield from map(Sentence, grid(rows, valves, _WIDTH))
    if meant := legend(rows):
        yield Sentence(meant)
