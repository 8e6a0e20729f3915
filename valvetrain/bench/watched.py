"""A setup that notes which of its values are looked at: so that a question is asked anew only where it must.

Parts and setup are copied into subclasses of their own types that note each read; studies and checks cannot
tell the difference.
"""

import dataclasses
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from functools import cache
from typing import Any

from valvetrain.parts.limits.limit import Limit
from valvetrain.parts.train import Train
from valvetrain.setup.setup import Setup

__all__ = ["Key", "Reads", "changed_keys", "noting", "watched"]

Key = tuple[str, str]
"""(section, key) of a part; section "" for what the setup itself holds."""

_WHOLE = ("engine", "cam", "stock", "oil", "record", "spring_tester")
# The same for good as long as the engine has the same valves.
_STILL = ("trains",)
# What says where a value came from and not what it is.
_ASIDE = ("contents",)


class Reads:
    """What was looked at while it was noted.

    Attributes:
        keys: the keys.
        stale: a part was looked at that belongs to an earlier setup: a result had kept it.
    """

    def __init__(self, made: int) -> None:
        """Begin with nothing."""
        self.keys: set[Key] = set()
        self.stale = False
        self.made = made


class _Noting(threading.local):
    """What is noted now, in each thread by itself."""

    def __init__(self) -> None:
        """Begin with nothing."""
        self.now: list[Reads] = []


_noting = _Noting()
_count = [0]


@contextmanager
def noting(setup: Setup) -> Iterator[Reads]:
    """Note what is looked at of a watched setup inside the block."""
    reads = Reads(_own(setup)["_made"])
    _noting.now.append(reads)
    try:
        yield reads
    finally:
        _noting.now.remove(reads)


def _own(part: Any) -> dict[str, Any]:
    """Return what a part holds, unnoted."""
    found: dict[str, Any] = object.__getattribute__(part, "__dict__")
    return found


@cache
def _noting_type(part: Any, section: str) -> type:
    """Make the subclass of a part that notes what is read, under the name of its section."""
    order = tuple(field.name for field in dataclasses.fields(part) if field.compare)
    fields = frozenset(field.name for field in dataclasses.fields(part))
    if section == "":
        fields -= {*_WHOLE, *_STILL, "limits"}  # what they hold notes by itself

    def read(self: Any, name: str) -> Any:
        if _noting.now and name in fields:
            own = _own(self)
            for reads in _noting.now:
                reads.keys.add((section, name))
                if own.get("_made", reads.made) != reads.made:
                    reads.stale = True
        if name == "__dict__":  # what `vars` asks for
            note_all()
            return {key: value for key, value in _own(self).items() if key != "_made"}
        return object.__getattribute__(self, name)

    # A cache compares with the keys of earlier setups: that looks at every field, and is not stale. A part
    # made elsewhere, such as an empty one, is of the plain type.
    def note_all() -> None:
        for reads in _noting.now:
            reads.keys.update((section, name) for name in fields)

    def same(self: Any, other: Any) -> Any:
        if type(other) is not type(self) and type(other) is not part:
            return NotImplemented
        note_all()
        one, two = _own(self), _own(other)
        return all(one[name] is two[name] or one[name] == two[name] for name in order)

    def hashed(self: Any) -> int:
        note_all()
        own = _own(self)
        return hash(tuple(own[name] for name in order))  # as a dataclass makes it

    more = {"__getattribute__": read, "__eq__": same, "__hash__": hashed, "__module__": part.__module__}
    return type(part.__name__, (part,), more)


class _Limits(dict[str, Limit]):
    """Limits that note which are looked at."""

    def __getitem__(self, name: str) -> Limit:
        for reads in _noting.now:
            reads.keys.add(("limits", name))
        return super().__getitem__(name)

    def get(self, name: str, default: Any = None) -> Any:
        for reads in _noting.now:
            reads.keys.add(("limits", name))
        return super().get(name, default)

    def items(self) -> Any:
        for reads in _noting.now:
            reads.keys.update(("limits", name) for name in self)
        return super().items()

    def values(self) -> Any:
        for reads in _noting.now:
            reads.keys.update(("limits", name) for name in self)
        return super().values()


def _as_noting(part: Any, section: str, made: int) -> Any:
    of: Any = type(part)
    kind: Any = _noting_type(of, section)
    copy: Any = object.__new__(kind)
    _own(copy).update(_own(part), _made=made)
    return copy


def watched(setup: Setup) -> Setup:
    """Return a setup that says the same and notes what is read of it."""
    _count[0] += 1
    made = _count[0]
    trains = []
    for train in setup.trains:
        own = {
            name: _as_noting(value, name, made)
            for name, value in _own(train).items()
            if dataclasses.is_dataclass(value)
        }
        copy = object.__new__(Train)
        _own(copy).update(_own(train), **own)
        trains.append(copy)
    parts = {name: _as_noting(getattr(setup, name), name, made) for name in _WHOLE}
    found: Setup = _as_noting(setup, "", made)
    _own(found).update(trains=tuple(trains), limits=_Limits(setup.limits), **parts)
    return found


def changed_keys(before: Setup, after: Setup) -> set[Key] | None:
    """Return the keys whose value differs at any valve; None where the engine has other valves.

    Where a value stands counts too, as answers name it.
    """
    trains = list(zip(before.trains, after.trains, strict=False))
    alike = all(
        getattr(one, name) == getattr(other, name)
        for one, other in trains
        for name in ("name", "role", "cylinder")
    )
    if len(before.trains) != len(after.trains) or not alike:
        return None
    found: set[Key] = set()
    for one, other in trains:
        for section, part in _own(one).items():
            if dataclasses.is_dataclass(part):
                found |= _differing(section, _own(part), _own(_own(other)[section]))
    own, others = _own(before), _own(after)
    for section in _WHOLE:
        differing = _differing(section, _own(own[section]), _own(others[section]))
        found |= differing
    limits, others_limits = own["limits"], others["limits"]
    found |= {
        ("limits", name)
        for name in limits
        if not _same(dict.get(limits, name), dict.get(others_limits, name))
    }
    for name, value in own.items():
        if name not in (*_WHOLE, *_STILL, "limits", "_made", *_ASIDE) and not _same(value, others.get(name)):
            found.add(("", name))
    return found


def _differing(section: str, one: dict[str, Any], other: dict[str, Any]) -> set[Key]:
    return {
        (section, name) for name, value in one.items() if name != "_made" and not _same(value, other[name])
    }


def _same(one: Any, other: Any) -> bool:
    if one is other:
        return True
    try:
        return bool(one == other)
    except ValueError:  # arrays
        return False
