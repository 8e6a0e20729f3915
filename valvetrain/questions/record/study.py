"""What does the record of inspections say of every valve, and when is the next look due?"""

from dataclasses import dataclass
from datetime import date, timedelta

import numpy as np

from valvetrain.answers.quantity import Quantity
from valvetrain.mechanics.arrays import BoolArray, FloatArray
from valvetrain.mechanics.trend.diagnosis import AS_THE_REST, Diagnosis, diagnoses, next_inspection
from valvetrain.mechanics.trend.wear import CANNOT_TELL, FALLING, STEADY, SetStates
from valvetrain.parts.record import AXES, WearLog
from valvetrain.questions.record.states import RecordStates, record_states
from valvetrain.setup.linkage_columns import lobe_lift_as_made
from valvetrain.setup.setup import Setup

__all__ = ["RecordResult", "record_study"]


@dataclass(frozen=True)
class RecordResult:
    """The record at every valve.

    Attributes:
        readings: number of rows of each valve.
        lash_change: lash that wear added (negative: took) over the record, resets taken out.
        lift_change: change of the lobe's lift over the record.
        provable_lash, provable_lift: least change that the record would have proved.
        last_lash, last_lift: last readings.
        lift_left: lift as made less the trend's lift at the last reading: the wear of the lobe now.
        lash_off: lash as the last inspection left it less the lash wanted, where both are of one state.
        seat_recession: how far the valve has sunk into its seat over the record, where its lash closes.
        lash_state, lift_state: "rising", "steady", "falling", "cannot tell".
        stands_out: quantities in which the valve differs from the rest of the set.
        found: the diagnoses, the gravest first.
        next_in: time from the last reading to the next look, in `axis_dimension`; NaN unknown.
        axis, axis_dimension: what the record counts in.
        next_date: the same as a date, where the record counts dates.
        states: trends and readings, for plots.
        time, lash, lift: readings by valve, [valves, readings].
        turned: last seen turning: True, False, or None.
        skipped: lash readings in the other state (hot or cold), left out of each valve's trend.
        source: the record's file.
        named: whether the sheet names its engine, so that another engine's rows would have been refused.
    """

    valves: tuple[str, ...]
    roles: tuple[str, ...]
    readings: tuple[int, ...]
    lash_change: Quantity
    lift_change: Quantity
    provable_lash: Quantity
    provable_lift: Quantity
    last_lash: Quantity
    last_lift: Quantity
    lift_left: Quantity
    lash_off: Quantity
    seat_recession: Quantity
    lash_state: tuple[str, ...]
    lift_state: tuple[str, ...]
    stands_out: tuple[tuple[str, ...], ...]
    found: tuple[tuple[Diagnosis, ...], ...]
    next_in: Quantity
    axis: str
    next_date: tuple[str, ...]
    states: RecordStates
    time: FloatArray
    lash: FloatArray
    lift: FloatArray
    turned: tuple[bool | None, ...]
    skipped: tuple[int, ...]
    source: str
    named: bool


def record_study(setup: Setup, log: WearLog) -> RecordResult:
    """Judge every valve's record against its own past and against the rest of the set."""
    count = len(setup.valves)
    place = _places(log.valve, count)
    time, found, left, lift, hot, turned = (
        _by_valve(each, log.valve, place, count)
        for each in (log.time, log.lash_found, log.lash_left, log.lobe_lift, log.hot, log.turned)
    )
    found, left, skipped = _one_state(found, left, hot)
    role = np.array([0 if each == "intake" else 1 for each in setup.roles])
    lash_limit, wear_limit = setup.limits["lash_deviation"].high, setup.limits["lobe_wear"].high
    states = record_states(
        time,
        found,
        left,
        lift,
        role,
        lash_step=log.lash_step,
        lift_step=log.lift_step,
        notable_lash=lash_limit,
        notable_lift=wear_limit,
    )
    lash_trend, lift_trend = states.lash_trend, states.lift_trend
    lash_slope_u, lift_slope_u = states.lash.slope_uncertainty, states.lift_states.slope_uncertainty
    last_lash, last_lift = _last(found), _last(lift)
    made_column = lobe_lift_as_made(setup)
    made = made_column.value
    # The trend's lift is counted from its role's median; the last readings tell where that stands.
    middle = _last(lift - states.lift)
    worn = made - (lift_trend.level + middle)
    out = tuple(
        tuple(
            name
            for name, each in (("lash", states.lash), ("lift", states.lift_states))
            if each.stands_out[index]
        )
        for index in range(count)
    )
    last_turned = tuple(None if np.isnan(each) else bool(each) for each in _last(turned).tolist())
    lash_state = tuple(map(str, states.lash.state))
    lift_state = tuple(map(str, states.lift_states.state))
    each_found = tuple(
        _diagnosed(states, index, lash_state[index], lift_state[index], last_turned[index], out[index])
        for index in range(count)
    )
    ratio = np.where([train.lash.at == "pushrod" for train in setup.trains], _ratio(setup), 1.0)
    closing = np.array([state == FALLING for state in lash_state])
    recession = np.where(closing, -lash_trend.slope * states.span * ratio, np.nan)
    lash_now = _last(np.where(np.isnan(left), found, left))
    same_state = _in_the_wanted_state(setup, log)
    next_in = _next(setup, log, states, worn, lash_now, time)
    rows = np.array([(~np.isnan(row)).sum() for row in time])
    return RecordResult(
        valves=setup.valves,
        roles=setup.roles,
        readings=tuple(rows.tolist()),
        lash_change=_quantity(lash_trend.slope * states.span, lash_slope_u * states.span),
        lift_change=_quantity(lift_trend.slope * states.span, lift_slope_u * states.span),
        provable_lash=_quantity(states.lash.provable_change),
        provable_lift=_quantity(states.lift_states.provable_change),
        last_lash=_quantity(last_lash, np.broadcast_to(states.lash.noise, (count,))),
        last_lift=_quantity(last_lift, np.broadcast_to(states.lift_states.noise, (count,))),
        lift_left=_quantity(worn, _level_doubt(time, lift, states.lift_states, made_column.uncertainty)),
        lash_off=_quantity(
            np.where(same_state, lash_now - setup.column("lash", "wanted").value, np.nan),
            np.broadcast_to(states.lash.noise, (count,)),
        ),
        seat_recession=_quantity(recession, np.where(closing, lash_slope_u * states.span * ratio, np.nan)),
        lash_state=lash_state,
        lift_state=lift_state,
        stands_out=out,
        found=each_found,
        next_in=_quantity(next_in, dimension="days" if log.axis == "date" else AXES[log.axis]),
        axis=log.axis,
        next_date=_dates(log, next_in, time),
        states=states,
        time=time,
        lash=found,
        lift=lift,
        turned=last_turned,
        skipped=skipped,
        source=log.source,
        named=setup.record.engine is not None,
    )


def _diagnosed(
    states: RecordStates, index: int, lash: str, lift: str, turned: bool | None, out: tuple[str, ...]
) -> tuple[Diagnosis, ...]:
    """Diagnose one valve; what it does as its fellows do is told as that, and is no fault of the valve's."""
    if out:
        return diagnoses(lash, lift, turned, out)
    shared = []
    for name, state, of_set in (("lash", lash, states.lash), ("lift", lift, states.lift_states)):
        if state not in (STEADY, CANNOT_TELL) and bool(of_set.together[index]):
            shared.append(Diagnosis(AS_THE_REST, f"its {name} moves as its fellows' does", True))
    own = diagnoses(
        STEADY if states.lash.together[index] and lash != CANNOT_TELL else lash,
        STEADY if states.lift_states.together[index] and lift != CANNOT_TELL else lift,
        turned,
        out,
    )
    if shared:
        own = tuple(each for each in own if each.name != "no change found")
    return (*own, *shared)


def _level_doubt(time: FloatArray, lift: FloatArray, states: SetStates, made: FloatArray) -> FloatArray:
    """Standard uncertainty of the trend's lift at the last reading, less the lift as made."""
    known = ~np.isnan(lift)
    count = np.maximum(known.sum(axis=-1), 1)
    when = np.where(known, time, 0.0)
    past = np.max(np.where(known, time, -np.inf), axis=-1) - when.sum(axis=-1) / count
    slope_part = np.nan_to_num(states.slope_uncertainty * np.where(np.isfinite(past), past, 0.0))
    return np.asarray(np.sqrt(states.noise**2 / count + slope_part**2 + np.nan_to_num(made) ** 2), float)


def _in_the_wanted_state(setup: Setup, log: WearLog) -> BoolArray:
    """Whether each valve's lash was mostly read in the state (cold or hot) in which its lash is wanted."""
    count = len(setup.valves)
    rows = np.bincount(log.valve, minlength=count)
    hot = 2 * np.bincount(log.valve, weights=log.hot == 1, minlength=count) > rows
    return np.array(
        [(train.lash.state == "hot") == warm for train, warm in zip(setup.trains, hot, strict=True)]
    )


def _places(valve: np.ndarray[tuple[int], np.dtype[np.intp]], count: int) -> FloatArray:
    """Return the place of each row among its valve's rows, in the file's order."""
    order = np.argsort(valve, kind="stable")
    starts = np.searchsorted(valve[order], np.arange(count))
    place = np.empty(valve.size, int)
    place[order] = np.arange(valve.size) - starts[valve[order]]
    return np.asarray(place)


def _by_valve(
    column: FloatArray, valve: np.ndarray[tuple[int], np.dtype[np.intp]], place: FloatArray, count: int
) -> FloatArray:
    """Lay a column of the file out by valve, [valves, readings], NaN past a valve's last row."""
    table = np.full((count, int(place.max()) + 1), np.nan)
    table[valve, place.astype(int)] = column
    return table


def _one_state(
    found: FloatArray, left: FloatArray, hot: FloatArray
) -> tuple[FloatArray, FloatArray, tuple[int, ...]]:
    """Keep the lash readings of each valve's usual state; what was adjusted in the other still counts."""
    read = ~np.isnan(found) | ~np.isnan(left)
    mostly_hot = 2 * (hot * read == 1).sum(axis=-1) > read.sum(axis=-1)
    other = read & (hot != mostly_hot[:, np.newaxis])
    found, left = found.copy(), left.copy()
    for valve, row in np.argwhere(other).tolist():
        change = left[valve, row] - found[valve, row]
        found[valve, row] = left[valve, row] = np.nan
        if np.isnan(change) or row == 0:
            continue
        before = np.where(np.isnan(left[valve, :row]), found[valve, :row], left[valve, :row])
        known = before[~np.isnan(before)]
        if known.size:
            left[valve, row] = known[-1] + change
    return found, left, tuple(other.sum(axis=-1).tolist())


def _last(table: FloatArray) -> FloatArray:
    """Return each row's last value that is known."""
    known: BoolArray = ~np.isnan(table)
    index = table.shape[-1] - 1 - np.argmax(known[:, ::-1], axis=-1)
    return np.asarray(np.take_along_axis(table, index[:, np.newaxis], -1)[:, 0])


def _ratio(setup: Setup) -> FloatArray:
    """Return the ratio that carries a lash at the pushrod to the valve."""
    return setup.column("rocker", "nominal_ratio").value


def _next(
    setup: Setup,
    log: WearLog,
    states: RecordStates,
    worn: FloatArray,
    lash_now: FloatArray,
    time: FloatArray,
) -> FloatArray:
    """Return the time to the next look: the soonest that lash, either way, or lift asks for."""
    record = setup.record
    given = {
        "hours": record.inspection_interval,
        "distance": record.inspection_distance,
        "date": record.inspection_days,
    }[log.axis]
    gaps = np.diff(np.unique(time[~np.isnan(time)]))
    longest = given.value if given is not None else float(np.median(gaps)) if gaps.size else np.nan
    if not longest > 0:
        return np.full(lash_now.shape, np.nan)
    lash_limit, wear_limit = setup.limits["lash_deviation"], setup.limits["lobe_wear"]
    wanted = setup.column("lash", "wanted").value
    away = lash_now - wanted
    lash, lift = states.lash_trend.slope, states.lift_trend.slope
    due = []
    for change, rate, doubt, limit in (
        (away, lash, states.lash.slope_uncertainty, lash_limit.high),
        (-away, -lash, states.lash.slope_uncertainty, -lash_limit.low),
        (worn, -lift, states.lift_states.slope_uncertainty, wear_limit.high),
    ):
        if not np.isfinite(limit) or limit <= 0:
            continue
        due.append(next_inspection(change, rate, doubt, limit, longest))
    if not due:
        return np.full(lash_now.shape, np.nan)
    return np.asarray(np.fmin.reduce(due))


def _dates(log: WearLog, next_in: FloatArray, time: FloatArray) -> tuple[str, ...]:
    """Write the next looks as dates, where the record counts dates."""
    if log.first_date is None:
        return ("",) * next_in.size
    start = date.fromordinal(log.first_date)
    due = _last(time) + next_in
    return tuple(
        "" if np.isnan(each) else (start + timedelta(seconds=float(each))).isoformat() for each in due
    )


def _quantity(
    value: FloatArray, uncertainty: FloatArray | None = None, dimension: str = "length"
) -> Quantity:
    unsure = np.full(value.shape, np.nan) if uncertainty is None else np.asarray(uncertainty)
    return Quantity(dimension, np.asarray(value, float), unsure, {})
