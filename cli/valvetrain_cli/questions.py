"""The questions of the sheet, in the order of the work."""

import importlib
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from valvetrain_cli.question import Question

__all__ = ["QUESTIONS", "question"]

# each is a module of this package that holds a `QUESTION`
QUESTIONS = (
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
)


def question(name: str) -> "Question":
    """Import and return a question by its name."""
    found: Question = importlib.import_module(f"valvetrain_cli.{name}").QUESTION
    return found
