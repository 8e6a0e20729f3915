"""Which combinations of the linkage's parameters the readings do not determine, in words.

The information matrix of the readings alone, in units of the priors' deviations, has an eigenvalue below
`_LEAST` along a direction where the readings add less than the prior already knew. The directions are then
row-reduced, so that each names as few parameters as possible.
"""

from dataclasses import dataclass

import numpy as np

from valvetrain.mechanics.arrays import FloatArray
from valvetrain.mechanics.linkage_fit_readings import Layout

__all__ = ["WeakCombination", "weak_combinations"]

_LEAST = 0.3
_MATTERS = 1.5e-4  # m: what the prior leaves open along a direction; less is of no practical weight
_MINOR = 0.15  # parts of a direction smaller than this share of its largest are not named
_WORDS = {
    "setback": "shaft setback",
    "height": "shaft height",
    "pad_arm": "pad arm",
    "pad_radius": "pad radius",
    "socket_arm": "socket arm",
    "arm_angle": "angle between the arms",
    "tappet_setback": "tappet setback",
    "tappet_angle": "tappet angle",
    "tappet_position": "tappet height",
    "pushrod_length": "pushrod length",
    "ink_margin": "ink margin",
    "tip_height": "stem height",
    "lash": "lash",
    "ink_zero": "zero of the ink edges",
    "dial_zero": "zero of the dial",
}


@dataclass(frozen=True)
class WeakCombination:
    """Parameters that move together without a reading noticing.

    Attributes:
        names: of the parameters, the largest part first; a per-valve one once if all valves take part.
        direction: parameter vector of the move, shape [P], largest part 1; angles times the pad arm.
        sentence: what is and what is not known.
    """

    names: tuple[str, ...]
    direction: FloatArray
    sentence: str


def weak_combinations(slopes: FloatArray, layout: Layout) -> tuple[WeakCombination, ...]:
    """Weak directions of readings with `slopes` [m, free parameters], in units of uncertainty and prior."""
    values, vectors = np.linalg.eigh(slopes.T @ slopes)
    free = np.flatnonzero(layout.free)
    # Angles count as the length they move at the pad, so that parts can be compared.
    arm = float(layout.mean[layout.place("pad_arm")][0])
    scale = np.array([arm if layout.names[index].endswith("angle") else 1.0 for index in free])
    weak = vectors[:, values < _LEAST].T * layout.deviation[free] * scale
    if not weak.size:
        return ()
    _, lengths, principal = np.linalg.svd(weak, full_matrices=False)
    found = []
    for row in _reduced(principal[lengths > _MATTERS]):
        direction = np.zeros(layout.mean.size)
        direction[free] = row
        named = _grouped(direction, layout)
        names = tuple(name for name, _ in named)
        found.append(WeakCombination(names, direction, _sentence(named)))
    return tuple(found)


def _reduced(rows: FloatArray) -> FloatArray:
    """Reduced row echelon form with the largest pivot each time; largest part of each row 1."""
    rows = rows.copy()
    left = list(range(rows.shape[0]))
    while left:
        part = np.abs(rows[left]) / np.maximum(np.abs(rows[left]).max(axis=1, keepdims=True), 1e-300)
        # The purest pivot: the column that this row has and the others have least.
        strength = np.abs(rows[left])
        place = np.unravel_index(np.argmax(strength * (part > 0.99)), strength.shape)
        pivot, column = left[int(place[0])], int(place[1])
        rows[pivot] /= rows[pivot, column]
        for other in range(rows.shape[0]):
            if other != pivot:
                rows[other] -= rows[other, column] * rows[pivot]
        left.remove(pivot)
    largest = np.take_along_axis(rows, np.argmax(np.abs(rows), axis=1)[:, np.newaxis], axis=1)
    return np.asarray(rows / largest) if rows.size else rows


def _grouped(direction: FloatArray, layout: Layout) -> list[tuple[str, float]]:
    """(words, part) of the parameters that take part, the largest first."""
    named: list[tuple[str, float]] = []
    for name, words in _WORDS.items():
        parts = direction[layout.place(name)]
        large = np.abs(parts) > _MINOR
        if not large.any():
            continue
        if parts.size == 1 or (large.all() and np.ptp(parts) < 0.1 * np.abs(parts).max()):
            named.append((words, float(parts.mean())))
        else:
            named += [
                (f"{words} of valve {valve + 1}", float(parts[valve])) for valve in np.flatnonzero(large)
            ]
    return sorted(named, key=lambda item: -abs(item[1]))


def _sentence(named: list[tuple[str, float]]) -> str:
    names = [name for name, _ in named]
    if len(named) == 1:
        return f"{names[0]}: the readings add nothing to what was assumed"
    if len(named) == 2:
        factor = named[1][1] / named[0][1]
        if abs(abs(factor) - 1.0) < 0.03:
            known = "difference" if factor > 0.0 else "sum"
            return f"{names[0]} and {names[1]} move together: only their {known} is known"
        return (
            f"{names[0]} and {names[1]} move together: {names[1]} changes by {factor:+.2g} for each 1 of "
            f"{names[0]} without a reading noticing"
        )
    return f"{', '.join(names[:-1])} and {names[-1]} move together: the readings cannot separate them"
