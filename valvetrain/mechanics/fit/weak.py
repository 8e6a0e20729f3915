"""Which combinations of the linkage's parameters the readings do not determine, in words.

For each small set of parameters the move is sought that the readings notice least compared with the prior:
the least eigenvalue of the readings' information matrix restricted to that set, in units of the priors'
deviations. Below `_LEAST` the readings add next to nothing along it. Sets of one are looked at before pairs,
and so on to four; a move made up of those already named is left out.
"""

from dataclasses import dataclass
from itertools import combinations

import numpy as np

from valvetrain.mechanics.arrays import FloatArray
from valvetrain.mechanics.fit.layout import PER_VALVE, SHARED, Layout

__all__ = ["WeakCombination", "weak_combinations"]

_LEAST = 0.3
_MATTERS = 1.5e-4  # m: what the prior leaves open along a move; less is of no practical weight
_MINOR = (
    0.15  # a set of which a part is smaller than this share of the largest says no more than a smaller one
)
_LARGEST_SET = 4
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
        names: of the parameters in words; a per-valve one stands for all valves at once.
        direction: parameter vector of the move [m, rad], shape [P]: one standard deviation of the prior.
        sentence: what is and what is not known.
    """

    names: tuple[str, ...]
    direction: FloatArray
    sentence: str


def weak_combinations(slopes: FloatArray, layout: Layout) -> tuple[WeakCombination, ...]:
    """Weak moves of readings with `slopes` [m, free parameters], in units of uncertainty and prior."""
    names = [name for name in (*SHARED, *PER_VALVE) if np.all(layout.free[layout.place(name)])]
    free = np.flatnonzero(layout.free)
    # Columns: what moving a parameter (in all valves) by one prior deviation does to the readings.
    moves = np.zeros((len(names), layout.mean.size))
    for row, name in enumerate(names):
        place = layout.place(name)
        moves[row, place] = 1.0 / np.sqrt(np.sum(layout.deviation[place] ** -2.0))
    columns = slopes @ np.linalg.solve(layout.factor, moves[:, free].T)
    # Angles count as the length they move at the pad's distance, so that parts can be compared.
    arm = float(layout.mean[layout.place("pad_arm")][0])
    length = np.array(
        [
            np.abs(move).max() * (arm if name.endswith("angle") else 1.0)
            for name, move in zip(names, moves, strict=True)
        ]
    )
    information = columns.T @ columns
    found: list[WeakCombination] = []
    spanned = np.zeros((len(names), 0))
    for size in range(1, min(_LARGEST_SET, len(names)) + 1):
        sets = np.array(list(combinations(range(len(names)), size)))
        values, vectors = np.linalg.eigh(information[sets[:, :, np.newaxis], sets[:, np.newaxis, :]])
        for index in np.argsort(values[:, 0]):
            if values[index, 0] >= _LEAST:
                break
            part = np.zeros(len(names))
            part[sets[index]] = vectors[index, :, 0]
            reach = np.abs(part * length)[sets[index]]
            if reach.max() < _MATTERS or reach.min() < _MINOR * reach.max():
                continue
            rest = part - spanned @ (spanned.T @ part)
            if np.linalg.norm(rest) < 0.5:
                continue
            spanned = np.column_stack([spanned, rest / np.linalg.norm(rest)])
            part *= np.sign(part[sets[index]][np.argmax(reach)])
            named = [(_WORDS[names[item]], part[item] * np.abs(moves[item]).max()) for item in sets[index]]
            mixed_units = len({names[item].endswith("angle") for item in sets[index]}) > 1
            found.append(
                WeakCombination(tuple(name for name, _ in named), part @ moves, _sentence(named, mixed_units))
            )
    return tuple(found)


def _sentence(named: list[tuple[str, float]], mixed_units: bool) -> str:
    names = [name for name, _ in named]
    if len(named) == 1:
        return f"{names[0]}: the readings add next to nothing to what was assumed"
    if len(named) > 2 or mixed_units:
        together = f"{', '.join(names[:-1])} and {names[-1]} move together"
        return f"{together}: the readings cannot separate them"
    ratio = named[1][1] / named[0][1]
    known = "difference" if ratio > 0.0 else "sum"
    if abs(abs(ratio) - 1.0) < 0.05:
        return f"{names[0]} and {names[1]} move together: only their {known} is known"
    # The move (1, ratio) leaves ratio x first - second as it was.
    return (
        f"{names[0]} and {names[1]} move together: only {abs(ratio):.2g} times {names[0]} "
        f"{'less' if ratio > 0.0 else 'plus'} {names[1]} is known"
    )
