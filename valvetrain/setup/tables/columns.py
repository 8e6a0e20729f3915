"""The columns that the table of valves may have, and the key that each overrides."""

import dataclasses
from collections import Counter

from valvetrain.parts.lobe import Lash
from valvetrain.parts.spec import Spec
from valvetrain.parts.valve import Station
from valvetrain.setup.schema import PER_ROLE, SECTIONS

__all__ = ["COLUMNS", "TEXT_COLUMNS"]

INSIDE = ("middle_spring", "inner_spring")

# columns of text: the valve's name, its spring in the load tests, the shaft its rocker is on, free words
TEXT_COLUMNS = ("valve", "spring", "middle_spring", "inner_spring", "shaft", "remarks")


def _columns() -> dict[str, tuple[str, str, Spec]]:
    """Return column -> (section, key, description); short names where they cannot be mistaken."""
    parts = {name: SECTIONS[name] for name in PER_ROLE} | {"station": Station}
    keys = [
        (section, field.name, field.metadata["spec"])
        for section, part in parts.items()
        for field in dataclasses.fields(part)
        if field.metadata["spec"].dimension is not None
    ]
    # The outer spring keeps the short names: those of a set's other springs are always written in full.
    times = Counter(key for section, key, _ in keys if section not in INSIDE)
    columns = {f"{section}.{key}": (section, key, spec) for section, key, spec in keys}
    columns |= {
        key: (section, key, spec) for section, key, spec in keys if times[key] == 1 and section not in INSIDE
    }
    lash = {field.name: field.metadata["spec"] for field in dataclasses.fields(Lash)}["lash"]
    columns["lash"] = ("lash", "lash", lash)
    columns["lobe_lift"] = columns.pop("measured_lift")
    return columns


COLUMNS = _columns()
