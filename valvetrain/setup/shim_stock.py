"""The drawer of spring shims: plain thicknesses, or tables with a count and whether they are hardened."""

from typing import Annotated, Any

from pydantic import PlainValidator, ValidationInfo, WithJsonSchema

from valvetrain.parts.engine import SpringShim
from valvetrain.parts.measured import Measured
from valvetrain.parts.spec import Spec
from valvetrain.setup.faults import nearest
from valvetrain.setup.values import measured

__all__ = ["shim_list_type"]

_THICKNESS = Spec("thickness of a shim", "length", low=0.00001, high=0.01, instrument="shim")
_KEYS = ("thickness", "count", "hardened")
_DOC = "spring shims at hand [in or mm]; count besides those fitted now; without a count more can be had"


def shim_list_type(where: str) -> Any:
    """Return the annotated type of the key: reads a list of thicknesses or tables, gives `SpringShim`s."""

    def read(written: object, info: ValidationInfo) -> tuple[SpringShim, ...]:
        if not isinstance(written, list):
            raise ValueError(
                f"{written!r} is not a list; write it like [0.015, 0.030] or "
                "[{ thickness = 0.015, count = 12, hardened = true }]"
            )
        shims = tuple(_shim(each, where, info.context or {}) for each in written)
        kinds = [(shim.thickness.value, shim.hardened) for shim in shims]
        for shim, kind in zip(shims, kinds, strict=True):
            if kinds.count(kind) > 1 and shim.count is not None:
                raise ValueError("one thickness stands twice with a count; add the counts up in one entry")
        return shims

    number = {"anyOf": [{"type": "number"}, {"type": "string"}]}
    table = {
        "type": "object",
        "properties": {"thickness": number, "count": {"type": "integer"}, "hardened": {"type": "boolean"}},
        "required": ["thickness"],
        "additionalProperties": False,
    }
    schema = {"type": "array", "items": {"anyOf": [*number["anyOf"], table]}, "description": _DOC}
    return Annotated[Any, PlainValidator(read), WithJsonSchema(schema)]


def _shim(written: object, where: str, context: dict[str, Any]) -> SpringShim:
    """Read one entry."""

    def thickness(value: object) -> Measured:
        source = f"{context['file']} {where}"
        return measured(value, _THICKNESS, source, system=context["system"], instruments=context["known"])

    if not isinstance(written, dict):
        return SpringShim(thickness(written))
    for key in written:
        if key not in _KEYS:
            raise ValueError(f"key '{key}' of a shim is not known. {nearest(str(key), _KEYS)}")
    if "thickness" not in written:
        raise ValueError(f"{written!r} has no thickness")
    count, hardened = written.get("count"), written.get("hardened")
    if count is not None and (isinstance(count, bool) or not isinstance(count, int) or count < 0):
        raise ValueError(f"the count {count!r} of a shim is not a whole number of 0 or more")
    if hardened is not None and not isinstance(hardened, bool):
        raise ValueError(f"hardened = {hardened!r} is not true or false")
    return SpringShim(thickness(written["thickness"]), count, hardened)
