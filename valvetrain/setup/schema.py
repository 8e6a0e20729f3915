"""The setup sheet's schema: a pydantic model made from the descriptions of the parts.

Every section is one of the parts, so that a key is described in one place. A section marked as given per role
may hold `[section.intake]` and `[section.exhaust]`, and so `[section.NAME]` for each shaft, whose keys
override the section's own.
"""

import dataclasses
import functools
import typing
from typing import Annotated, Any, Literal

from pydantic import (
    BaseModel,
    ConfigDict,
    Field,
    PlainValidator,
    ValidationInfo,
    WithJsonSchema,
    create_model,
)

from valvetrain.parts import (
    adjuster,
    contact,
    control,
    engine,
    instruments,
    lobe,
    masses,
    oil,
    piston,
    pushrod,
    record,
    rocker,
    row,
    spring,
    thermal,
    valve,
)
from valvetrain.parts.limits import defaults as limits
from valvetrain.parts.spec import Spec
from valvetrain.setup.rocker_shim_stock import rocker_shim_list_type
from valvetrain.setup.shim_stock import shim_list_type
from valvetrain.setup.units import DIMENSIONS
from valvetrain.setup.values import measured

__all__ = ["PER_ROLE", "ROLES", "SECTIONS", "json_schema", "sheet_model"]

ROLES = ("intake", "exhaust")

# section -> the part that describes it
SECTIONS: dict[str, type] = {
    "engine": engine.Engine,
    "shaft": rocker.Shaft,
    "rocker": rocker.Rocker,
    "pushrod": pushrod.Pushrod,
    "adjuster": adjuster.Adjuster,
    "head": adjuster.Head,
    "shapes": adjuster.Shapes,
    "tappet": pushrod.Tappet,
    "valve": valve.Valve,
    "spring": spring.Spring,
    "middle_spring": spring.InsideSpring,
    "inner_spring": spring.InsideSpring,
    "spring_tester": spring.SpringTester,
    "lobe": lobe.Lobe,
    "contact": contact.Contact,
    "masses": masses.Masses,
    "control": control.Control,
    "cam": lobe.Cam,
    "lash": lobe.Lash,
    "thermal": thermal.Thermal,
    "hot": thermal.Hot,
    "piston": piston.Piston,
    "stock": engine.Stock,
    "oil": oil.Oil,
    "record": record.Record,
    "instruments": instruments.Instruments,
}

# sections that may be given per role, and whose keys may be columns of the table of valves
PER_ROLE = (
    "shaft",
    "rocker",
    "pushrod",
    "adjuster",
    "head",
    "shapes",
    "tappet",
    "valve",
    "spring",
    "middle_spring",
    "inner_spring",
    "lobe",
    "contact",
    "masses",
    "control",
    "thermal",
    "hot",
    "piston",
)

_WORDS = {"type": "array", "items": {"type": "string"}}

# keys of a part that only the table of valves gives
_TABLE_ONLY = {"lobe": ("measured_lift",), "lash": ("lash", "wanted")}


def quantity_type(spec: Spec, where: str) -> Any:
    """Return the annotated type of one quantity's key: reads text or number, gives a `Measured`."""

    def read(written: object, info: ValidationInfo) -> Any:
        context: dict[str, Any] = info.context or {}
        return measured(
            written,
            spec,
            f"{context['file']} {where}",
            system=context["system"],
            instruments=context["known"],
        )

    def read_many(written: object, info: ValidationInfo) -> Any:
        if not isinstance(written, list):
            raise ValueError(f"{written!r} is not a list; write it like [0.015, 0.030]")
        return tuple(read(each, info) for each in written)

    one = {"anyOf": [{"type": "number"}, {"type": "string"}], "description": _doc(spec)}
    schema = {"type": "array", "items": one, "description": _doc(spec)} if spec.many else one
    return Annotated[Any, PlainValidator(read_many if spec.many else read), WithJsonSchema(schema)]


def _doc(spec: Spec) -> str:
    """Describe a key, with its units, for an editor."""
    if spec.dimension is None:
        return spec.doc
    known = DIMENSIONS[spec.dimension]
    units = " or ".join(dict.fromkeys([known.inch, known.metric])) or "no unit"
    return f"{spec.doc} [{units}]"


def _section(
    part: type, name: str, path: str, within: tuple[str, ...] = (), present: frozenset[str] | None = None
) -> type[BaseModel]:
    """Make the model of one section from its part, with the keys of `present` alone where that is given.

    `within` names its sub-sections, roles' and shafts', each with the same keys.
    """
    hints = typing.get_type_hints(part)
    fields: dict[str, Any] = {}
    for field in dataclasses.fields(part):
        if field.name in _TABLE_ONLY.get(name, ()):
            continue
        if present is not None and f"{path}.{field.name}" not in present:
            continue
        spec: Spec = field.metadata["spec"]
        where = f"[{path}] {field.name}"
        if spec.dimension is not None:
            kind: Any = quantity_type(spec, where)
        elif spec.choices:
            kind = Literal[spec.choices]
        elif field.name == "durations":
            kind = list[_section(lobe.CardDuration, "durations", f"{path}.durations")]  # type: ignore[misc]
        elif field.name == "events":
            kind = list[_section(lobe.CardEvents, "events", f"{path}.events")]  # type: ignore[misc]
        elif field.name == "shafts":
            kind = Annotated[dict[str, list[int | str]], Field(description=spec.doc)]
        elif field.name == "rocker_shims":
            kind = rocker_shim_list_type(where)
        elif hints[field.name] == tuple[str, ...]:
            kind = Annotated[list[str], WithJsonSchema(_WORDS | {"description": spec.doc})]
        elif field.name == "spring_shims":
            kind = shim_list_type(where)
        elif hints[field.name] in (int, int | None):
            kind = Annotated[int, WithJsonSchema({"type": "integer", "description": spec.doc})]
        else:
            kind = Annotated[str, WithJsonSchema({"type": "string", "description": spec.doc})]
        fields[field.name] = (kind, None)
    for each in within:
        if present is None or f"{name}.{each}" in present:
            fields[each] = (_section(part, name, f"{path}.{each}", present=present), None)
    return create_model(path, __config__=ConfigDict(extra="forbid"), **fields)


def _lash() -> type[BaseModel]:
    """Make the model of `[lash]`, in which the roles themselves are the keys."""
    wanted = {field.name: field.metadata["spec"] for field in dataclasses.fields(lobe.Lash)}["wanted"]
    fields: dict[str, Any] = {role: (quantity_type(wanted, f"[lash] {role}"), None) for role in ROLES}
    fields["at"] = (Literal["valve", "pushrod"], None)
    fields["state"] = (Literal["cold", "hot"], None)
    return create_model("lash", __config__=ConfigDict(extra="forbid"), **fields)


def _limits(present: frozenset[str] | None) -> type[BaseModel]:
    """Make the model of `[limits]`: a low and a high for each check."""
    fields: dict[str, Any] = {}
    for limit in limits.DEFAULT_LIMITS.values():
        if present is not None and f"limits.{limit.id}" not in present:
            continue
        spec = Spec(limit.doc, limit.dimension)
        ends: dict[str, Any] = {
            end: (quantity_type(spec, f"[limits.{limit.id}] {end}"), None) for end in ("low", "high")
        }
        fields[limit.id] = (create_model(limit.id, __config__=ConfigDict(extra="forbid"), **ends), None)
    return create_model("limits", __config__=ConfigDict(extra="forbid"), **fields)


@functools.cache
def sheet_model(present: frozenset[str] | None = None, shafts: tuple[str, ...] = ()) -> type[BaseModel]:
    """Return the model of a whole sheet.

    Args:
        present: dotted paths of the sections and keys that a sheet has, such as "rocker.intake.pad_arm": what
            is not among them takes time to make and is left out. Everything if None.
        shafts: names of the engine's shafts, which may be sub-sections as roles are.
    """
    forbid = ConfigDict(extra="forbid")
    keys: dict[str, Any] = {"title": (str, "untitled engine"), "units": (Literal["inch", "metric"], ...)}
    sheet = create_model("sheet", __config__=forbid, **keys)
    tables = create_model(
        "tables",
        __config__=forbid,
        valves=(str, None),
        heights=(str, None),
        correlation=(str, None),
        wheel=(str, None),
    )
    fields: dict[str, Any] = {
        "sheet": (sheet, ...),
        "tables": (tables, None),
        "limits": (_limits(present), None),
    }
    for name, part in SECTIONS.items():
        if present is not None and name not in present:
            fields[name] = (None, None)
            continue
        model = (
            _lash()
            if name == "lash"
            else _section(part, name, name, (*ROLES, *shafts) if name in PER_ROLE else (), present)
        )
        fields[name] = (model, None)
    rows: Any = list[_section(row.RowText, "row", "row")]  # type: ignore[misc]
    fields["row"] = (rows, None)
    return create_model("setup", __config__=forbid, **fields)


def json_schema() -> dict[str, Any]:
    """Return the JSON Schema of a sheet, for editors that complete and check it."""
    schema = sheet_model().model_json_schema()
    for name in PER_ROLE:  # a shaft's sub-section has the keys of a role's, under a name that the sheet gives
        schema["$defs"][name]["additionalProperties"] = schema["$defs"][name]["properties"][ROLES[0]]
    schema["$schema"] = "https://json-schema.org/draft/2020-12/schema"
    schema["title"] = "valvetrain setup sheet"
    return schema
