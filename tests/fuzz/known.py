"""What the schema knows: every key and column with its kind, from which strategies make values."""

import dataclasses
import functools
import typing
from dataclasses import dataclass

from valvetrain.parts.limits.defaults import DEFAULT_LIMITS
from valvetrain.parts.spec import Spec
from valvetrain.setup.schema import PER_ROLE, ROLES, SECTIONS
from valvetrain.setup.tables.columns import COLUMNS


@dataclass(frozen=True)
class Key:
    """A key of the sheet: where it stands and what it is."""

    path: tuple[str, ...]
    spec: Spec
    kind: str  # quantity, quantities, word, whole, text, other


@functools.cache
def keys() -> tuple[Key, ...]:
    """Return every key of every section, in the roles' own too."""
    found = []
    for section, part in SECTIONS.items():
        hints = typing.get_type_hints(part)
        for field in dataclasses.fields(part):
            spec = field.metadata["spec"]
            kind = _kind(spec, hints[field.name])
            places = [(section,)]
            if section in PER_ROLE:
                places += [(section, role) for role in ROLES]
            found += [Key((*place, field.name), spec, kind) for place in places]
    for role in ROLES:
        found.append(Key(("lash", role), COLUMNS["lash"][2], "quantity"))
    for limit in DEFAULT_LIMITS.values():
        spec = Spec(limit.doc, limit.dimension)
        found += [Key(("limits", limit.id, end), spec, "quantity") for end in ("low", "high")]
    return tuple(found)


def _kind(spec: Spec, hint: object) -> str:
    if spec.dimension is not None:
        return "quantities" if spec.many else "quantity"
    if spec.choices:
        return "word"
    if hint in (int, int | None):
        return "whole"
    if hint in (str, str | None):
        return "text"
    return "other"


def spec_of_column(header: str) -> Spec | None:
    """Return what a column of any table holds, as far as its name tells."""
    name = header.partition("[")[0].strip()
    if name in COLUMNS:
        return COLUMNS[name][2]
    return _OTHERS.get(name)


_OTHERS = {
    "cam_angle": Spec("", "angle", low=-10.0, high=20.0),
    "crank_angle": Spec("", "angle", low=-20.0, high=40.0),
    "tappet_lift": Spec("", "length", low=0.0, high=0.02),
    "valve_lift": Spec("", "length", low=0.0, high=0.02),
    "height": Spec("", "length", low=0.01, high=0.1),
    "load": Spec("", "force", low=0.0, high=5000.0),
    "clearance": Spec("", "length", low=0.0, high=0.1),
}
