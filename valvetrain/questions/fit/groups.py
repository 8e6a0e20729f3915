"""Fitting one or two kinds of rocker on one shaft: each kind has its casting, both share the shaft."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from valvetrain.mechanics.fit.linkage import LinkageFit, fitted
from valvetrain.mechanics.fit.readings import Priors
from valvetrain.parts.reading import BenchReading
from valvetrain.questions.fit.priors import PARAMETER_KEYS, Assumption, assumed
from valvetrain.questions.fit.readings import Gathered, gathered, known_dimensions, told
from valvetrain.setup.setup import Setup

__all__ = ["FittedGroup", "fitted_groups", "valve_groups"]

_SHARED_BY_THE_SHAFT = ("setback", "height")


@dataclass(frozen=True)
class FittedGroup:
    """Valves whose rockers are alike, fitted together.

    Attributes:
        role: "intake" or "exhaust" where the roles' rockers differ, else empty.
        members: indices of the valves.
        fit, gathered: the fit and what went into it.
        assumptions: what was taken for granted.
        known: sheet key -> (value, standard uncertainty) of what the sheet gives.
    """

    role: str
    members: tuple[int, ...]
    fit: LinkageFit
    gathered: Gathered
    assumptions: tuple[Assumption, ...]
    known: dict[str, tuple[float, float]]


def valve_groups(setup: Setup, by_role: bool = False) -> list[tuple[str, tuple[int, ...]]]:
    """Valves that share a casting: all of them, or each role's where the sheet's sections differ."""
    every = tuple(range(len(setup.valves)))
    roles = {role: tuple(i for i in every if setup.roles[i] == role) for role in ("intake", "exhaust")}
    if not all(roles.values()):
        return [("", every)]
    differ = by_role
    for key in (*PARAMETER_KEYS.values(), "rocker.nominal_ratio", "pushrod.length"):
        column = setup.column(*key.split(".")).value
        first, second = (column[list(members)] for members in roles.values())
        differ |= not (np.array_equal(first[:1], second[:1], equal_nan=True))
    return list(roles.items()) if differ else [("", every)]


def fitted_groups(
    setup: Setup, bench: Sequence[BenchReading], by_role: bool = False
) -> tuple[FittedGroup, ...]:
    """Fit every group; two groups on one shaft tell each other where the shaft is.

    Raises:
        ValueError: see `linkage_fit.fitted`; the message names the role.
    """
    groups = valve_groups(setup, by_role)
    parts = []
    for role, members in groups:
        known = known_dimensions(setup, members)
        named = dict(known)
        for row in bench:
            if row.kind == "dimension" and (not row.valve or setup.valves.index(row.valve) in members):
                named.setdefault(row.dimension, (row.value.value, row.value.uncertainty))
        priors, assumptions = assumed(setup, members, named)
        parts.append((role, members, gathered(setup, members, bench), priors, assumptions, known))
    fits = [_fit(role, one.readings, priors) for role, _, one, priors, _, _ in parts]
    if len(parts) == 2 and _one_shaft(setup):
        messages = [_message(fit, part[2]) for fit, part in zip(fits, parts, strict=True)]
        parts = [
            (role, members, told(one, messages[1 - index]), priors, assumptions, known)
            for index, (role, members, one, priors, assumptions, known) in enumerate(parts)
        ]
        fits = [_fit(role, one.readings, priors) for role, _, one, priors, _, _ in parts]
    for fit, (role, _, one, _, _, _) in zip(fits, parts, strict=True):
        _refuse_contradictions(role, fit, one)
    return tuple(
        FittedGroup(role, members, fit, one, assumptions, known)
        for fit, (role, members, one, _, assumptions, known) in zip(fits, parts, strict=True)
    )


def _refuse_contradictions(role: str, fit: LinkageFit, one: Gathered) -> None:
    """Raise where more than a third of the table's readings do not fit: no answer would rest on the rest."""
    table = [index for index, row in enumerate(one.bench) if row is not None]
    aside = [index for index in table if not fit.used[index]]
    if len(aside) > max(1, len(table) // 3):
        whose = f"{role}: " if role else ""
        lines = ", ".join(str(row.line) for row in (one.bench[index] for index in aside) if row is not None)
        raise ValueError(f"{whose}{len(aside)} of {len(table)} readings contradict the rest (lines {lines})")


def _fit(role: str, readings: object, priors: Priors) -> LinkageFit:
    try:
        return fitted(readings, priors)  # type: ignore[arg-type]
    except ValueError as error:
        raise ValueError(f"{role}: {error}" if role else str(error)) from error


def _one_shaft(setup: Setup) -> bool:
    """Whether both roles' rockers are on the same shaft."""
    names = {role: {train.shaft.name for train in setup.trains if train.role == role} for role in setup.roles}
    return len({frozenset(each) for each in names.values()}) == 1


def _message(fit: LinkageFit, one: Gathered) -> dict[str, tuple[float, float]]:
    """What a fit alone tells of the shaft: name -> (value, standard uncertainty).

    Only what its own readings added: the range assumed and what the sheet says of the shaft are the same for
    both fits, and would count twice.
    """
    found = {}
    readings = one.readings
    for name in _SHARED_BY_THE_SHAFT:
        place = fit.layout.place(name).start
        common = [(float(fit.layout.mean[place]), float(fit.layout.deviation[place]))]
        for index, parameter in enumerate(readings.parameter):
            if parameter == name and fit.used[index]:
                common.append((float(readings.value[index]), float(readings.uncertainty[index])))
        before = sum(spread**-2 for _, spread in common)
        after = float(fit.uncertainty(name)[0]) ** -2
        gained = max(after - before, 0.0)
        if gained > 1e-2 * before:
            rest = sum(value * spread**-2 for value, spread in common)
            found[name] = ((float(fit.value(name)[0]) * after - rest) / gained, gained**-0.5)
    return found
