"""The drawer of rocker shims: plain thicknesses, or tables with a count."""

from itertools import pairwise
from typing import Annotated, Any

from pydantic import PlainValidator, ValidationInfo, WithJsonSchema

from valvetrain.parts.row import RockerShim
from valvetrain.parts.spec import Spec
from valvetrain.setup.faults import nearest
from valvetrain.setup.values import measured

__all__ = ["rocker_shim_list_type"]

_THICKNESS = Spec("thickness of a shim", "length", low=0.00001, high=0.02, instrument="shim")
_KEYS = ("thickness", "count")
_DOC = "rocker shims in the drawer [in or mm]; count besides those fitted; without a count more can be had"
# Two thicknesses nearer than this are one [m].
_SAME = 1e-9


def rocker_shim_list_type(where: str) -> Any:
    """Return the annotated type of the key: reads a list of thicknesses or tables, gives `RockerShim`s."""

    def read(written: object, info: ValidationInfo) -> tuple[RockerShim, ...]:
        if not isinstance(written, list):
            raise ValueError(
                f"{written!r} is not a list; write it like [0.010, {{ thickness = 0.030, count = 4 }}]"
            )
        shims = tuple(_shim(each, where, info.context or {}) for each in written)
        sizes = sorted(shim.thickness.value for shim in shims)
        for one, next_one in pairwise(sizes):
            if next_one - one < _SAME:
                raise ValueError("one thickness stands twice; add the counts up in one entry")
        return shims

    number: dict[str, Any] = {"anyOf": [{"type": "number"}, {"type": "string"}]}
    table = {
        "type": "object",
        "properties": {"thickness": number, "count": {"type": "integer"}},
        "required": ["thickness"],
        "additionalProperties": False,
    }
    schema = {"type": "array", "items": {"anyOf": [*number["anyOf"], table]}, "description": _DOC}
    return Annotated[Any, PlainValidator(read), WithJsonSchema(schema)]


def _shim(written: object, where: str, context: dict[str, Any]) -> RockerShim:
    """Read one entry."""
    count, thickness = None, written
    if isinstance(written, dict):
        for key in written:
            if key not in _KEYS:
                raise ValueError(f"key '{key}' of a shim is not known. {nearest(str(key), _KEYS)}")
        if "thickness" not in written:
            raise ValueError(f"{written!r} has no thickness")
        count, thickness = written.get("count"), written["thickness"]
        if count is not None and (isinstance(count, bool) or not isinstance(count, int) or count < 0):
            raise ValueError(f"the count {count!r} of a shim is not a whole number of 0 or more")
    source = f"{context['file']} {where}"
    value = measured(thickness, _THICKNESS, source, system=context["system"], instruments=context["known"])
    return RockerShim(value, count)
