"""Which valves share a casting, a shaft or a bank, and so one value of a parameter of the fit."""

from collections.abc import Hashable, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from valvetrain.setup.setup import Setup

__all__ = ["ShaftOfFit", "Shared", "shared_by"]

_CASTING = (
    "rocker.pad_arm",
    "rocker.pad_radius",
    "rocker.socket_arm",
    "rocker.arm_angle",
    "rocker.nominal_ratio",
)
_BANK = ("tappet.setback", "tappet.angle")

Index = NDArray[np.intp]


@dataclass(frozen=True)
class ShaftOfFit:
    """One shaft, or one role's place on it where the sheet gives the roles different places.

    Attributes:
        name: of the shaft; empty where the sheet names none.
        role: "intake" or "exhaust" where the roles' places differ, else empty.
        members: indices of its valves.
    """

    name: str
    role: str
    members: tuple[int, ...]

    @property
    def called(self) -> str:
        """Its name and role, for a person; empty where there is but one."""
        return " ".join(filter(None, (self.name, self.role)))


@dataclass(frozen=True)
class Shared:
    """Which valves share what.

    Attributes:
        shafts: the shafts, in the engine's order.
        of: parameter of the fit -> which of its values each valve has, shape [n].
        called: parameter -> what each of its values is called: a role, a shaft, both, or empty.
    """

    shafts: tuple[ShaftOfFit, ...]
    of: dict[str, Index]
    called: dict[str, tuple[str, ...]]

    def first(self, parameter: str, instance: int) -> int:
        """The first valve that has this value of a parameter."""
        return int(np.flatnonzero(self.of[parameter] == instance)[0])


def shared_by(setup: Setup, by_role: bool = False) -> Shared:
    """Valves that share a casting (a role's and a shaft's unless the sheet's sections differ), shaft or bank.

    Args:
        setup: the setup.
        by_role: intake and exhaust rockers are two castings though the sheet does not tell them apart.
    """
    names = [train.shaft.name or "" for train in setup.trains]
    roles = list(setup.roles)
    cells = list(zip(names, roles, strict=True))

    def labels(keys: Sequence[str], *more: Sequence[Hashable]) -> Index:
        """Number valves alike in what the sheet says of `keys` for their shaft and role, and in `more`."""
        said = {cell: _said(setup, keys, [i for i, own in enumerate(cells) if own == cell]) for cell in cells}
        own = [(said[cell], *each) for cell, *each in zip(cells, *more, strict=True)]
        distinct = list(dict.fromkeys(own))
        return np.array([distinct.index(each) for each in own], dtype=np.intp)

    casting = labels(_CASTING, roles if by_role else [""] * len(roles))
    shaft = labels(("shaft.height", "shaft.setback"), names)
    bank = labels((), casting.tolist(), names)
    on_shaft = [frozenset(casting[np.array(names) == name].tolist()) for name in names]
    of = {
        **dict.fromkeys(("pad_arm", "pad_radius", "socket_arm", "arm_angle"), casting),
        "height": shaft,
        "setback": labels(("shaft.setback",), on_shaft),
        **dict.fromkeys(("tappet_setback", "tappet_angle"), labels(_BANK, casting.tolist())),
        **dict.fromkeys(("tappet_position", "pushrod_length"), bank),
        "ink_margin": np.zeros(len(names), dtype=np.intp),
        "setback_of_shaft": shaft,
        "tappet_setback_of_shaft": bank,
    }
    shafts = []
    for number in range(int(shaft.max()) + 1):
        members = np.flatnonzero(shaft == number)
        name, its = names[members[0]], {roles[index] for index in members}
        split = len({roles[index] for index, own in enumerate(names) if own == name}) > len(its)
        shafts.append(ShaftOfFit(name, its.pop() if split else "", tuple(map(int, members))))
    called = {parameter: _called(which, names, roles) for parameter, which in of.items()}
    return Shared(tuple(shafts), of, called)


def _said(setup: Setup, keys: Sequence[str], members: Sequence[int]) -> tuple[float | None, ...]:
    """The value of each key for these valves; None where each has its own, or nothing is said."""
    said: list[float | None] = []
    for key in keys:
        values = setup.column(*key.split(".")).value[list(members)]
        alike = np.isfinite(values).all() and np.ptp(values) == 0.0
        said.append(float(values[0]) if alike else None)
    return tuple(said)


def _called(which: Index, names: Sequence[str], roles: Sequence[str]) -> tuple[str, ...]:
    """What tells the values of a parameter apart, for a person."""
    called = []
    for number in range(int(which.max()) + 1):
        own = [int(index) for index in np.flatnonzero(which == number)]
        words: list[str] = []
        for labels in (names, roles):
            mine = {labels[index] for index in own}
            if len(mine) == 1 and len(set(labels)) > 1:
                words += mine
        called.append(" ".join(words) if which.max() > 0 else "")
    return tuple(called)
