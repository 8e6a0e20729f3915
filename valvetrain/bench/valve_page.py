"""One valve's page: what every question found there, limits, doubt, picture, explanation, moving drawing."""

import math
from typing import Any

from valvetrain.answers.explanation import Explained, explained
from valvetrain.bench.desk import Desk
from valvetrain.bench.served import page
from valvetrain.bench.view import WORDS
from valvetrain.questions.compare.study import Answers
from valvetrain.questions.registry import ASKED, explanations
from valvetrain.report.html import script_json
from valvetrain.report.order import allowed, in_words
from valvetrain.setup.units import shown, shown_spread

__all__ = ["card_page", "plot", "valve_page"]


def valve_page(desk: Desk, valve: str, question: str) -> str | None:
    """Write the page of a valve, one question opened; None where there is no such valve."""
    with desk.lock:
        desk.refresh()
        answers = desk.answers
        if answers is None or valve not in (*answers.setup.valves, "engine"):
            return None
        sections = [
            _section(answers, name, None if valve == "engine" else valve, opened=name == question)
            for name in answers.checks
        ]
        moving = _moving(answers, valve)
        return page(
            "valve",
            title=answers.setup.title,
            valve=valve,
            valves=(*answers.setup.valves, "engine"),
            question=question,
            sections=[each for each in sections if each is not None],
            words=WORDS,
            version=desk.version,
            data=script_json(moving) if moving else "",
        )


def _section(answers: Answers, name: str, valve: str | None, *, opened: bool) -> dict[str, Any] | None:
    system = answers.setup.units
    checks = [each for each in answers.checks[name] if each.valve == valve]
    if not checks:
        return None
    rows = [
        {
            "quantity": each.quantity,
            "value": shown(each.value, each.dimension, system, each.uncertainty),
            "doubt": ""
            if not each.uncertainty or math.isnan(each.value)
            else f"+- {shown_spread(2 * each.uncertainty, each.dimension, system)}",
            "allowed": allowed(each, system),
            "verdict": each.verdict,
            "basis": each.basis,
            "advice": in_words(each.advice),
        }
        for each in checks
    ]
    how = _explained(answers, name, valve) if opened and valve is not None else []
    return {"name": name, "says": ASKED[name], "rows": rows, "opened": opened, "explained": how}


def _explained(answers: Answers, question: str, valve: str) -> list[Explained]:
    """Explain what is judged, as far as it is known at the valve."""
    found = []
    for (asked, _), each in explanations().items():
        if asked != question or not each.questions <= answers.results.keys():
            continue
        one = explained(answers.setup, answers.results, each, valve, answers.setup.units)
        if not math.isnan(one.value):
            found.append(one)
    return found


def _moving(answers: Answers, valve: str) -> dict[str, Any]:
    """Return the moving drawing of one valve alone; empty where its train is not known."""
    from valvetrain.questions.control.moving_train import moving_train_study
    from valvetrain.report.moving import moving_data

    study = moving_train_study(answers.setup, answers.results["rocker"], answers.results["spring"])
    data = moving_data(answers.setup, study, answers.setup.units)
    if data:
        data["valves"] = [each for each in data["valves"] if each["name"] == valve]
    return data if data and data["valves"] else {}


def plot(desk: Desk, question: str) -> str | None:
    """Draw a question's plot as SVG; None where it has none."""
    from valvetrain.questions.registry import question as described
    from valvetrain.report.figures import drawing_of, uncollected

    with desk.lock:
        desk.refresh()
        answers = desk.answers
        if answers is None or question not in answers.checks:
            return None
        one = described(question)
        with uncollected():
            figure = (one.report_figure or one.figure)(answers.setup, answers.results, answers.setup.units)
            return None if figure is None else drawing_of(figure, "svg").svg


def card_page(desk: Desk) -> str | None:
    """Write the bench card, to be printed; None where nothing is answered yet."""
    from valvetrain.report.card import bench_card
    from valvetrain.report.order import stages

    with desk.lock:
        desk.refresh()
        answers = desk.answers
        if answers is None:
            return None
        setup = answers.setup
        return page(
            "card",
            title=setup.title,
            stages=stages(setup, answers.results, answers.checks, setup.units),
            card=bench_card(setup, answers.results, answers.checks, setup.units),
        )
