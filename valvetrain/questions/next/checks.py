"""What to measure next: the measurements that would turn most open verdicts into decisions."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from valvetrain.answers.verdict import Check
from valvetrain.mechanics.uncertainty.next_measurement import Candidate, OpenQuestion, ranked_measurements
from valvetrain.parts.spec import Spec
from valvetrain.setup.schema import SECTIONS
from valvetrain.setup.setup import Setup
from valvetrain.setup.tables.columns import COLUMNS

__all__ = ["NextMeasurement", "next_measurements"]

_BOUNDLESS = 1e100  # SI: nothing about an engine comes near it, and the square of more could not be written
_LITTLE = 0.05  # share of a doubt: what helps less at a valve is not named for it
_OVER_EDGES = 75e-6  # m: a caliper over two parts' edges, halves of diameters added (our judgment)
_OVER = ("shaft.setback", "shaft.height", "rocker.pad_arm", "rocker.socket_arm", "tappet.setback")


@dataclass(frozen=True)
class NextMeasurement:
    """One thing to measure, or several that only help together.

    Attributes:
        keys: sheet keys; more than one where verdicts wait for all of them.
        instruments: what each is measured with.
        uncertainty, dimension: standard uncertainty [SI] and dimension of each.
        valves: where: the valves whose verdicts it touches.
        decided: verdicts, now unsure, that it is expected to decide.
        opened: verdicts, now unmeasured, that it opens to judgment.
        after: quantity's name -> (dimension, standard uncertainty now, and after it) [SI], at the valve where
            it is the greatest now; only quantities that are unsure somewhere.
    """

    keys: tuple[str, ...]
    instruments: tuple[str, ...]
    uncertainty: tuple[float, ...]
    dimension: tuple[str, ...]
    valves: tuple[str, ...]
    decided: float
    opened: int
    after: Mapping[str, tuple[str, float, float]]


def next_measurements(setup: Setup, checks: Sequence[Check]) -> list[NextMeasurement]:
    """Rank what could be measured, the most useful first.

    A measurement is combined with what is known, by its usual instrument's uncertainty (`[instruments]`), at
    all valves at once. Where a verdict waits for several measurements they are listed together.
    """
    found = [*_for_unsure(setup, checks), *_for_unmeasured(setup, checks)]
    # What needs several measurements counts for each of them.
    found.sort(key=lambda one: -(one.decided + one.opened) / len(one.keys))
    return found


def _spec(key: str) -> Spec | None:
    """Description of a sheet key; None for what is not one value of the sheet."""
    if key in COLUMNS:
        return COLUMNS[key][2]
    section, _, name = key.partition(".")
    fields = getattr(SECTIONS.get(section), "__dataclass_fields__", {})
    return fields[name].metadata["spec"] if name in fields else None


def _reading(setup: Setup, key: str, value: float) -> tuple[str, str, float] | None:
    """Instrument, dimension and standard uncertainty [SI] of measuring a key; None where it cannot be."""
    spec = _spec(key)
    if spec is None or spec.dimension is None or spec.instrument in (None, "exact", "nominal_ratio"):
        return None
    kind, doubt = setup.instruments[str(spec.instrument)]
    if kind == "fraction" and spec.dimension != "fraction":
        doubt *= abs(value) if np.isfinite(value) else float("nan")
    if key in _OVER:
        doubt = max(doubt, _OVER_EDGES)
    return str(spec.instrument).replace("_", " "), spec.dimension, doubt


def _column(setup: Setup, key: str) -> tuple[np.ndarray, np.ndarray]:
    section, name = COLUMNS[key][:2] if key in COLUMNS else key.split(".")
    if section in ("cam", "engine") or not hasattr(setup.trains[0], section):
        owner = getattr(setup, section, None)
        one = getattr(owner, name, None)
        count = len(setup.valves)
        value, doubt = (np.nan, np.nan) if one is None else (one.value, one.uncertainty)
        return np.full(count, value), np.full(count, doubt)
    column = setup.column(section, name)
    return column.value, np.where(np.isnan(column.value), np.nan, column.uncertainty)


def _for_unsure(setup: Setup, checks: Sequence[Check]) -> list[NextMeasurement]:
    """What would decide verdicts that are unsure."""
    by_quantity: dict[tuple[str, str], list[Check]] = {}
    for check in checks:
        if check.verdict == "unsure" and check.valve is not None and check.uncertainty < _BOUNDLESS:
            by_quantity.setdefault((check.id, check.quantity), []).append(check)
    place = {valve: index for index, valve in enumerate(setup.valves)}
    count = len(setup.valves)
    questions, keys = [], []
    for (_, quantity), own in by_quantity.items():
        index = [place[str(check.valve)] for check in own]
        value, doubt, low, high = (np.full(count, np.nan) for _ in range(4))
        parts: dict[str, np.ndarray] = {}
        for row, check in zip(index, own, strict=True):
            value[row], doubt[row], low[row], high[row] = (
                check.value,
                check.uncertainty,
                check.low,
                check.high,
            )
            for key, part in check.parts.items():
                parts.setdefault(key, np.zeros(count))[row] = part
        keys += list(parts)
        low, high = np.where(np.isnan(low), -np.inf, low), np.where(np.isnan(high), np.inf, high)
        questions.append(OpenQuestion(quantity, value, doubt, parts, low, high))
    candidates, how = [], {}
    known = {}
    for key in dict.fromkeys(keys):
        value, doubt = _column(setup, key) if _spec(key) is not None else (np.array([np.nan]),) * 2
        reading = _reading(setup, key, float(np.nanmax(value)) if np.any(np.isfinite(value)) else np.nan)
        if reading is None or not reading[2] > 0.0:
            continue
        candidates.append(Candidate(key, reading[0], reading[2]))
        how[key] = reading
        known[key] = doubt
    found: list[NextMeasurement] = []
    for ranked in ranked_measurements(questions, candidates, known) if questions else []:
        key = ranked.candidate.parameter
        after, touched = {}, []
        for question, ((_, name), own) in zip(questions, by_quantity.items(), strict=True):
            left = ranked.uncertainty_after[question.name]
            gained = np.nan_to_num(1.0 - left / question.uncertainty)
            if gained.max() < _LITTLE:
                continue
            worst = int(np.nanargmax(question.uncertainty))
            after[name] = (own[0].dimension, float(question.uncertainty[worst]), float(left[worst]))
            touched += [index for index in np.flatnonzero(gained >= _LITTLE) if index not in touched]
        if after and (ranked.decided >= 0.05 or len(found) < 5):
            found.append(
                NextMeasurement(
                    (key,),
                    (how[key][0],),
                    (how[key][2],),
                    (how[key][1],),
                    tuple(setup.valves[index] for index in sorted(touched)),
                    ranked.decided,
                    0,
                    after,
                )
            )
    return found


def _for_unmeasured(setup: Setup, checks: Sequence[Check]) -> list[NextMeasurement]:
    """What would open verdicts that wait for a measurement."""
    waiting: dict[frozenset[str], list[Check]] = {}
    for check in checks:
        if check.verdict == "unmeasured" and check.missing:
            waiting.setdefault(frozenset(check.missing), []).append(check)
    found = []
    for wanted in waiting:
        opened = [check for missing, own in waiting.items() if missing <= wanted for check in own]
        keys, how = [], []
        for key in sorted(wanted):
            reading = _reading(setup, key, float("nan"))
            keys.append(key)
            spec = _spec(key)
            dimension = spec.dimension if spec is not None and spec.dimension else "length"
            how.append(reading or ("from the maker", dimension, float("nan")))
        valves = {str(check.valve) for check in opened}
        found.append(
            NextMeasurement(
                tuple(keys),
                tuple(one[0] for one in how),
                tuple(one[2] for one in how),
                tuple(one[1] for one in how),
                tuple(valve for valve in setup.valves if valve in valves),
                0.0,
                len(opened),
                {},
            )
        )
    return found
