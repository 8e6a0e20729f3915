"""What two setups say differently, key by key."""

import dataclasses
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np

from valvetrain.parts.limits.limit import Limit
from valvetrain.parts.measured import Measured
from valvetrain.setup.schema import PER_ROLE
from valvetrain.setup.setup import Setup

__all__ = ["Difference", "differences"]


@dataclass(frozen=True)
class Difference:
    """One key that two setups give differently.

    Attributes:
        key: "section.key".
        valve: at which valve; None where it is so at every valve alike, or concerns the engine.
        dimension: of a quantity, else "".
        before, after: what each says; None where it says nothing.
    """

    key: str
    valve: str | None
    dimension: str
    before: Any
    after: Any


def differences(before: Setup, after: Setup) -> tuple[Difference, ...]:
    """Compare two setups: values and their uncertainty; not where in a file they stand."""
    return tuple(_differences(before, after))


def _differences(before: Setup, after: Setup) -> Iterator[Difference]:
    for name in ("title", "units"):
        yield from _one(f"sheet.{name}", None, "", getattr(before, name), getattr(after, name))
    for section in ("engine", "cam", "stock", "oil", "record", "spring_tester"):
        yield from _fields(section, None, getattr(before, section), getattr(after, section))
    for section in (*PER_ROLE, "lash", "station"):
        yield from _at_valves(section, before, after)
    for name in sorted({*before.limits, *after.limits}):
        one, other = before.limits.get(name), after.limits.get(name)
        if _ends(one) != _ends(other):
            dimension = (one or other).dimension  # type: ignore[union-attr]
            for place, end in enumerate(("low", "high")):
                yield from _one(
                    f"limits.{name}.{end}", None, dimension, _ends(one)[place], _ends(other)[place]
                )
    for name in sorted({*before.instruments, *after.instruments}):
        yield from _one(
            f"instruments.{name}", None, "", before.instruments.get(name), after.instruments.get(name)
        )
    for name in ("heights", "shaft_rows", "wheel", "correlation", "tested_springs"):
        if _plain(getattr(before, name)) != _plain(getattr(after, name)):
            yield Difference(f"tables.{name}", None, "", getattr(before, name), getattr(after, name))


def _ends(limit: Limit | None) -> tuple[float | None, float | None]:
    return (None, None) if limit is None else (limit.low, limit.high)


def _at_valves(section: str, before: Setup, after: Setup) -> Iterator[Difference]:
    """Compare one part of every valve; what differs in the same way at all of them is told once."""
    one = {train.name: getattr(train, section) for train in before.trains}
    other = {train.name: getattr(train, section) for train in after.trains}
    found: dict[str, list[Difference]] = {}
    for valve in dict.fromkeys((*one, *other)):
        for each in _fields(section, valve, one.get(valve), other.get(valve)):
            found.setdefault(each.key, []).append(each)
    for own in found.values():
        alike = {(_hashable(each.before), _hashable(each.after)) for each in own}
        if len(own) == len(one) == len(other) and len(alike) == 1:
            yield dataclasses.replace(own[0], valve=None)
        else:
            yield from own


def _hashable(value: Any) -> str:
    return repr(_plain(value))


def _fields(section: str, valve: str | None, before: Any, after: Any) -> Iterator[Difference]:
    """Compare the fields of one part."""
    if before is after:
        return
    for field in dataclasses.fields(before if before is not None else after):
        spec = field.metadata.get("spec")
        one, other = (getattr(part, field.name, None) for part in (before, after))
        dimension = (spec.dimension if spec else None) or ""
        yield from _one(f"{section}.{field.name}", valve, dimension, one, other)


def _one(key: str, valve: str | None, dimension: str, before: Any, after: Any) -> Iterator[Difference]:
    if before is not after and _plain(before) != _plain(after):
        yield Difference(key, valve, dimension, before, after)


def _plain(value: Any) -> Any:
    """Return what a value says, without where it stands."""
    if isinstance(value, Measured):
        return (value.value, value.uncertainty)
    if dataclasses.is_dataclass(value) and not isinstance(value, type):
        return tuple(
            _plain(getattr(value, field.name))
            for field in dataclasses.fields(value)
            if field.name not in ("source", "line", "where")
        )
    if isinstance(value, np.ndarray):
        return (value.shape, value.tobytes())
    if isinstance(value, Mapping):
        return {key: _plain(each) for key, each in value.items()}
    if isinstance(value, tuple | list):
        return tuple(_plain(each) for each in value)
    return value
