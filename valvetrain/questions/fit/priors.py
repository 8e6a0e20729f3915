"""What is taken for granted of the linkage where the shop has not measured it: typical ranges, shown as such.

The ranges are common practice for engines of this kind, no source: they are wide, and every one of them is
named in the result so that the owner can put a better value, with its uncertainty, into the sheet instead.
"""

import math
from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from valvetrain.mechanics.arrays import FloatArray
from valvetrain.mechanics.fit.layout import OWN, SHARED, Layout, Priors
from valvetrain.mechanics.rocker.linkage import pushrod_planar_length_for
from valvetrain.questions.fit.shared import Shared
from valvetrain.setup.linkage_columns import lobe_lift
from valvetrain.setup.setup import Setup

__all__ = ["PARAMETER_KEYS", "SCATTER", "Assumption", "Known", "assumed", "reference_heights", "scatter_of"]

PARAMETER_KEYS = {
    "setback": "shaft.setback",
    "height": "shaft.height",
    "pad_arm": "rocker.pad_arm",
    "pad_radius": "rocker.pad_radius",
    "socket_arm": "rocker.socket_arm",
    "arm_angle": "rocker.arm_angle",
    "tappet_setback": "tappet.setback",
    "tappet_angle": "tappet.angle",
}
"""Parameter of the fit -> the sheet key that it is."""

_OPEN = 5.0
"""Typical ranges are wider by this where the dimension was measured."""

RATIO = 1.5
"""Ratio taken where neither a nominal ratio nor the arms are known."""


@dataclass(frozen=True)
class Known:
    """A dimension as it was measured, at every valve it holds for: value and its uncertainty [SI], [n]."""

    value: FloatArray
    uncertainty: FloatArray


SCATTER = {
    "setback_of_shaft": 0.25e-3,
    "tappet_setback_of_shaft": 0.25e-3,
    "setback_of_valve": 0.05e-3,
    "pad_arm_of_valve": 0.03e-3,
    "socket_arm_of_valve": 0.03e-3,
    "arm_angle_of_valve": math.radians(0.1),
}
"""How far parts of one set and shafts of one engine differ [m, rad], standard deviation: our judgment."""


@dataclass(frozen=True)
class Assumption:
    """A range from before any reading, with what was measured of other dimensions taken in.

    Attributes:
        parameter: of the fit.
        mean, deviation: of the range [SI].
        basis: where it comes from, in words.
        instance: which of the parameter's values, where castings, shafts or banks differ; -1 for all.
    """

    parameter: str
    mean: float
    deviation: float
    basis: str
    instance: int = -1


def reference_heights(setup: Setup, shared: Shared) -> FloatArray:
    """Stem height to which each valve's shaft height refers [m], shape [n].

    As written for its shaft, or the mean of those measured on it.
    """
    written = setup.column("shaft", "reference_stem_height").value
    stems = setup.column("valve", "stem_height").value
    found = np.zeros(len(setup.valves))
    for shaft in shared.shafts:
        own = list(shaft.members)
        for source, take in ((written[own], lambda x: x[0]), (stems[own], np.mean)):
            if np.any(np.isfinite(source)):
                found[own] = float(take(source[np.isfinite(source)]))
                break
    return found


def assumed(
    setup: Setup, shared: Shared, known: Mapping[str, Known]
) -> tuple[Priors, tuple[Assumption, ...]]:
    """Return the fit's priors and, in words, what they assume.

    Args:
        setup: the setup.
        shared: which valves share which parameter.
        known: sheet key -> what was measured of it at every valve, in the sheet or the readings: ranges of
            what is not measured are laid about it.
    """
    lift = lobe_lift(setup).value
    count = len(setup.valves)

    def center(key: str, otherwise: FloatArray | float) -> FloatArray:
        value = known[key].value if key in known else np.full(count, np.nan)
        return np.where(np.isnan(value), otherwise, value)

    def mean(parameter: str, values: FloatArray) -> FloatArray:
        which = shared.of[parameter]
        return np.bincount(which, weights=values) / np.bincount(which)

    ratio = center("rocker.nominal_ratio", RATIO)
    doubt = known["rocker.nominal_ratio"].uncertainty if "rocker.nominal_ratio" in known else np.nan
    ratio_doubt = np.broadcast_to(np.where(np.isnan(doubt), 0.15, doubt), (count,))
    lash, lash_doubt, lash_known = _lash(setup, ratio)
    net = lift * ratio - lash
    # Of setback and arm the one that is known is where the other's range lies.
    arm = center("rocker.pad_arm", center("shaft.setback", 0.036))
    setback = center("shaft.setback", arm)
    radius = center("rocker.pad_radius", 0.012)
    lever = center("rocker.socket_arm", arm / ratio)
    line = center("tappet.setback", lever)
    between, lean = center("rocker.arm_angle", np.radians(172.0)), center("tappet.angle", 0.0)
    height = mean("height", center("shaft.height", radius - 0.5 * net))
    rod = center("pushrod.length", np.nan)
    whole_lash = mean("tappet_position", lash)[shared.of["tappet_position"]]
    geometry = {
        "height": height[shared.of["height"]],
        "pad_arm": arm,
        "pad_radius": radius,
        "socket_arm": lever,
        "arm_angle": between,
        "lash": whole_lash,
        "tappet_setback": line,
        "tappet_angle": lean,
    }
    position = np.where(np.isnan(rod), -0.2, -rod)
    # The tappet stands where this pushrod sets this lash: a few steps find it.
    for _ in range(8):
        needed = pushrod_planar_length_for(**geometry, tappet_position=position)
        position = np.where(np.isnan(rod), position, position + needed - rod)
    free_rod = pushrod_planar_length_for(**geometry, tappet_position=position)
    rod_known = mean("pushrod_length", np.isfinite(rod).astype(float)) == 1.0
    arm_ratio, set_ratio = float(np.mean(arm / ratio)), float(np.mean(ratio))
    # Own part of each range, and what it is laid about. Setback and arm of one casting go together; so do
    # height and pad radius, and the levers. Independent ranges would count twice what both say.
    ranges: tuple[tuple[str, FloatArray, FloatArray | float, dict[str, float], str], ...] = (
        ("setback", mean("setback", setback), 6.0e-3, {}, "typical of rocker shafts"),
        ("pad_arm", mean("pad_arm", arm), 1.0e-3, {"setback": 1.0}, "about as long as the setback"),
        ("pad_radius", mean("pad_radius", radius), 3.0e-3, {}, "typical of pads and rollers"),
        (
            "height",
            height,
            np.hypot(2.0e-3, mean("height", 0.5 * lift * ratio_doubt)),
            {"pad_radius": 1.0},
            "arm square to the stem near half lift",
        ),
        (
            "socket_arm",
            mean("socket_arm", lever),
            np.hypot(1.5e-3, mean("socket_arm", arm_ratio * ratio_doubt / ratio)),
            {"pad_arm": 1.0 / set_ratio},
            "about the pad arm over the ratio",
        ),
        ("arm_angle", mean("arm_angle", between), np.radians(5.0), {}, "typical of rocker castings"),
        (
            "tappet_setback",
            mean("tappet_setback", line),
            2.0e-3,
            {"socket_arm": 1.0},
            "about as far as the socket arm is long",
        ),
        (
            "tappet_angle",
            mean("tappet_angle", lean),
            np.radians(3.0),
            {},
            "tappets about in line with the stems",
        ),
        (
            "tappet_position",
            mean("tappet_position", position),
            np.where(rod_known, 5.0e-3, 0.04),
            {},
            "follows the pushrod",
        ),
        (
            "pushrod_length",
            mean("pushrod_length", np.where(np.isnan(rod), free_rod, rod)),
            np.where(rod_known, 1.0e-3, 5.0e-3),
            {},
            "follows the tappet",
        ),
        ("ink_margin", np.full(1, 0.10e-3), 0.05e-3, {}, "ink reaches a little beyond the contact"),
    )
    tips, tip_doubt = _tips(setup, shared)
    means: dict[str, FloatArray] = {name: value for name, value, *_ in ranges}
    typical = {name: np.broadcast_to(own, value.shape) for name, value, own, *_ in ranges}
    # A measured dimension lies where it was measured, and its measurement says how surely: counted once.
    deviation: dict[str, FloatArray] = {}
    for name, own in typical.items():
        key = PARAMETER_KEYS.get(name)
        measured = mean(name, (~np.isnan(center(key, np.nan))).astype(float)) > 0.0 if key else False
        deviation[name] = own * np.where(measured, _OPEN, 1.0)
    shares = {name: about for name, _, _, about, _ in ranges if about}
    means |= {"tip_height": tips, "lash": lash, "ink_zero": np.array(0.0), "dial_zero": np.array(0.0)}
    rest = {
        "tip_height": tip_doubt,
        "lash": lash_doubt,
        "ink_zero": np.array(0.05e-3),
        "dial_zero": np.array(0.010e-3),
        **scatter_of(shared),
    }
    means |= {name: np.array(0.0) for name in SCATTER}
    others = [
        Assumption("ink_zero", 0.0, 0.05e-3, "zero of a valve's ink edges"),
        Assumption("dial_zero", 0.0, 0.01e-3, "zero of a valve's dial"),
        *(
            Assumption(name, 0.0, SCATTER[name], "parts of one set are alike, not the same")
            for name, spread in scatter_of(shared).items()
            if np.any(spread > 0.0)
        ),
    ]
    if np.any(np.isnan(setup.column("valve", "stem_height").value)):
        others.append(Assumption("tip_height", 0.0, 0.15e-3, "tips about level with each other"))
    if not lash_known:
        others.append(Assumption("lash", float(np.mean(lash)), float(np.max(lash_doubt)), "lash as wanted"))
    priors = Priors(count, means, deviation | rest, shares, shared.of)
    before = _before_readings(Priors(count, means, typical | rest, shares, shared.of), shared, known)
    shown = [
        Assumption(name, float(value[place]), before[name][place], basis, place)
        for name, value, _, _, basis in ranges
        for place in range(value.size)
    ]
    return priors, (*shown, *others)


def scatter_of(shared: Shared) -> dict[str, FloatArray]:
    """Deviation of each own part; none where a value belongs to one shaft or one bank alone."""
    found = {name: np.array(spread) for name, spread in SCATTER.items()}
    for name, base in OWN.items():
        if name.endswith("_of_shaft"):
            which, whole = shared.of[name], shared.of[base]
            several = [
                np.unique(which[whole == whole[which == number][0]]).size > 1
                for number in range(int(which.max()) + 1)
            ]
            found[name] = SCATTER[name] * np.array(several, float)
    return found


def _before_readings(priors: Priors, shared: Shared, known: Mapping[str, Known]) -> dict[str, list[float]]:
    """Standard deviation of each shared parameter once the known dimensions are taken in, in any order."""
    layout = Layout(priors)
    free = np.flatnonzero(layout.free)
    spread = layout.factor @ layout.factor.T
    row = {int(index): place for place, index in enumerate(free)}
    for name, key in PARAMETER_KEYS.items():
        if key not in known:
            continue
        for number in range(int(shared.of[name].max()) + 1):
            doubts = known[key].uncertainty[shared.of[name] == number]
            place = row.get(layout.place(name).start + number)
            if place is not None and np.any(np.isfinite(doubts)):
                column = spread[:, place]
                doubt = float(np.nanmin(doubts))
                spread = spread - np.outer(column, column) / (column[place] + doubt**2)
    return {
        name: [
            float(np.sqrt(max(spread[row[index], row[index]], 0.0))) if index in row else 0.0
            for index in range(*layout.place(name).indices(layout.mean.size))
        ]
        for name in SHARED
    }


def _lash(setup: Setup, ratio: FloatArray) -> tuple[FloatArray, FloatArray, bool]:
    """Lash at the valve, its doubt, and whether it was measured at every valve."""
    column, asked = setup.column("lash", "lash"), setup.column("lash", "wanted")
    at_pushrod = np.array([train.lash.at == "pushrod" for train in setup.trains])
    factor = np.where(at_pushrod, ratio, 1.0)
    value, doubt = column.value * factor, column.uncertainty * factor
    # Where nobody measured it the sheet's lash is the one wanted: known no better than a feeler sets it.
    wanted = np.array([own == its for own, its in zip(column.source, asked.source, strict=True)])
    unknown = np.isnan(value)
    value = np.where(unknown, 0.35e-3, value)
    doubt = np.where(unknown, 0.1e-3, np.where(wanted, np.maximum(doubt, 0.05e-3), np.maximum(doubt, 1e-6)))
    missing = unknown | wanted
    return value, doubt, not bool(missing.any())


def _tips(setup: Setup, shared: Shared) -> tuple[FloatArray, FloatArray]:
    """Tips above the reference tip of their shaft, and their doubt."""
    stems = setup.column("valve", "stem_height")
    missing = np.isnan(stems.value)
    above = np.where(missing, 0.0, stems.value - reference_heights(setup, shared))
    return above, np.where(missing, 0.15e-3, np.maximum(stems.uncertainty, 1e-6))
