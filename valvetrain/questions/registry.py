"""Every question by its name, in the order of the work; a question's folder loads when it is asked for."""

import importlib
import importlib.resources
import importlib.util
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from valvetrain.answers.explanation import Explanation
    from valvetrain.answers.question import Question

__all__ = ["ASKED", "QUESTIONS", "explanations", "manual", "question"]

# command -> one line for the help, in the order of the work; a question's folder is named as its command
ASKED = {
    "rocker": "Sweep on the tip, ratio, lift, and the stand shim that puts them right.",
    "center": "Rockers along the shaft: offsets, end clearance, rocker shims.",
    "spring": "Spring loads, coil bind, and the shims under each spring.",
    "pushrod": "Pushrod length, adjuster travel, strength, and the hole in the head.",
    "interference": "Rocker, retainer, seal and stand: least clearance through the lift.",
    "events": "Opening, closing, duration and overlap at the lash that is set.",
    "lash": "Lash against the cam's ramps, cold and hot, and turns of the adjuster.",
    "clearance": "Piston to valve, valve to valve, and effective compression.",
    "control": "Speed to which the valves follow the cam, and what would raise it.",
    "wear": "What wears: contact, rotation, oil film; with --log, what the record says.",
    "oil": "Oil to every rocker, new and worn, and what each change of layout brings.",
    "heights": "The height stack from cam to valve tip, solved from the adjusters.",
    "sensitivity": "What a shop step of each dimension does to lift, pattern and ratio.",
}

# what gives verdicts, in the order of the work
QUESTIONS = tuple(name for name in ASKED if name not in ("heights", "sensitivity"))


def manual(name: str) -> str:
    """Return what a command takes and says, in paragraphs; empty where its folder has no manual.txt.

    It stands below the question in the command's help, and nowhere else.
    """
    text = importlib.resources.files("valvetrain.questions").joinpath(name, "manual.txt")
    return text.read_text(encoding="utf-8") if text.is_file() else ""


def question(name: str) -> "Question":
    """Import and return a question by its name."""
    folder = f"valvetrain.questions.{name}"
    # Until every question has moved into its folder some are still described beside their command.
    home = (
        f"{folder}.question" if importlib.util.find_spec(f"{folder}.question") else f"valvetrain_cli.{name}"
    )
    found: Question = importlib.import_module(home).QUESTION
    return found


# folders that hold `EXPLANATIONS` in their explain.py
_EXPLAINED = (
    "rocker",
    "center",
    "spring",
    "pushrod",
    "interference",
    "events",
    "lash",
    "clearance",
    "control",
    "wear",
    "oil",
    "heights",
)


def explanations() -> "dict[tuple[str, str], Explanation]":
    """Return every explanation by (question, quantity)."""
    found: dict[tuple[str, str], Explanation] = {}
    for name in _EXPLAINED:
        module = importlib.import_module(f"valvetrain.questions.{name}.explain")
        for each in module.EXPLANATIONS:
            found[(each.question, each.name)] = each
    return found
