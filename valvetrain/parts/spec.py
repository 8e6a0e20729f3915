"""What a part's field is: its dimension, allowed range, usual instrument and meaning.

The setup sheet's schema, its JSON Schema, the starter sheet's comments and the guide are all made from these
descriptions, so that a field is described once.
"""

import dataclasses
import math
from dataclasses import dataclass
from typing import Any

__all__ = ["Spec", "described", "quantity", "spec_of"]


@dataclass(frozen=True)
class Spec:
    """Description of one field.

    Attributes:
        doc: what it is, in shop words.
        dimension: name of a dimension of `valvetrain.setup.units`; None for a field that is not a quantity.
        low, high: allowed range [SI], ends included; a value outside is a fault (most often a wrong unit).
        instrument: what it is usually measured with; gives the uncertainty where none is written.
        many: the field is a list of quantities.
        choices: the words allowed, for a field that is a word.
    """

    doc: str
    dimension: str | None = None
    low: float = -math.inf
    high: float = math.inf
    instrument: str | None = None
    many: bool = False
    choices: tuple[str, ...] = ()


def quantity(
    dimension: str,
    doc: str,
    *,
    low: float = -math.inf,
    high: float = math.inf,
    instrument: str | None = None,
    many: bool = False,
) -> Any:
    """Make a dataclass field for a quantity: unknown (None, or an empty tuple where `many`) by default."""
    spec = Spec(doc, dimension, low, high, instrument, many)
    return dataclasses.field(default=() if many else None, metadata={"spec": spec})


def described(doc: str, default: Any = None, *, choices: tuple[str, ...] = ()) -> Any:
    """Make a dataclass field that is not a quantity, with its description and the words allowed."""
    return dataclasses.field(default=default, metadata={"spec": Spec(doc, choices=choices)})


def spec_of(part: type, name: str) -> Spec:
    """Return the description of the field `name` of the dataclass `part`; KeyError if there is none."""
    for field in dataclasses.fields(part):
        if field.name == name:
            spec: Spec = field.metadata["spec"]
            return spec
    raise KeyError(name)
