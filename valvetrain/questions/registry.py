"""Every question by its name, in the order of the work; a question's folder loads when it is asked for."""

import importlib
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from valvetrain.answers.explanation import Explanation

__all__ = ["explanations"]

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
