"""What a result's field is: its dimension, heading, meaning and name in JSON, said once on the field itself.

JSON documents, table headings, the heads of explanations and the library's docs follow from it, as the
sheet's schema follows from `parts.spec` for what goes in.
"""

import dataclasses
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from typing import Any

__all__ = ["Output", "dimensions", "output", "outputs"]


@dataclass(frozen=True)
class Output:
    """Description of one field of a result.

    Attributes:
        doc: what it is, in shop words, with sign and reference where they matter.
        dimension: name of a dimension of `valvetrain.setup.units`; None for words, counts and parts.
        heading: over a table's column; the field's name in words where it is left out.
        key: its name in JSON; empty where JSON leaves it out.
    """

    doc: str
    dimension: str | None
    heading: str
    key: str


def output(
    dimension: str | None,
    doc: str,
    *,
    heading: str = "",
    key: str | None = None,
    default: Any = dataclasses.MISSING,
) -> Any:
    """Make a result's field with its description.

    Args:
        dimension: of its values [SI]; None for what is no quantity.
        doc: what it is.
        heading: of its column in tables; left out: its name in words.
        key: its name in JSON; left out: its own name; "" keeps it out of JSON.
        default: the field's default; a field without one must be given.
    """
    about = {"output": (doc, dimension, heading, key)}
    if default is dataclasses.MISSING:
        return dataclasses.field(metadata=about)
    return dataclasses.field(default=default, metadata=about)


def outputs(result: Any) -> Mapping[str, Output]:
    """Return the described fields of a result's type, in their order."""
    return _outputs(result)


@cache
def _outputs(result: Any) -> Mapping[str, Output]:
    found = {}
    for field in dataclasses.fields(result):
        if "output" in field.metadata:
            doc, dimension, heading, key = field.metadata["output"]
            words = heading or field.name.replace("_", " ")
            found[field.name] = Output(doc, dimension, words, field.name if key is None else key)
    return found


def dimensions(result: Any, *names: str) -> dict[str, str]:
    """Return the dimensions of a result's quantities, as `quantity.computed` takes them.

    Args:
        result: the result's type.
        names: of the fields wanted; none for all fields that are a `Quantity`.
    """
    own = outputs(result)
    types = {field.name: str(field.type) for field in dataclasses.fields(result)}
    wanted = names or [name for name in own if "Quantity" in types[name]]
    return {name: own[name].dimension or "ratio" for name in wanted}
