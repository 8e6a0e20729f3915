"""`valvetrain explain`: how a reported number came about."""

import difflib
import math
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from valvetrain_cli.options import json_option, units_option
from valvetrain_cli.with_option import with_option

if TYPE_CHECKING:
    from rich.console import Console

    from valvetrain.answers.explanation import Explained, Explanation
    from valvetrain.answers.formula import Line
    from valvetrain.answers.quantity import Quantity
    from valvetrain.setup.setup import Setup

__all__ = ["command"]


# what a reader of the formulas may not know
_FUNCTIONS = {
    "where": "where(condition, a, b): a where the condition holds, else b.",
    "either": "either(a, b): a where it is known, else b.",
    "hypot": "hypot(a, b): the root of a^2 + b^2.",
    "atan2": "atan2(a, b): the angle whose tangent is a/b, in the quarter that their signs tell.",
}


@click.command("explain")
@click.argument("first", metavar="SHEET")
@click.argument("second", metavar="[CHECK]", required=False)
@click.option("--valve", help="Valve to explain it at, such as 3E; the first that is known if left out.")
@units_option
@json_option
@with_option
def command(first: str, second: str | None, valve: str | None, units: str | None, as_json: bool) -> None:
    """How a number came about: formula, inputs and where they stand, substitution, result, source.

    CHECK is a quantity or a check, such as sweep_width, or with its question: rocker.sweep_width. Left out,
    the names are listed; those of one question with its name alone, such as rocker. SHEET and CHECK may stand
    in either order.
    """
    from valvetrain.answers.explanation import explained, place_of, quantity_in
    from valvetrain.questions.asking import asked
    from valvetrain.questions.registry import explanations
    from valvetrain_cli.running import bad_input, read_sheet

    sheet, name = _sheet_and_name(first, second)
    setup = read_sheet(Path(sheet))
    system = units or setup.units
    known = explanations()
    asked_of = "" if name is None else name.lower()
    if name is None or asked_of in {question for question, _ in known}:
        _list({key: each for key, each in known.items() if asked_of in ("", key[0])})
        return
    chosen = _chosen(known, name)
    results = asked(setup, tuple(sorted(set[str]().union(*(each.questions for each in chosen)))))
    wanted = valve.upper() if valve else None
    if wanted is not None and wanted not in setup.valves:
        names = ", ".join(setup.valves)
        bad_input([f"--valve {valve}: is not a valve of this engine. Its valves are {names}."])
    answers = []
    for each in chosen:
        result = results[each.question]
        quantity = quantity_in(result, each.name, len(setup.valves))
        places = {one: place_of(setup, result, quantity, one) for one in setup.valves}
        told = [one for one, place in places.items() if not math.isnan(quantity.value[place])]
        own = _own_name(name)
        if each.at is not None and own in each.also:
            # A verdict of some valves only, as of the exhaust valves: one of those.
            told = [one for one in told if each.at(setup, results, setup.valves.index(one)).check == own]
        at = wanted or next(iter(told), setup.valves[0])
        answers.append((explained(setup, results, each, at, system), quantity))
    if as_json:
        _print_json(setup, sheet, answers, system)
        return
    for answer, quantity in answers:
        _print(setup, answer, quantity, system)


def _sheet_and_name(first: str, second: str | None) -> tuple[str, str | None]:
    """Take sheet and name in either order: the one that exists as a path is the sheet."""
    if second is not None and not Path(first).exists() and Path(second).exists():
        return second, first
    return first, second


def _chosen(known: "dict[tuple[str, str], Explanation]", name: str) -> "list[Explanation]":
    """Find what is asked for: a quantity, a check, or what a check judges."""
    from valvetrain_cli.running import bad_input

    question, own = name.replace(":", ".").rpartition(".")[0].lower(), _own_name(name)
    found = [each for each in known.values() if own in each.names and question in ("", each.question)]
    if not found:
        near = _near(known, own)
        hint = f"Did you mean {' or '.join(near)}?" if near else "Leave the name out for a list."
        bad_input([f"'{name}': is not a number that can be explained. {hint}"])
    return found


def _own_name(name: str) -> str:
    """Return the name asked for without its question, as the program writes it."""
    return name.replace(":", ".").rpartition(".")[2].lower().replace("-", "_").replace(" ", "_")


def _near(known: "dict[tuple[str, str], Explanation]", own: str) -> list[str]:
    """Return up to four names like this one: written almost so, or holding its words."""
    questions: dict[str, list[str]] = {}
    for each in known.values():
        for one in each.names:
            questions.setdefault(one, []).append(each.question)
    near = difflib.get_close_matches(own, sorted(questions), n=3)
    if own in questions:
        # The name is right, its question was not.
        return [f"{question}.{own}" for question in dict.fromkeys(questions[own])]
    words = own.split("_")
    holding = [one for one in sorted(questions) if all(word in one for word in words)]
    return list(dict.fromkeys([*near, *holding]))[:4]


def _list(known: "dict[tuple[str, str], Explanation]") -> None:
    """List what can be explained."""
    for question in dict.fromkeys(question for question, _ in known):
        click.echo(f"{question}:")
        for (own, name), each in known.items():
            if own == question:
                click.echo(f"  {name:38} {each.doc}")


def _print(setup: "Setup", answer: "Explained", quantity: "Quantity", system: str) -> None:
    """Print one explanation."""
    from rich.text import Text

    from valvetrain.setup.units import DIMENSIONS, shown, shown_spread
    from valvetrain_cli.tables import console, print_hanging

    out = console()
    each = answer.explanation
    title = each.name.replace("_", " ")
    if title.endswith(" at"):
        title = f"{title.removesuffix(' at')}, where it is least,"
    out.print(Text(f"{each.question}: {title} at {answer.valve}", style="bold"))
    print_hanging(out, "  ", f"{each.doc[0].upper()}{each.doc[1:]}.")
    if answer.inputs:
        out.print("  Inputs:")
    for one in answer.inputs:
        print_hanging(out, "    ", f"{one.symbol} = {one.written}: {one.meaning} [{one.source}]")
    if each.steps:
        coherent = "in, lbf, psi" if system == "inch" else "mm, N, MPa"
        if each.in_si:
            coherent = "m, N, kg, s, K"
        out.print(f"  Formula, and with the numbers put in ({coherent}; angles in rad):")
    _print_lines(out, answer.lines)
    for function, meaning in _FUNCTIONS.items():
        if any(f"{function}(" in line.expression for line in (*answer.lines, *answer.proof)):
            print_hanging(out, "    ", meaning)
    if each.note:
        print_hanging(out, "  ", each.note)
    index = answer.place
    doubt = float(quantity.uncertainty[index])
    spread = f" +- {shown_spread(2 * doubt, quantity.dimension, system)} (k = 2)" if doubt == doubt else ""
    unit = DIMENSIONS[quantity.dimension].si
    # The steps end in SI: what they come to is shown beside the result's own unit.
    in_si = (
        f", that is {answer.value:.5g} {unit}".rstrip()
        if each.in_si and unit and math.isfinite(answer.value)
        else ""
    )
    out.print(Text(f"  Result: {answer.written}{spread}{in_si}", style="bold"))
    if answer.proof and not math.isnan(answer.value):
        out.print("  With the result put in, the last of these must come to nought:")
        _print_lines(out, answer.proof, 1e-9)
    if answer.missing:
        print_hanging(out, "  ", f"Not known without: {', '.join(answer.missing)}.")
    parts = {key: abs(float(part[index])) for key, part in quantity.contributions.items()}
    shares = sorted(((part / doubt) ** 2, key) for key, part in parts.items() if doubt and part == part)
    words = [f"{_called(key)} {100 * share:.0f} %" for share, key in shares[::-1][:4] if share >= 0.005]
    if words:
        print_hanging(out, "  ", f"Its doubt comes from: {', '.join(words)}.")
    if each.check:
        limit = setup.limits[each.check]
        ends = [
            f"{word} {shown(end, limit.dimension, system)}"
            for word, end in (("at least", limit.low), ("at most", limit.high))
            if math.isfinite(end)
        ]
        judged = [" and ".join(ends), limit.basis] if ends else [limit.basis]
        print_hanging(out, "  ", f"Judged by {each.check}: {'; '.join(judged)}.")
    print_hanging(out, "  ", f"Source: {each.publication}.")


def _called(key: str) -> str:
    """Call an input as a person does: a line of the height ledger by its item."""
    return f"{key.rpartition(':')[2]} in the height ledger" if key.startswith("heights.") else key


def _print_lines(out: "Console", lines: "tuple[Line, ...]", nought: float = 1e-15) -> None:
    """Print steps: formula, the same with the numbers, and what it comes to; below `nought` it is nought."""
    from valvetrain_cli.tables import print_hanging

    for line in lines:
        print_hanging(out, "    ", f"{line.symbol} = {line.expression}")
        if line.substituted != line.expression:
            print_hanging(out, "      ", f"= {line.substituted}")
        if line.missing:
            print_hanging(out, "      ", f"not evaluated: {', '.join(line.missing)} unknown")
        elif math.isnan(line.outcome):
            print_hanging(out, "      ", "not defined with these numbers")
        else:
            print_hanging(out, "      ", f"= {0.0 if abs(line.outcome) < nought else line.outcome:.5g}")


def _print_json(setup: "Setup", sheet: str, answers: "list[tuple[Explained, Quantity]]", system: str) -> None:
    """Print the explanations as one document."""
    from valvetrain_cli.json_out import print_document, quantity_json

    rows: list[dict[str, Any]] = []
    for answer, quantity in answers:
        each = answer.explanation
        index = answer.place
        doubt = float(quantity.uncertainty[index])
        rows.append(
            {
                "quantity": each.name,
                "question": each.question,
                "valve": answer.valve,
                "meaning": each.doc,
                "inputs": [
                    {"symbol": one.symbol, "meaning": one.meaning, "value": one.written, "source": one.source}
                    for one in answer.inputs
                ],
                "formula": [{"symbol": symbol, "expression": text} for symbol, text in each.steps],
                "substitution": _lines_json(answer.lines),
                "proof": _lines_json(answer.proof),
                "result": quantity_json(float(quantity.value[index]), quantity.dimension, system, doubt),
                "missing": list(answer.missing),
                "note": each.note,
                "publication": each.publication,
                "check": each.check or None,
            }
        )
    print_document("explain", sheet, {"explanations": rows}, [], [], system)


def _lines_json(lines: "tuple[Line, ...]") -> list[dict[str, Any]]:
    """Return steps as rows of a document."""
    return [
        {
            "symbol": line.symbol,
            "expression": line.substituted,
            "outcome": None if math.isnan(line.outcome) else line.outcome,
            "missing": list(line.missing),
        }
        for line in lines
    ]
