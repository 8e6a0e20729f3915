"""Invented shaft-rocker engines with seeded geometry and noise, for the tests of the linkage's fit.

All numbers are invented; they are typical of the kind only in size.
"""

from dataclasses import replace

import numpy as np

from valvetrain.mechanics.fit.layout import Layout, Priors
from valvetrain.mechanics.fit.model import ReadingModel, linkage_outputs
from valvetrain.mechanics.fit.readings import Readings

LOBE_LIFT = 7.6e-3
DIAL, EDGE, CALIPER = 2e-5, 1.2e-4, 5e-5

MEAN = {
    "setback": 38.0e-3,
    "height": 6.5e-3,
    "pad_arm": 38.2e-3,
    "pad_radius": 12.0e-3,
    "socket_arm": 26.0e-3,
    "arm_angle": 2.95,
    "tappet_setback": 25.5e-3,
    "tappet_angle": 0.06,
    "tappet_position": -0.215,
    "pushrod_length": 0.2145,
    "ink_margin": 0.15e-3,
    "tip_height": 0.0,
    "lash": 0.35e-3,
    "ink_zero": 0.0,
    "dial_zero": 0.0,
}
DEVIATION = {
    "setback": 1.0e-3,
    "height": 1.5e-3,
    "pad_arm": 0.5e-3,
    "pad_radius": 0.5e-3,
    "socket_arm": 0.5e-3,
    "arm_angle": 0.04,
    "tappet_setback": 1.0e-3,
    "tappet_angle": 0.03,
    "tappet_position": 3.0e-3,
    "pushrod_length": 0.5e-3,
    "ink_margin": 0.05e-3,
    "tip_height": 0.1e-3,
    "lash": 0.05e-3,
    "ink_zero": 0.05e-3,
    "dial_zero": 0.01e-3,
}


def priors(valves):
    return Priors(
        valves,
        {name: np.array(one) for name, one in MEAN.items()},
        {name: np.array(one) for name, one in DEVIATION.items()},
    )


def plan(valves, lifts=8):
    """Twelve readings a valve: dial at `lifts` tappet lifts, both ink edges, a turn, the exposure."""
    kind, valve, at, spread = [], [], [], []

    def add(name, one, place, uncertainty):
        kind.append(name)
        valve.append(one)
        at.append(place)
        spread.append(uncertainty)

    for one in range(valves):
        for lift in np.linspace(0.12, 1.0, lifts):
            add("net_lift", one, LOBE_LIFT * lift, DIAL)
        add("near_edge", one, LOBE_LIFT, EDGE)
        add("far_edge", one, LOBE_LIFT, EDGE)
        add("turns", one, 1.25e-3, DIAL)
        add("exposure", one, np.nan, 2e-4)
    count = len(kind)
    return Readings(
        tuple(kind),
        np.array(valve),
        np.array(at),
        np.zeros(count),
        np.array(spread),
        ("",) * count,
        resolution=np.full(count, 1e-5),
    )


def with_calipers(readings, names=("pad_arm", "socket_arm", "pad_radius"), spread=1e-4):
    count = len(names)

    def longer(array, fill):
        return np.concatenate([array, np.full(count, fill)])

    return replace(
        readings,
        kind=readings.kind + ("dimension",) * count,
        parameter=readings.parameter + tuple(names),
        valve=np.concatenate([readings.valve, np.zeros(count, int)]),
        at=longer(readings.at, np.nan),
        value=longer(readings.value, 0.0),
        uncertainty=longer(readings.uncertainty, spread),
        resolution=longer(readings.resolution, 1e-5),
    )


def invented(seed, valves=3, readings=None):
    """True parameter vector, readings with noise, and the truth of every output."""
    generator = np.random.default_rng(seed)
    layout = Layout(priors(valves))
    readings = with_calipers(plan(valves)) if readings is None else readings
    truth = layout.mean + layout.deviation * generator.standard_normal(layout.mean.size)
    exact = ReadingModel(readings, layout).predicted(truth[np.newaxis])[0]
    noisy = exact + readings.uncertainty * generator.standard_normal(exact.size)
    outputs = linkage_outputs(layout.columns(truth[np.newaxis]), np.full(valves, LOBE_LIFT))
    return truth, replace(readings, value=noisy), {name: one[0] for name, one in outputs.items()}


def spoiled(readings, generator):
    """The readings with one in twelve grossly wrong, and which ones: one slip each of those a shop makes."""
    value = readings.value.copy()
    wrong = []
    for first in range(0, value.size - value.size % 12, 12):
        index = first + int(generator.integers(12))
        slip = int(generator.integers(4))
        if slip == 0:
            value[index] /= 25.4
        elif slip == 1:
            value[index] += generator.uniform(0.5e-3, 3e-3)
        elif slip == 2:
            value[index] += 1.0e-3
        else:
            value[index] *= 1.5
        wrong.append(index)
    return replace(readings, value=value), wrong


def outputs_of(valves):
    return lambda columns: linkage_outputs(columns, np.full(valves, LOBE_LIFT))


def dial(readings, valve=1):
    """Indices of one valve's dial readings."""
    kinds = np.array(readings.kind)
    return np.flatnonzero((kinds == "net_lift") & (readings.valve == valve))


def without(readings, index):
    keep = np.arange(len(readings.kind)) != index
    return replace(
        readings,
        kind=tuple(np.array(readings.kind)[keep]),
        parameter=tuple(np.array(readings.parameter)[keep]),
        **{
            name: getattr(readings, name)[keep]
            for name in ("valve", "at", "value", "uncertainty", "resolution")
        },
    )


def wide(**deviations):
    changed = DEVIATION | deviations
    return Priors(
        3,
        {name: np.array(one) for name, one in MEAN.items()},
        {name: np.array(one) for name, one in changed.items()},
    )
