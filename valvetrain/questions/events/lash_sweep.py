"""How do the events move with the lash, at any set of checking lifts?"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from valvetrain.answers.table import bare
from valvetrain.mechanics.arrays import FloatArray
from valvetrain.questions.events.study import checked_case, event_quantities, events_inputs, events_study
from valvetrain.setup.setup import Setup
from valvetrain.setup.units import from_si

__all__ = ["EventsSweep", "events_sweep_study", "lash_cells", "lashes_at_valves"]

_VALVES = ("opens", "closes", "duration", "centerline", "max_lift", "area")
_CYLINDERS = ("overlap", "separation")


@dataclass(frozen=True)
class EventsSweep:
    """Events against lash; arrays [lashes, checks, valves], or [lashes, checks, cylinders].

    Attributes:
        lashes: [m], where the sheet measures its lash, the same at every valve; or, with `changed`, by how
            much the lash of every valve differs from its own, shape [lashes].
        changed: True where `lashes` are changes.
        checks: (checking lift [m], "tappet" or "valve").
        values: quantity of `EventsResult` -> values [SI]; NaN where the event does not exist or is not known.
        uncertainties: the same quantities' standard uncertainties, worked out at the first, the middle and
            the last lash and interpolated; NaN where the value is.
        lobe_source: per valve, as in `EventsResult`.
    """

    valves: tuple[str, ...]
    roles: tuple[str, ...]
    cylinders: tuple[int, ...]
    lashes: FloatArray
    changed: bool
    checks: tuple[tuple[float, str], ...]
    values: dict[str, FloatArray]
    uncertainties: dict[str, FloatArray]
    lobe_source: tuple[str, ...]


def events_sweep_study(
    setup: Setup,
    lashes: Sequence[float],
    checks: Sequence[tuple[float, str]] = ((0.0, "valve"),),
    *,
    changed: bool = False,
    with_uncertainty: bool = True,
) -> EventsSweep:
    """Study the events at every lash [m] and every checking lift [m].

    Args:
        setup: the engine.
        lashes: the same at every valve, where the sheet measures it; or changes of every valve's own.
        changed: True for changes, so that each role keeps its own lash; a lash below none has no events.
        checks: (checking lift, where it is read).
        with_uncertainty: False leaves the uncertainties out (NaN), for speed.

    Raises:
        ValueError: no lash or no checking lift, a negative lash, or a checking lift that has no events.
    """
    gaps = np.asarray(lashes, float)
    if gaps.ndim != 1 or gaps.size == 0 or not np.all(changed | (gaps >= 0)):
        raise ValueError("lashes must be one or more numbers of 0 or above")
    if not checks:
        raise ValueError("at least one checking lift is needed")
    for lift, at in checks:
        checked_case(lift, at)
    each = lashes_at_valves(setup, gaps, changed=changed)
    inputs = events_inputs(setup, each[0])
    names = _VALVES + _CYLINDERS
    # Every lash is a row of the same function that the single study evaluates.
    rows = {key: np.tile(column.value, (gaps.size, 1)) for key, column in inputs.columns.items()}
    rows["lash.lash"] = each
    with np.errstate(invalid="ignore"):
        found = [event_quantities(rows, inputs, lift, at) for lift, at in checks]
    values = {name: np.stack([each[name] for each in found], axis=1) for name in names}
    doubts = {name: np.full(array.shape, np.nan) for name, array in values.items()}
    if with_uncertainty:
        doubts = _doubts(setup, gaps, each, checks, values)
    return EventsSweep(
        valves=setup.valves,
        roles=setup.roles,
        cylinders=tuple(number for number, _, _ in inputs.cylinders),
        lashes=gaps,
        changed=changed,
        checks=tuple(checks),
        values=values,
        uncertainties=doubts,
        lobe_source=tuple("" if curve is None else curve.source for curve in inputs.curves),
    )


def lash_cells(lashes: FloatArray, system: str, *, changed: bool) -> list[str]:
    """Write lashes, or their changes with a sign, without their unit."""
    if not changed:
        return [bare(float(each), "length", system) for each in lashes]
    digits = 4 if system == "inch" else 3
    return [f"{from_si(float(each), 'length', system, difference=True):+.{digits}f}" for each in lashes]


def lashes_at_valves(setup: Setup, lashes: FloatArray, *, changed: bool) -> FloatArray:
    """Lash at every valve where the sheet measures it [m], shape [lashes, valves]; NaN below none."""
    own = setup.column("lash", "lash").value if changed else np.zeros(len(setup.trains))
    each = own + np.asarray(lashes, float)[:, np.newaxis]
    return np.asarray(np.where(each >= 0, each, np.nan))


def _doubts(
    setup: Setup,
    gaps: FloatArray,
    each: FloatArray,
    checks: Sequence[tuple[float, str]],
    values: dict[str, FloatArray],
) -> dict[str, FloatArray]:
    """Uncertainties at three lashes, interpolated over the others."""
    order = [int(index) for index in np.argsort(gaps)]
    at = list(dict.fromkeys((order[0], order[gaps.size // 2], order[-1])))
    doubts: dict[str, FloatArray] = {name: np.full_like(array, np.nan) for name, array in values.items()}
    for check, (lift, where) in enumerate(checks):
        results = [events_study(setup, lift, where, each[index]) for index in at]
        for name, array in doubts.items():
            known = np.stack([getattr(result, name).uncertainty for result in results])
            for column in range(array.shape[-1]):
                there = np.isfinite(known[:, column])
                if there.any():
                    array[:, check, column] = np.interp(gaps, gaps[at][there], known[there, column])
    return {name: np.where(np.isnan(values[name]), np.nan, doubt) for name, doubt in doubts.items()}
