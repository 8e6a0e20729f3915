"""The valvetrain toolkit: from what a shop can measure to what to do at every valve.

>>> import valvetrain
>>> setup = valvetrain.read("sample_geometry/pump_vee")
>>> answer = valvetrain.ask(setup, "spring")
>>> answer.seat_load["1I"].to("lbf") > 60
True
"""

import importlib
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from valvetrain.answers.number import Number, Numbers
    from valvetrain.answers.quantity import Quantity
    from valvetrain.answers.verdict import Check
    from valvetrain.questions.door import Answer, ask, changed, fit, read
    from valvetrain.setup.faults import SheetError
    from valvetrain.setup.setup import Setup

__all__ = [
    "Answer",
    "Check",
    "Number",
    "Numbers",
    "Quantity",
    "Setup",
    "SheetError",
    "ask",
    "changed",
    "fit",
    "read",
]

# name -> where it stands; loaded when first asked for, so that importing the package loads nothing heavy
_HOME = {
    "Answer": "questions.door",
    "Check": "answers.verdict",
    "Number": "answers.number",
    "Numbers": "answers.number",
    "Quantity": "answers.quantity",
    "Setup": "setup.setup",
    "SheetError": "setup.faults",
    "ask": "questions.door",
    "changed": "questions.door",
    "fit": "questions.door",
    "read": "questions.door",
}


def __getattr__(name: str) -> Any:
    """Load one of the names offered."""
    if name not in _HOME:
        raise AttributeError(f"module 'valvetrain' has no attribute {name!r}")
    return getattr(importlib.import_module(f"valvetrain.{_HOME[name]}"), name)


def __dir__() -> list[str]:
    """List the names offered."""
    return list(__all__)
