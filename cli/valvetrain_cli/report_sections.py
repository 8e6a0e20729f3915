"""The report's sections: what every question found, and all that stands behind it."""

import dataclasses
import math
from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, Any

from valvetrain.answers.question import Question
from valvetrain.answers.table import Table
from valvetrain.answers.verdict import Check
from valvetrain.report.model import Drawing, Explained, Section, Verdict
from valvetrain.report.order import allowed, in_words
from valvetrain.setup.setup import Setup
from valvetrain.setup.units import shown, written_unit
from valvetrain_cli.recorded import recorded

if TYPE_CHECKING:
    from valvetrain.answers.explanation import Explained as HowAt

__all__ = ["section"]

COUNTED = (("out", "out"), ("unsure", "unsure"), ("unmeasured", "not measured"), ("ok", "ok"))


def section(
    setup: Setup,
    question: Question,
    results: Mapping[str, Any],
    checks: list[Check],
    drawing: Drawing | None,
    system: str,
    proof: bool = True,
) -> Section:
    """Collect one question's section, with `proof` its formulas and budgets of doubt."""
    result = results[question.name]

    return Section(
        name=question.name,
        question=question.help,
        verdicts=tuple(_verdict(check, system) for check in checks if check.verdict != "ok"),
        summary=_summary(checks),
        blocks=_blocks(question, result, checks, system),
        limits=_limits(checks, system),
        budget=_budget(result, system) if proof else None,
        drawing=drawing,
        explained=_explained(setup, results, question.name, system) if proof else (),
        cautions=question.cautions,
    )


def _blocks(question: Question, result: Any, checks: list[Check], system: str) -> tuple[Table | str, ...]:
    """Take what the question says, its details too."""
    own: Any = question
    if not hasattr(own, "tables"):  # its tables are still printed, not described

        def prints() -> None:
            own.table(result, checks, system)
            if own.detail is not None:
                own.detail(result, checks, system)

        return recorded(prints)
    blocks = [*question.tables(result, checks, system)]
    if question.details is not None:
        blocks += question.details(result, checks, system)
    return tuple(block.spelled if isinstance(block, Table) else block.text.strip() for block in blocks)


def _verdict(check: Check, system: str) -> Verdict:
    return Verdict(
        valve=check.valve or "",
        quantity=check.quantity,
        value=shown(check.value, check.dimension, system, check.uncertainty),
        allowed=allowed(check, system),
        verdict=check.verdict,
        basis=check.basis,
        advice=in_words(check.advice),
    )


def _summary(checks: Sequence[Check]) -> str:
    """Count the verdicts."""
    if not checks:
        return "Nothing is judged here."
    counts = [(sum(check.verdict == verdict for check in checks), words) for verdict, words in COUNTED]
    return f"{len(checks)} verdicts: {', '.join(f'{count} {words}' for count, words in counts if count)}."


def _limits(checks: Sequence[Check], system: str) -> Table | None:
    """Put the limits and their basis into a table, one row where all valves have the same."""
    rows: dict[tuple[str, str, str], dict[str, int]] = {}
    for check in checks:
        counts = rows.setdefault((check.quantity, allowed(check, system), check.basis), {})
        counts[check.verdict] = counts.get(check.verdict, 0) + 1
    if not rows:
        return None
    return Table(
        "Limits, and what they rest on",
        ("what is judged", "allowed", "basis", "verdicts"),
        tuple(
            (*key, ", ".join(f"{counts[verdict]} {words}" for verdict, words in COUNTED if verdict in counts))
            for key, counts in rows.items()
        ),
        words=frozenset({0, 1, 2, 3}),
    )


def _budget(result: Any, system: str) -> Table | None:
    """Return the uncertainty budget as `--budget` prints it."""
    from valvetrain_cli.doubt import print_budget

    if not dataclasses.is_dataclass(result):
        return None
    table = recorded(lambda: print_budget(result, system))[0]
    if not isinstance(table, Table) or not table.rows:
        return None
    return dataclasses.replace(table, words=frozenset({0, 1, 3}))


def _explained(setup: Setup, results: Mapping[str, Any], name: str, system: str) -> tuple[Explained, ...]:
    """Explain every number of one question of which the program knows the formula."""
    from valvetrain.answers.explanation import explained, quantity_in
    from valvetrain.questions.registry import explanations

    found = []
    for (question, quantity), each in explanations().items():
        if question != name or not each.questions <= results.keys():
            continue
        answers = [explained(setup, results, each, valve, system) for valve in setup.valves]
        if all(math.isnan(answer.value) for answer in answers):
            continue
        own = quantity_in(results[question], quantity, len(setup.valves))
        unit = written_unit(own.dimension, system)
        words = quantity.replace("_", " ")
        # Valves whose number comes about in one way share a table.
        ways = dict.fromkeys(_way(answer) for answer in answers)
        for way in ways:
            alike = [answer for answer in answers if _way(answer) == way]
            how = alike[0].explanation
            rows = tuple(
                (answer.valve, *(one.written for one in answer.inputs), answer.written) for answer in alike
            )
            title = words if len(ways) == 1 else f"{words} at {', '.join(answer.valve for answer in alike)}"
            table = Table(
                f"Inputs and result: {words}{f' [{unit}]' if unit else ''}",
                ("valve", *how.symbols, words),
                tuple(tuple(cell.replace("unmeasured", "-") for cell in row) for row in rows),
            )
            symbols = tuple(
                (
                    symbol,
                    alike[0].inputs[place].meaning,
                    _sources([one.inputs[place].source for one in alike]),
                )
                for place, symbol in enumerate(how.symbols)
            )
            found.append(Explained(title, how.doc, how.steps, how.publication, how.note, symbols, table))
    return tuple(found)


def _way(answer: "HowAt") -> tuple[object, ...]:
    """What tells one way to a number from another: its steps, symbols and note."""
    return answer.explanation.steps, tuple(answer.explanation.symbols), answer.explanation.note


def _sources(sources: Sequence[str]) -> str:
    """Name where an input stands; several places are the table's rows."""
    places = list(dict.fromkeys(sources))
    return places[0] if len(places) == 1 else f"{places[0]}, and so on to {places[-1]}"
