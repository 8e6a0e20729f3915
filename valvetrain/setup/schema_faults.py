"""What the schema finds wrong with a sheet, in shop words."""

import dataclasses
from typing import Any

from pydantic import BaseModel

from valvetrain.setup.faults import Fault, nearest, written_as
from valvetrain.setup.schema import PER_ROLE, ROLES, SECTIONS, sheet_model
from valvetrain.setup.sheet_text import FILE, key_place
from valvetrain.setup.starter_words import INSTRUMENT_WORDS

__all__ = ["schema_fault"]


def schema_fault(entry: Any, in_full: bool = True, shafts: tuple[str, ...] = ()) -> Fault:
    """Turn one of pydantic's errors into a fault in shop words."""
    path = [str(step) for step in entry["loc"]]
    where = key_place(path)
    kind, written = entry["type"], entry["input"]
    if kind == "extra_forbidden" and not in_full:
        return Fault(where, "is not known", "Take it out.")
    if kind == "extra_forbidden":
        model: Any = sheet_model()
        for step in path[:-1]:
            field = model.model_fields.get(step)
            if field is None:
                if step.isdigit():
                    continue
                break
            model = _model_of(field.annotation)
        within = _within(path, written, shafts)
        if within is not None:
            return within
        if path[0] == "instruments" and path[-1] in INSTRUMENT_WORDS:
            meant = INSTRUMENT_WORDS[path[-1]]
            return Fault(where, f"is called {meant} here", f"Write {meant} = {written_as(written)}.")
        what = "section" if len(path) == 1 else "key"
        homes = [
            f"[{name}]"
            for name, part in SECTIONS.items()
            if any(field.name == path[-1] for field in dataclasses.fields(part))
        ]
        if what == "key" and homes and len(homes) <= 3:
            return Fault(where, "this key does not belong here", f"Move it to {' or '.join(homes)}.")
        return Fault(where, f"this {what} is not known", nearest(path[-1], model.model_fields))
    if kind == "literal_error":
        return Fault(where, f"{written_as(written)} is not allowed", f"Write {entry['ctx']['expected']}.")
    if kind == "missing":
        return Fault(where, "is missing", "Add it.")
    if kind == "value_error":
        return Fault(where, str(entry["ctx"]["error"]), "Correct it, or leave it out if it is unknown.")
    if kind in ("model_type", "model_attributes_type"):
        return Fault(
            where,
            f"{written_as(written)} is not a section",
            f"Write it as [{'.'.join(path)}] with its keys below.",
        )
    return Fault(where, f"{written_as(written)}: {entry['msg'].lower()}", "Correct it.")


def _within(path: list[str], written: Any, shafts: tuple[str, ...]) -> Fault | None:
    """A sub-section that is no role's and no shaft's, or one where none can be."""
    section, name = path[0], path[-1]
    if len(path) != 2 or section not in SECTIONS:
        return None
    if isinstance(written, dict):
        where = f"{FILE} [{section}.{name}]"
        if section not in PER_ROLE:
            column = ": write the column lash in the table of valves" if section == "lash" else ""
            return Fault(
                where, f"[{section}] holds for the whole engine", f"Take the sub-section out{column}."
            )
        known = (*ROLES, *shafts)
        return Fault(
            where,
            f"there is no role and no shaft '{name}'",
            f"{nearest(name, known)} A shaft is named by [engine] shafts = {{ {name} = [1, 3], ... }}, or in "
            "the column shaft of the table of valves.",
        )
    return None


def _model_of(annotation: Any) -> Any:
    """Return the model inside an annotation such as list[Model]."""
    while not (isinstance(annotation, type) and issubclass(annotation, BaseModel)):
        annotation = annotation.__args__[0]
    return annotation
