"""Do rocker, retainer, seal and stand clear each other through the lift?

Uncertainty: to first order, each size raised by its standard uncertainty at the position of the least
clearance, which to first order stays where it is (GUM 5.1.3 note 2, one-sided). Lash and net lift carry what
moves them: a longer arm counts once, by its own reach and by the lift it gives.
"""

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from valvetrain.answers.quantity import Quantity, together
from valvetrain.mechanics.arrays import FloatArray
from valvetrain.mechanics.shapes.interference import PartClearance
from valvetrain.questions.interference.shapes import (
    PAIRS,
    motion_at,
    moved_by,
    pair_clearance,
    shapes_of,
    sizes_of,
)
from valvetrain.questions.rocker.study import RockerResult
from valvetrain.setup.linkage_columns import height_over_tip
from valvetrain.setup.setup import Setup

__all__ = ["InterferenceResult", "PartsDrawn", "interference_study"]

# Positions: on the base circle, then through the net lift; then as many between the neighbors of the least.
_SAMPLES = 15
_FINER = 9

# Positions this little above the least [m] are as near: the first of them counts. Corners of a drawn circle.
_SAME = 2.5e-6

# Size -> the sheet's key of it.
_KEYS = {
    "setback": "shaft.setback",
    "pad_arm": "rocker.pad_arm",
    "pad_radius": "rocker.pad_radius",
    "retainer_diameter": "shapes.retainer_diameter",
    "retainer_below_tip": "shapes.retainer_below_tip",
    "retainer_depth": "shapes.retainer_depth",
    "seal_diameter": "shapes.seal_diameter",
    "rocker_depth": "shapes.rocker_depth",
    "hub_diameter": "shapes.hub_diameter",
    "stand_width": "shapes.stand_width",
    "stand_top": "shapes.stand_top",
    "retainer_to_seal": "spring.retainer_to_seal",
}
_HEIGHT_KEYS = ("shaft.height", "valve.stem_height", "shaft.reference_stem_height")
_CLOSED = np.arange(_SAMPLES + 1) == 0
_SHARES = np.concatenate([[0.0], np.linspace(0.0, 1.0, _SAMPLES)])


@dataclass(frozen=True)
class PartsDrawn:
    """Shapes of one valve [m], closed, None where unknown; rotation [rad] and lift [m] of every position."""

    rocker: FloatArray | None
    retainer: FloatArray | None
    seal: FloatArray | None
    stand: FloatArray | None
    pivot: FloatArray
    rotation: FloatArray
    lift: FloatArray


@dataclass(frozen=True)
class InterferenceResult:
    """Least clearances at every valve, negative where the parts overlap.

    Attributes:
        rocker_to_retainer, retainer_to_seal, rocker_to_stand: least through the lift.
        ..._at: valve lift at which it is least.
        shapes: per valve, whether rocker, retainer, seal and stand are the sheet's outlines or simple shapes.
        parts: what was compared.
        nearest: clearance -> the nearest points of the two parts there [m], from the tip as in
            `mechanics.interference`, shape [valves, part, xy]; NaN where unknown.
        lift_share: clearance -> share of net lift at which it is least, 0 on the base circle too.
    """

    valves: tuple[str, ...]
    roles: tuple[str, ...]
    rocker_to_retainer: Quantity
    rocker_to_retainer_at: Quantity
    retainer_to_seal: Quantity
    retainer_to_seal_at: Quantity
    rocker_to_stand: Quantity
    rocker_to_stand_at: Quantity
    shapes: tuple[str, ...]
    parts: "Parts"
    nearest: Mapping[str, FloatArray]
    lift_share: Mapping[str, FloatArray]

    @property
    def asked(self) -> bool:
        """Return whether the sheet gives any shape at all."""
        return any(part is not None for one in self.parts.by_valve for part in _shapes_of(one))


@dataclass(frozen=True)
class Parts:
    """The shapes compared, one entry a valve."""

    by_valve: tuple[PartsDrawn, ...]


def _shapes_of(one: PartsDrawn) -> tuple[FloatArray | None, ...]:
    """Return the shapes that only the section [shapes] describes."""
    return one.retainer, one.seal, one.stand


def interference_study(setup: Setup, rocker: RockerResult) -> InterferenceResult:
    """Compare the parts of every valve through its lift, with the lifts of the rocker study."""
    sizes, doubts = _sizes(setup, rocker), _doubts(setup, rocker)
    count = len(setup.valves)
    steps = {name: np.sqrt(_squares(parts, count)) for name, parts in doubts.items()}
    names = tuple(name for name in sizes if np.any(steps[name] > 0))
    # Row 0 as the sheet has it, then one row for each unsure size, with that size raised.
    rows = {name: np.repeat(value[np.newaxis], len(names) + 1, axis=0) for name, value in sizes.items()}
    for row, name in enumerate(names, start=1):
        rows[name][row] += np.where(np.isinf(steps[name]), np.nan, steps[name])
    shapes, words = {}, []
    for part in ("retainer", "seal", "stand", "rocker"):
        shapes[part], what = _shapes_by_row(setup, part, rows, names)
        words.append(what)
    quantities: dict[str, Quantity] = {}
    nearest, lift_share = {}, {}
    for pair in PAIRS:
        closed, share = _place_of_least(pair, {part: shapes[part][0] for part in PAIRS[pair]}, sizes)
        moved = [0, *(row for row, name in enumerate(names, start=1) if name in moved_by(pair))]
        found = pair_clearance(
            pair,
            {part: shapes[part][moved] for part in PAIRS[pair]},
            motion_at({name: value[moved] for name, value in rows.items()}, closed, share),
        )
        least = found.least[0]
        shifts = {
            names[row - 1]: at_row - least for row, at_row in zip(moved[1:], found.least[1:], strict=True)
        }
        contributions = _contributions(shifts, steps, doubts) | _of_outlines(setup, pair)
        quantities[pair] = _quantity(least, contributions, rocker)
        nearest[pair] = np.stack([found.first_point[0], found.second_point[0]], axis=1)
        nearest[pair][np.isnan(least)] = np.nan
        lift_share[pair] = np.where(np.isnan(least), np.nan, share[:, 0])
        at_lift = lift_share[pair] * sizes["net_lift"]
        quantities[f"{pair}_at"] = Quantity("length", at_lift, 0.0 * at_lift, {})
    motion = motion_at(sizes, _CLOSED, _SHARES)
    by_valve = (
        PartsDrawn(
            **{part: _known(outlines[0, index]) for part, outlines in shapes.items()},
            pivot=motion.pivot[index],
            rotation=motion.rotation[index],
            lift=motion.lift[index],
        )
        for index in range(count)
    )
    return InterferenceResult(
        valves=setup.valves,
        roles=setup.roles,
        shapes=tuple(", ".join(filter(None, each)) for each in zip(*words, strict=True)),
        parts=Parts(tuple(by_valve)),
        nearest=nearest,
        lift_share=lift_share,
        **quantities,
    )


def _sizes(setup: Setup, rocker: RockerResult) -> dict[str, FloatArray]:
    """Return every size of shapes and motion, shape [n]."""
    rows = {key: setup.column(*key.split(".")).value for key in (*_HEIGHT_KEYS, *_KEYS.values())}
    sizes = {name: rows[key] for name, key in _KEYS.items()}
    return sizes | {
        "height": height_over_tip(rows),
        "lash": rocker.lash.value,
        "net_lift": rocker.net_lift.value,
    }


def _doubts(setup: Setup, rocker: RockerResult) -> dict[str, Mapping[str, FloatArray]]:
    """Return what makes every size unsure: size -> sheet key -> signed contribution, shape [n]."""
    found: dict[str, Mapping[str, FloatArray]] = {
        name: {key: setup.column(*key.split(".")).uncertainty} for name, key in _KEYS.items()
    }
    height, stem, reference = (setup.column(*key.split(".")) for key in _HEIGHT_KEYS)
    used = ~np.isnan(reference.value)
    found["height"] = {
        "shaft.height": height.uncertainty,
        "valve.stem_height": np.where(used, -stem.uncertainty, 0.0),
        "shaft.reference_stem_height": np.where(used, reference.uncertainty, 0.0),
    }
    # What the rocker study does not know has no clearance either: nothing to carry.
    for name, quantity in (("lash", rocker.lash), ("net_lift", rocker.net_lift)):
        found[name] = {
            key: np.where(np.isnan(part), 0.0, part) for key, part in quantity.contributions.items()
        }
    return found


def _shapes_by_row(
    setup: Setup, part: str, rows: Mapping[str, FloatArray], names: tuple[str, ...]
) -> tuple[FloatArray, tuple[str, ...]]:
    """Return a part's outlines at every row, made anew only where a size of its own is raised."""
    own = [0, *(row for row, name in enumerate(names, start=1) if name in sizes_of(part))]
    outlines, words = shapes_of(setup, part, {name: value[own] for name, value in rows.items()})
    place = np.zeros(len(names) + 1, int)
    place[own] = np.arange(len(own))
    return outlines[place], words


def _place_of_least(
    pair: str, shapes: Mapping[str, FloatArray], sizes: Mapping[str, FloatArray]
) -> tuple[np.ndarray, FloatArray]:
    """Return whether the least is on the base circle, and its share of net lift, each of shape [n, 1]."""
    coarse = pair_clearance(pair, shapes, motion_at(sizes, _CLOSED, _SHARES))
    at = _first_least(coarse)
    between = np.linspace(
        _SHARES[np.maximum(at - 1, 1)], _SHARES[np.minimum(at + 1, _SAMPLES)], _FINER, axis=-1
    )
    finer = pair_clearance(pair, shapes, motion_at(sizes, np.array(False), between))
    better = finer.least < np.take_along_axis(coarse.clearance, at[:, np.newaxis], axis=-1)[:, 0] - _SAME
    place = np.take_along_axis(between, _first_least(finer)[:, np.newaxis], axis=-1)[:, 0]
    closed = _CLOSED[at] & ~better
    return closed[:, np.newaxis], np.where(better, place, _SHARES[at])[:, np.newaxis]


def _first_least(found: PartClearance) -> np.ndarray:
    """Return the index of the first position that is as near as the least."""
    return np.asarray(np.argmax(found.clearance <= found.least[:, np.newaxis] + _SAME, axis=-1))


def _contributions(
    shifts: Mapping[str, FloatArray],
    steps: Mapping[str, FloatArray],
    doubts: Mapping[str, Mapping[str, FloatArray]],
) -> dict[str, FloatArray]:
    """Return sheet key -> its signed contribution [m], from a clearance's shift with each size raised."""
    found: dict[str, FloatArray] = {}
    for name, shift in shifts.items():
        for key, part in doubts[name].items():
            with np.errstate(invalid="ignore", divide="ignore"):
                own = np.where((part == 0) | (shift == 0), 0.0, shift * part / steps[name])
            # A size that cannot be so much greater leaves the clearance unsure without limit.
            found[key] = found.get(key, 0.0) + np.where(np.isnan(own), np.inf, own)
    return found


def _of_outlines(setup: Setup, pair: str) -> dict[str, FloatArray]:
    """Return the contributions of outlines: read point by point with a caliper, without uncertainties."""
    reading = setup.instruments["caliper"][1]
    found = {}
    for part in PAIRS[pair]:
        given = np.array([getattr(train.shapes, f"{part}_outline") is not None for train in setup.trains])
        if given.any():
            found[f"shapes.{part}_outline"] = np.where(given, reading, 0.0)
    return found


def _quantity(least: FloatArray, parts: dict[str, FloatArray], rocker: RockerResult) -> Quantity:
    """Return a clearance with its uncertainty, what is correlated with the lift's keys together."""
    known = {key: np.where(np.isnan(least), 0.0, part) for key, part in parts.items()}
    doubt = np.sqrt(_squares(known, len(least)))
    correlation = rocker.net_lift.correlation
    if correlation is not None:
        doubt = together(doubt, known, correlation)
    return Quantity("length", least, np.where(np.isnan(least), np.nan, doubt), known, correlation=correlation)


def _squares(parts: Mapping[str, FloatArray], count: int) -> FloatArray:
    return np.asarray(sum((part**2 for part in parts.values()), np.zeros(count)))


def _known(outline: FloatArray) -> FloatArray | None:
    return None if np.isnan(outline).any() else outline
