"""Valves whose pad was measured point by point: contact, lift and ratio by virtual work, feeler error.

Uncertainties come from following the rocker again with every input moved by its own, as for the circular
pad; the outline moves as a whole by one caliper reading each way. Two more come from the outline itself: its
points scattered beside each other, as far as the table shows that they do, and its spacing, from the same
face with only every second point. Half as many points are wrong by at least twice as much, so that the
difference is the most that the spacing does, and over the root of three its standard uncertainty (GUM 4.3.7).
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import NamedTuple

import numpy as np

from valvetrain.answers.quantity import Quantity, together
from valvetrain.mechanics.arrays import FloatArray
from valvetrain.mechanics.rocker.feeler_error import feeler_reading
from valvetrain.mechanics.rocker.linkage import closed_position, planar_length, rocker_turn
from valvetrain.mechanics.rocker.pad_on_tip import closed_angle_on_tip, contact_over_tip
from valvetrain.questions.rocker.outline_doubt import POINTS, SPACING, other_faces
from valvetrain.setup.linkage_columns import height_over_tip
from valvetrain.setup.setup import Column, Setup

__all__ = ["MeasuredPads", "measured_pads", "shares_followed", "with_measured_pads"]

# The rocker as it is, followed in the steps of those that tell a difference.
_AS_READ = "as read"

# Shares of net lift at which a rocker is followed; as in `rocker_path`.
SHARES = np.linspace(0.0, 1.0, 41)

# What a followed rocker depends on, beside its outline, the lash and a lift read with a dial.
_KEYS = (
    "shaft.setback",
    "shaft.height",
    "shaft.reference_stem_height",
    "valve.stem_height",
    "valve.stem_diameter",
    "valve.tip_chamfer",
    "rocker.socket_arm",
    "rocker.arm_angle",
    "pushrod.length",
    "pushrod.splay",
    "tappet.setback",
    "tappet.angle",
    "lobe.lift",
)

# A face [m, 2], and sheet key -> value.
_Job = tuple[FloatArray, dict[str, float]]

# Width of a usual feeler blade, 1/2 in: it bridges any tip [m].
BLADE = 0.0127


@dataclass(frozen=True)
class MeasuredPads:
    """The valves with a measured pad; NaN at the others.

    Attributes:
        contact, ratio: through the net lift, [valves, shares].
        feeler_error: true lash less what a wide feeler reads [m], [valves].
        values: quantity of the rocker study -> [SI], [valves].
        contributions: quantity -> input -> what that input's standard uncertainty moves it by [SI], [valves].
    """

    contact: FloatArray
    ratio: FloatArray
    feeler_error: FloatArray
    values: Mapping[str, FloatArray]
    contributions: Mapping[str, Mapping[str, FloatArray]]


class _Followed(NamedTuple):
    """One rocker through its lift; see `MeasuredPads`."""

    contact: FloatArray
    ratio: FloatArray
    gross: float
    net: float
    at_edge: bool
    feeler_error: float
    tip: float
    lobe: float

    def quantities(self) -> dict[str, float]:
        """Return the rocker study's quantities [SI]."""
        width = float(np.ptp(self.contact))
        return {
            "gross_lift": self.gross,
            "net_lift": self.net,
            "ratio_at_opening": float(self.ratio[0]),
            "ratio_at_half_lift": float(self.ratio[len(SHARES) // 2]),
            "ratio_at_full_lift": float(self.ratio[-1]),
            "mean_ratio": self.gross / self.lobe,
            "sweep_width": width,
            "sweep_share": width / self.gross,
            "sweep_middle": float(0.5 * (self.contact.max() + self.contact.min())),
            "contact_closed": float(self.contact[0]),
            "contact_full": float(self.contact[-1]),
            "chamfer_distance": 0.0 if self.at_edge else self.tip - float(np.abs(self.contact).max()),
        }


def measured_pads(setup: Setup, inputs: Mapping[str, Column], lash: Quantity) -> MeasuredPads | None:
    """Follow every valve that has a measured pad; None where there is none.

    Args:
        setup: the setup.
        inputs: sheet key -> column of the rocker study.
        lash: along the stem.
    """
    count = len(setup.trains)
    faces: dict[tuple[tuple[float, float], ...], list[int]] = {}
    for index, train in enumerate(setup.trains):
        if train.rocker.pad_outline is not None:
            faces.setdefault(train.rocker.pad_outline.points, []).append(index)
    if not faces:
        return None
    contact, ratio = np.full((count, len(SHARES)), np.nan), np.full((count, len(SHARES)), np.nan)
    feeler = np.full(count, np.nan)
    values: dict[str, FloatArray] = {}
    parts: dict[str, dict[str, FloatArray]] = {}
    for points, indices in faces.items():
        jobs = _jobs(setup, inputs, lash, np.array(points), indices)
        done = dict(
            zip(jobs, _all_followed(list(jobs.values()), [not key for _, key, _ in jobs]), strict=True)
        )
        for index in indices:
            found = done[(index, "", 0)]
            if found is None:
                continue
            contact[index], ratio[index], feeler[index] = found.contact, found.ratio, found.feeler_error
            for name, value in found.quantities().items():
                values.setdefault(name, np.full(count, np.nan))[index] = value
            for key in [key for at, key, way in jobs if at == index and way > 0]:
                # The valve itself is followed in finer steps than those that tell only a difference.
                moved = _moved(found.quantities(), done[(index, key, 1)], done[(index, key, -1)])
                for name, part in moved.items():
                    parts.setdefault(name, {}).setdefault(key, np.zeros(count))[index] = part
            for key, share in ((POINTS, 1.0), (SPACING, 1.0 / np.sqrt(3.0))):
                others = [done[job] for job in jobs if job[:2] == (index, key)]
                # Differences are taken between rockers that were followed in the same steps.
                for name, part in _scattered(done[(index, _AS_READ, 0)], others).items():
                    parts.setdefault(name, {}).setdefault(key, np.zeros(count))[index] = share * part
    return MeasuredPads(contact, ratio, feeler, values, parts)


def _scattered(here: "_Followed | None", others: Sequence["_Followed | None"]) -> dict[str, float]:
    """Root mean square of how far other faces are from one; infinite where the rocker is lost on one."""
    if here is None or not others:
        return {}
    base = here.quantities()
    if any(other is None for other in others):
        return dict.fromkeys(base, np.inf)
    tables = [other.quantities() for other in others if other is not None]
    return {
        name: float(np.sqrt(np.mean([(table[name] - value) ** 2 for table in tables])))
        for name, value in base.items()
    }


def _jobs(
    setup: Setup, inputs: Mapping[str, Column], lash: Quantity, face: FloatArray, indices: list[int]
) -> dict[tuple[int, str, int], _Job]:
    """Return what to follow: (valve, "", 0) as it is, (valve, input, +1 or -1) with one input moved."""
    point = setup.instruments["caliper"][1]
    shifts = {"x": np.array([point, 0.0]), "y": np.array([0.0, point])}
    jobs: dict[tuple[int, str, int], _Job] = {}
    for index in indices:
        one = {key: float(column.value[index]) for key, column in inputs.items()}
        steps = {key: float(inputs[key].uncertainty[index]) for key in (*_KEYS, "station.gross_lift")}
        one["lash.lash"], steps["lash.lash"] = float(lash.value[index]), float(lash.uncertainty[index])
        jobs[(index, "", 0)] = jobs[(index, _AS_READ, 0)] = (face, one)
        for number, (key, other) in enumerate(other_faces(face, point)):
            jobs[(index, key, -2 - number)] = (other, one)
        for way in (1, -1):
            for key, step in steps.items():
                if step > 0:
                    jobs[(index, key, way)] = (face, one | {key: one[key] + way * step})
            for axis, shift in shifts.items():
                jobs[(index, f"rocker.pad_outline {axis}", way)] = (face + way * shift, one)
    return jobs


def _all_followed(jobs: list[_Job], fine: list[bool]) -> list[_Followed | None]:
    """Follow every job, the closed angles of one face found together."""
    groups: dict[bytes, list[int]] = {}
    for number, (face, _) in enumerate(jobs):
        groups.setdefault(face.tobytes(), []).append(number)
    starts = np.full(len(jobs), np.nan)
    for numbers in groups.values():
        rows = {key: np.array([jobs[number][1][key] for number in numbers]) for key in jobs[0][1]}
        tip = 0.5 * rows["valve.stem_diameter"] - rows["valve.tip_chamfer"]
        height = height_over_tip(rows)
        known = np.isfinite(tip + height + rows["shaft.setback"] + rows["lash.lash"])
        if known.any():
            starts[np.array(numbers)[known]] = closed_angle_on_tip(
                jobs[numbers[0]][0],
                setback=rows["shaft.setback"][known],
                height=height[known],
                lash=rows["lash.lash"][known],
                tip_radius=tip[known],
            )
    return [
        _followed(face, one, float(start), 801 if finely else 201)
        for (face, one), start, finely in zip(jobs, starts, fine, strict=True)
    ]


def _moved(here: Mapping[str, float], up: _Followed | None, down: _Followed | None) -> dict[str, float]:
    """Return half the way from down to up; one-sided where one cannot be, infinite where neither can."""
    high = here if up is None else up.quantities()
    low = here if down is None else down.quantities()
    if up is None and down is None:
        return dict.fromkeys(here, np.inf)
    share = 0.5 if up is not None and down is not None else 1.0
    return {name: share * (high[name] - low[name]) for name in here}


def _followed(face: FloatArray, one: Mapping[str, float], start: float, steps: int) -> _Followed | None:
    """Follow one rocker from its closed angle; None where that is NaN or the lift is not known."""
    if np.isnan(start):
        return None
    tip = 0.5 * one["valve.stem_diameter"] - one["valve.tip_chamfer"]
    setback, lash, by_dial = one["shaft.setback"], one["lash.lash"], one["station.gross_lift"]
    height = float(height_over_tip({key: np.array(value) for key, value in one.items()}))
    turned, rate, full = _turning(one, height, lash, start)
    turns = np.linspace(0.0, full if np.isfinite(full) else 0.9, steps)
    over = contact_over_tip(face, start - turns, setback=setback, tip_radius=tip)
    drop = over.y[0] - over.y
    gross = float(drop[-1]) if np.isfinite(full) else np.nan
    if np.isfinite(by_dial):
        gross = by_dial
    net = max(gross - lash, 0.0)
    good = np.isfinite(drop)
    if np.isnan(gross) or good.sum() < 2 or np.any(np.diff(drop[good]) < 0):
        return None
    at = np.interp(lash + SHARES * net, drop[good], turns[good])
    there = contact_over_tip(face, start - at, setback=setback, tip_radius=tip)
    per_tappet = np.interp(at, turned, rate) if np.isfinite(full) else np.full(at.shape, np.nan)
    reading = feeler_reading(
        face,
        setback=setback,
        height=height,
        pad_angle=start,
        tip_width=2 * tip,
        blade_width=max(BLADE, 2 * tip),
    )
    return _Followed(
        contact=there.x,
        ratio=there.fall * per_tappet,
        gross=gross,
        net=net,
        at_edge=bool(there.at_edge.any()),
        feeler_error=float(reading.error),
        tip=tip,
        lobe=one["lobe.lift"],
    )


def _turning(
    one: Mapping[str, float], height: float, lash: float, start: float
) -> tuple[FloatArray, FloatArray, float]:
    """Turn [rad] and that per tappet rise [rad/m] through the lobe's lift, and the full turn, or NaN."""
    closed = closed_position(
        setback=one["shaft.setback"],
        height=height,
        pad_arm=one["rocker.pad_arm"],
        pad_radius=np.nan_to_num(one["rocker.pad_radius"]),
        socket_arm=one["rocker.socket_arm"],
        arm_angle=one["rocker.arm_angle"],
        lash=lash,
        pushrod_planar_length=planar_length(length=one["pushrod.length"], splay=one["pushrod.splay"]),
        tappet_setback=one["tappet.setback"],
        tappet_angle=one["tappet.angle"],
        pad_angle=start,
    )
    turn, rate = rocker_turn(closed, np.linspace(0.0, 1.0, 201) * one["lobe.lift"])
    return turn, rate, float(turn[-1])


def with_measured_pads(quantities: Mapping[str, Quantity], pads: MeasuredPads | None) -> dict[str, Quantity]:
    """Put what the measured pads say over the circular pad's quantities, doubt and all.

    A simulation's intervals are the circular pad's: they are left out at the valves with a measured one.
    """
    found = dict(quantities)
    if pads is None:
        return found
    for name, value in pads.values.items():
        was = found[name]
        new = np.isfinite(value)
        parts = pads.contributions.get(name, {})
        doubt = np.asarray(np.sqrt(sum(part**2 for part in parts.values()) + np.zeros(value.shape)))
        if was.correlation is not None:
            doubt = together(doubt, parts, was.correlation)
        unmoved = np.zeros(value.shape)
        keys = dict.fromkeys((*was.contributions, *parts))
        found[name] = replace(
            was,
            value=np.where(new, value, was.value),
            uncertainty=np.where(new, doubt, was.uncertainty),
            contributions={
                key: np.where(new, parts.get(key, unmoved), was.contributions.get(key, unmoved))
                for key in keys
            },
            low=None if was.low is None else np.where(new, np.nan, was.low),
            high=None if was.high is None else np.where(new, np.nan, was.high),
        )
    return found


def shares_followed(quantities: Mapping[str, Quantity], pads: MeasuredPads | None) -> dict[str, Quantity]:
    """Let shares follow their parts at valves with a measured pad."""
    found = dict(quantities)
    if pads is None:
        return found
    own = np.isfinite(pads.values["sweep_width"])
    for name, part, whole in (
        ("sweep_over_least", "sweep_width", "least_sweep_width"),
        ("lift_lost_share", "lift_lost_to_height", "gross_lift"),
    ):
        was = found[name]
        with np.errstate(invalid="ignore"):
            value = np.where(own, found[part].value / found[whole].value, was.value)
        found[name] = replace(was, value=value)
    return found
