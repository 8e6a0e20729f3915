"""The report's page: every question of the sheet asked, its section collected, its plot drawn."""

import importlib.metadata
from collections.abc import Callable, Mapping, Sequence
from pathlib import Path
from typing import Any

import numpy as np

from valvetrain.answers.question import Question
from valvetrain.answers.table import worst
from valvetrain.answers.verdict import Check
from valvetrain.questions.asking import asked
from valvetrain.questions.registry import QUESTIONS, question
from valvetrain.report.card import bench_card
from valvetrain.report.model import Drawing, Glance, Page
from valvetrain.report.moving import moving_data
from valvetrain.report.order import stages
from valvetrain.setup.setup import Setup
from valvetrain.setup.units import shown
from valvetrain_cli.doubt import drawn, draws_for
from valvetrain_cli.report_sections import section

__all__ = ["report_page"]

Progress = Callable[[str, float], None]


def report_page(
    setup: Setup, system: str, form: str, progress: Progress, workers: int = 2, proof: bool = True
) -> Page:
    """Make the page.

    Args:
        setup: the setup.
        system: "inch" or "metric".
        form: of the plots: "svg" or "pdf".
        progress: told what is being done, and which share is done.
        workers: processes that draw beside this one; 0 draws here.
        proof: formulas and budgets of doubt too.
    """
    progress("studies", 0.0)
    questions = [question(name) for name in QUESTIONS]
    more = {each.name: each.report_options(setup) for each in questions if each.report_options is not None}
    with drawn(draws_for(setup, None), 0):
        results = asked(setup, tuple(each.name for each in questions), of_each=more)
    checks = {each.name: each.checks(setup, results, system) for each in questions}
    # A question without a verdict and without a known number is one of which the sheet says nothing.
    told = [each for each in questions if checks[each.name] or _known(results[each.name])]
    pictures = _drawn(setup, results, told, system, form, workers)
    sections = []
    for place, each in enumerate(told):
        progress(each.name, 0.2 + 0.7 * place / len(told))
        drawing = pictures[each.name]() if each.name in pictures else None
        sections.append(section(setup, each, results, checks[each.name], drawing, system, proof))
    progress("moving drawing", 0.9)
    every = [check for own in checks.values() for check in own]
    return Page(
        title=setup.title,
        sheet=_sheet(setup),
        version=importlib.metadata.version("valvetrain"),
        facts=_facts(setup, system),
        headline=_headline(setup, every),
        glance=_glance(setup, told, checks),
        stages=stages(setup, results, checks, system),
        card=bench_card(setup, results, checks, system),
        sections=tuple(sections),
        cautions=tuple(dict.fromkeys(caution for each in told for caution in each.cautions)),
        not_asked=tuple(each.name for each in questions if each not in told),
        verdicts=tuple(check.verdict for check in every),
        moving=_moving(setup, results, system),
    )


def _known(result: Any) -> bool:
    """Say whether a result holds a number that the sheet gives."""
    from valvetrain.answers.budget_shares import named_quantities

    return any(np.isfinite(quantity.value).any() for _, quantity in named_quantities(result))


def _drawn(
    setup: Setup,
    results: Mapping[str, Any],
    questions: Sequence[Question],
    system: str,
    form: str,
    workers: int,
) -> dict[str, Callable[[], Drawing | None]]:
    """Start to draw every question's plot; what is returned waits for one when called."""
    from valvetrain.report.beside import beside

    def job(each: Question) -> Callable[[], Drawing | None]:
        def draw() -> Drawing | None:
            from valvetrain.report.figures import drawing_of, uncollected

            with uncollected():
                figure = (each.report_figure or each.figure)(setup, results, system)
                return None if figure is None else drawing_of(figure, form)

        return draw

    return beside({each.name: job(each) for each in questions}, workers)


def _facts(setup: Setup, system: str) -> tuple[str, ...]:
    """Describe the engine in a few words."""
    engine = setup.engine
    facts = [f"{engine.cylinders} cylinders, {len(setup.valves)} valves"]
    for name in ("bore", "stroke"):
        value = getattr(engine, name)
        if value is not None:
            facts.append(f"{name} {shown(value.value, 'length', system)}")
    if engine.redline is not None:
        facts.append(f"redline {shown(engine.redline.value, 'rotation', system)}")
    return (*facts, f"sheet {_sheet(setup)}")


def _sheet(setup: Setup) -> str:
    """Name the sheet by its folder: where that lies on this machine is nothing to a reader of the page."""
    path = Path(setup.sheet).resolve()
    if path.suffix == ".toml":
        return path.parent.name if path.name == "setup.toml" else f"{path.parent.name}/{path.name}"
    return path.name


def _headline(setup: Setup, checks: Sequence[Check]) -> str:
    """Say in a sentence or two how the engine stands."""
    own = {valve: worst([each.verdict for each in checks if each.valve == valve]) for valve in setup.valves}
    parts = []
    for verdict, words in (
        ("out", "to put right"),
        ("unsure", "unsure: measure better"),
        ("unmeasured", "not measured"),
    ):
        valves = [valve for valve, found in own.items() if found == verdict]
        if valves:
            parts.append(f"{len(valves)} {words} ({', '.join(valves)})")
    whole = [check for check in checks if check.valve is None and check.verdict == "out"]
    if whole:
        parts.append(f"{len(whole)} of the whole engine to put right")
    if not checks:
        return "The sheet says too little for any verdict."
    right = sum(found == "ok" for found in own.values())
    if not parts:
        return f"All {len(own)} valves are right in every question asked."
    return f"Of {len(own)} valves {right} right in every question asked; {'; '.join(parts)}."


def _glance(setup: Setup, questions: Sequence[Question], checks: Mapping[str, Sequence[Check]]) -> Glance:
    """Take the worst verdict of every question at every valve."""
    rows = []
    for each in questions:
        found = {
            valve: [check.verdict for check in checks[each.name] if check.valve == valve]
            for valve in setup.valves
        }
        if any(found.values()):
            rows.append((each.name, each.help, tuple(worst(own) if own else "" for own in found.values())))
    return Glance(setup.valves, tuple(rows))


def _moving(setup: Setup, results: Mapping[str, Any], system: str) -> dict[str, Any]:
    from valvetrain.questions.control.moving_train import moving_train_study

    return moving_data(setup, moving_train_study(setup, results["rocker"], results["spring"]), system)
