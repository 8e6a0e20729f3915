"""Is the lash inside the cam's ramps, cold and hot, and how is it set?"""

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from valvetrain.answers.output import dimensions, output
from valvetrain.answers.quantity import Quantity, computed
from valvetrain.mechanics.arrays import FloatArray
from valvetrain.mechanics.cam.events import crossings
from valvetrain.mechanics.cam.lash_ramp import adjuster_turns, detected_ramps, lash_window, ramp_left
from valvetrain.mechanics.cam.lift_curve import LiftCurve
from valvetrain.mechanics.rocker.feeler_error import feeler_reading
from valvetrain.mechanics.rocker.linkage import pad_drop_and_ratio, tappet_lift_at_pad_drop
from valvetrain.parts.lobe_curve import lobe_curve
from valvetrain.parts.train import Train
from valvetrain.questions.events.lash_growth import LashGrowth, lash_growth_study
from valvetrain.questions.events.lobe_doubt import slope_doubts
from valvetrain.questions.rocker.linkage_inputs import closed_linkage, lash_at_valve
from valvetrain.setup.linkage_columns import height_over_tip, linkage_columns
from valvetrain.setup.setup import Column, Setup

__all__ = ["LashSetting", "lash_setting_study"]

# Standard uncertainty of a ramp end read off a table, as a share of the lobe lift: where a law's flank takes
# over is seen too early or too late by this much (own trial on tables of four laws with noise, no source).
_RAMP_SHARE = 0.0035
# Below so many times the noise of its readings a ramp counts as not begun.
_BEGUN = 4.0


@dataclass(frozen=True)
class LashSetting:
    """The lash at every valve, along the stem; NaN where what it needs is not known."""

    valves: tuple[str, ...]
    roles: tuple[str, ...]
    cold_lash: Quantity = output("length", "lash at room temperature: as set and found, or as it comes of it")
    hot_lash: Quantity = output("length", "lash at running temperature, stopped")
    growth: Quantity = output("length", "hot less cold lash; positive where the lash opens")
    cold_to_set: Quantity = output(
        "length", "lash to set cold for the hot lash that is wanted", heading="to set cold"
    )
    ratio_at_opening: Quantity = output("ratio", "rocker ratio where the lash is just taken up")
    opening_ramp: Quantity = output("length", "tappet lift at the opening ramp's lobe end")
    closing_ramp: Quantity = output("length", "tappet lift at the closing ramp's lobe end")
    opening_left: Quantity = output(
        "length",
        "what is left of the opening ramp, at the valve, at the lash that the engine runs with; minus: past",
        heading="ramp left opening",
    )
    closing_left: Quantity = output("length", "the same of the closing ramp", heading="ramp left closing")
    ramp_left: Quantity = output("length", "the lesser of the two")
    least_lash: Quantity = output("length", "least lash that keeps both ends on the ramps")
    greatest_lash: Quantity = output("length", "greatest lash that keeps both ends on the ramps")
    opening_velocity: Quantity = output(
        "lift_rate", "speed of the tappet where the lash is taken up, over cam angle", heading="speed opening"
    )
    closing_velocity: Quantity = output(
        "lift_rate", "the same where it is given back", heading="speed closing"
    )
    opening_speed: Quantity = output("speed", "of the pad onto the tip, at the redline")
    closing_speed: Quantity = output("speed", "of the valve onto its seat, at the redline", heading="seating")
    turns: Quantity = output(
        "ratio", "of the adjuster back from zero lash that leave the lash wanted, locknut tightened"
    )
    ramp_from: tuple[str, ...] = output(
        None, 'where the ramps are known from: "table", "law", "stated", "card" (no ramp known) or ""'
    )
    runs_hot: tuple[bool, ...] = output(None, "True where the ramps are judged at the hot lash")
    feeler_error: FloatArray = output(
        "length", "what a feeler leaves unseen in a hollow pad; NaN where no worn pad is described"
    )
    running_lash: FloatArray = output(
        "length", "lash that the engine runs with, the hot one where it is known"
    )
    taken_up_lift: FloatArray = output(
        "length", "tappet lift at which that lash and the train's play are taken up"
    )
    ramp_begun: FloatArray = output("length", "tappet lift below which the ramp counts as not begun")
    thermal: LashGrowth = output(None, "the growth with its parts", key="")


def lash_setting_study(setup: Setup, lash: float | FloatArray | None = None) -> LashSetting:
    """Study the lash against ramps and heat; `lash` [m], one or one a valve, in place of the sheet's."""
    curves = [lobe_curve(train.lobe) for train in setup.trains]
    columns = linkage_columns(setup)
    if lash is not None:
        found = columns["lash.lash"]
        columns["lash.lash"] = Column(
            np.broadcast_to(np.asarray(lash, float), found.value.shape), found.uncertainty, found.source
        )
    at_pushrod = np.array([train.lash.at == "pushrod" for train in setup.trains])
    thermal = lash_growth_study(setup, columns)
    for name, column in _ramps(setup, curves).items():
        columns[name] = column
    columns["growth"] = thermal.growth
    for section, key in (("rocker", "thread_pitch"), ("rocker", "locknut_gain"), ("rocker", "take_up")):
        columns[f"{section}.{key}"] = setup.column(section, key)
    for key in ("locknut_gain", "take_up"):
        column = columns[f"rocker.{key}"]
        columns[f"rocker.{key}"] = Column(np.nan_to_num(column.value), column.uncertainty, column.source)
    columns["lash.wanted"] = setup.column("lash", "wanted")
    columns["hot.wanted_hot_lash"] = setup.column("hot", "wanted_hot_lash")
    states = tuple(train.lash.state for train in setup.trains)
    runs_hot = tuple(
        state == "hot" or (state == "cold" and not np.isnan(growth))
        for state, growth in zip(states, thermal.growth.value, strict=True)
    )
    as_given = {key: column.value[np.newaxis] for key, column in columns.items()}
    taken = _running_level(as_given, states, np.array(runs_hot), at_pushrod)
    level, running = taken[0][0], taken[4][0]
    columns["lobe slope"] = slope_doubts(setup, curves, level)
    redline = np.nan if setup.engine.redline is None else setup.engine.redline.value
    quantities = computed(
        lambda rows: _quantities(rows, curves, states, np.array(runs_hot), at_pushrod, redline),
        columns,
        dimensions(LashSetting),
    )
    rows = {key: column.value for key, column in columns.items()}
    return LashSetting(
        valves=setup.valves,
        roles=setup.roles,
        feeler_error=_feeler_error(setup, rows, at_pushrod),
        ramp_from=tuple(
            _ramp_source(train, curve) for train, curve in zip(setup.trains, curves, strict=True)
        ),
        runs_hot=runs_hot,
        running_lash=running,
        taken_up_lift=level,
        ramp_begun=rows["ramp, begun"],
        thermal=thermal,
        **quantities,
    )


def _ramp_source(train: Train, curve: LiftCurve | None) -> str:
    """Say where a lobe's ramp is known from."""
    if train.lobe.ramp_height is not None and train.lobe.law is None:
        return "stated"
    return "" if curve is None else curve.source


def _ramps(setup: Setup, curves: list[LiftCurve | None]) -> dict[str, Column]:
    """Heights of the ramps' lobe ends at the tappet, and the lift below which a ramp has not begun."""
    count = len(curves)
    names = ("ramp, opening", "ramp, closing", "ramp, begun")
    values = {name: np.full(count, np.nan) for name in names}
    doubts = {name: np.zeros(count) for name in names}
    sources = [""] * count
    seen: dict[int, tuple[list[float], list[float]]] = {}
    for index, (train, curve) in enumerate(zip(setup.trains, curves, strict=True)):
        lobe = train.lobe
        begun = 0.0
        if curve is not None and lobe.table is not None:
            begun = float(np.nan_to_num(curve.runout)) + _BEGUN * curve.lift_uncertainty
            begun = max(begun, lobe.table.seen_from)
        if lobe.ramp_height is not None:
            opening, closing = lobe.ramp_height, lobe.closing_ramp_height or lobe.ramp_height
            known = [opening.value, closing.value], [opening.uncertainty, closing.uncertainty]
            sources[index] = opening.source
        elif curve is not None and curve.source == "table" and lobe.table is not None:
            if id(curve) not in seen:
                seen[id(curve)] = _found_ramps(curve, np.array(lobe.table.cam_angles))
            known, sources[index] = seen[id(curve)], lobe.table.source
        elif curve is not None and curve.source == "law":
            known, sources[index] = ([0.0, 0.0], [0.0, 0.0]), "the law has no ramp"
        else:
            continue
        for name, value, doubt in zip(names, (*known[0], begun), (*known[1], 0.0), strict=True):
            values[name][index], doubts[name][index] = value, doubt
    return {name: Column(values[name], doubts[name], tuple(sources)) for name in names}


def _found_ramps(curve: LiftCurve, angles: FloatArray) -> tuple[list[float], list[float]]:
    """Ramp heights read off a table's curve; their ends are blurred by about the spacing of its rows."""
    try:
        ramps = detected_ramps(curve)
    except ValueError:
        return [np.nan, np.nan], [0.0, 0.0]
    blur = float(np.median(np.diff(angles)))
    speed = np.abs(curve.velocity(np.array([ramps.opening_end, ramps.closing_end])))
    doubt = np.hypot(speed * blur / np.sqrt(12.0), _RAMP_SHARE * curve.max_lift)
    return [ramps.opening_height, ramps.closing_height], [float(each) for each in doubt]


def _running_level(
    rows: Mapping[str, FloatArray],
    states: tuple[str | None, ...],
    runs_hot: FloatArray,
    at_pushrod: FloatArray,
) -> tuple[FloatArray, FloatArray, FloatArray, FloatArray, FloatArray]:
    """Tappet lift that takes up the lash it runs with, ratio there; cold, hot, running lash: each [k, n]."""
    lash, growth = lash_at_valve(rows, at_pushrod), rows["growth"]
    set_cold, set_hot = (np.array([state == name for state in states]) for name in ("cold", "hot"))
    cold = np.where(set_cold, lash, np.where(set_hot, lash - growth, np.nan))
    hot = np.where(set_hot, lash, np.where(set_cold, lash + growth, np.nan))
    running = np.where(runs_hot, hot, lash)
    closed = closed_linkage(rows, lash)
    # Below no lash the valve is held open: there is no take-up and no seating.
    running_lift = np.where(running >= 0, running, np.nan)
    level = tappet_lift_at_pad_drop(closed, running_lift[..., np.newaxis])[..., 0]
    nominal = rows["rocker.nominal_ratio"]
    level = np.where(np.isnan(level), running_lift / nominal, level)
    ratio = pad_drop_and_ratio(closed, level[..., np.newaxis])[1][..., 0]
    ratio = np.where(np.isnan(ratio), nominal, ratio)
    return level + rows["rocker.take_up"], ratio, cold, hot, running


def _quantities(
    rows: Mapping[str, FloatArray],
    curves: list[LiftCurve | None],
    states: tuple[str | None, ...],
    runs_hot: FloatArray,
    at_pushrod: FloatArray,
    redline: float,
) -> dict[str, FloatArray]:
    """Compute the study's quantities, each [k, n]; see `LashSetting`."""
    level, ratio, cold, hot, running = _running_level(rows, states, runs_hot, at_pushrod)
    play = rows["rocker.take_up"]
    speed = {"opening": np.full(level.shape, np.nan), "closing": np.full(level.shape, np.nan)}
    for curve in {id(each): each for each in curves if each is not None}.values():
        own = np.array([each is curve for each in curves])
        events = crossings(curve, level[..., own])
        speed["opening"][..., own] = np.abs(curve.velocity(events.opening))
        speed["closing"][..., own] = np.abs(curve.velocity(events.closing))
    speed = {flank: each * (1 + rows["lobe slope"]) for flank, each in speed.items()}
    ramps = rows["ramp, opening"], rows["ramp, closing"]
    left = [ramp_left(height, running, ratio, play) for height in ramps]
    least, greatest = lash_window(*ramps, ratio, play, rows["ramp, begun"])
    # Half of the crank's speed is the cam's; the rocker multiplies the tappet's.
    at_redline = 0.5 * redline * ratio
    pitch = rows["rocker.thread_pitch"]
    wanted = np.where(at_pushrod, rows["lash.wanted"] * ratio, rows["lash.wanted"])
    return {
        "cold_lash": cold,
        "hot_lash": hot,
        "growth": rows["growth"],
        "cold_to_set": np.where(np.isnan(rows["hot.wanted_hot_lash"]), np.nan, 1.0)
        * (rows["hot.wanted_hot_lash"] - rows["growth"]),
        "ratio_at_opening": ratio,
        "opening_ramp": ramps[0],
        "closing_ramp": ramps[1],
        "opening_left": left[0],
        "closing_left": left[1],
        "ramp_left": np.minimum(left[0], left[1]),
        "least_lash": least,
        "greatest_lash": greatest,
        "opening_velocity": speed["opening"],
        "closing_velocity": speed["closing"],
        "opening_speed": speed["opening"] * at_redline,
        "closing_speed": speed["closing"] * at_redline,
        "turns": adjuster_turns(wanted, pitch, ratio, rows["rocker.locknut_gain"]),
    }


def _feeler_error(setup: Setup, rows: Mapping[str, FloatArray], at_pushrod: FloatArray) -> FloatArray:
    """What a feeler leaves unseen under a pad worn hollow, at every valve [m]."""
    error = np.full(len(setup.trains), np.nan)
    lash = lash_at_valve(rows, at_pushrod)
    height = height_over_tip(rows)
    for index, train in enumerate(setup.trains):
        rocker, valve = train.rocker, train.valve
        outline = rocker.pad_outline
        if outline is None or rocker.feeler_width is None or valve.stem_diameter is None:
            continue
        chamfer = 0.0 if valve.tip_chamfer is None else valve.tip_chamfer.value
        tip = valve.stem_diameter.value - 2 * chamfer
        angle = float(closed_linkage(rows, lash).pad_angle[index])
        if np.isnan(angle):
            continue
        reading = feeler_reading(
            np.array(outline.points),
            setback=rows["shaft.setback"][index],
            height=height[index],
            pad_angle=angle,
            tip_width=tip,
            blade_width=rocker.feeler_width.value,
        )
        error[index] = float(reading.error)
    return error
