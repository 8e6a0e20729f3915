"""Draws of many normal inputs at once that are spread more evenly than chance would spread them.

Each input takes the middles of as many equally probable intervals as there are draws, each once. How the
inputs are paired is a lattice's: multiples of powers of one number, modulo the number of draws (N. M. Korobov
1959; I. H. Sloan and S. Joe, "Lattice Methods for Multiple Integration", Oxford 1994; from memory). The
numbers are by a search of our own: every pair of inputs well filled, then the least error over eight inputs.
Other numbers of draws are paired by seeded chance: Latin hypercube, M. D. McKay, R. J. Beckman and W. J.
Conover, Technometrics 21 (1979) 239-245 (from memory).
"""

from functools import cache
from statistics import NormalDist

import numpy as np

from valvetrain.mechanics.arrays import FloatArray

__all__ = ["LATTICES", "even_normals", "even_places"]

LATTICES = {512: 163, 1024: 381, 2048: 425, 4096: 1543, 8192: 3579}
"""Number of draws -> multiplier."""


@cache
def even_places(draws: int, inputs: int, seed: int = 0) -> np.ndarray:
    """Return which of its intervals each input takes in each draw, 0 to draws - 1, [draws, inputs]."""
    generator = np.random.default_rng([seed, draws])
    multiplier = LATTICES.get(draws)
    if multiplier is None:
        columns = [generator.permutation(draws) for _ in range(inputs)]
        return np.array(columns, dtype=np.intp).reshape(inputs, draws).T
    steps = np.array([pow(multiplier, power, draws) for power in range(inputs)], dtype=np.intp)
    shifts = generator.integers(0, draws, inputs)
    return np.asarray((np.arange(draws)[:, np.newaxis] * steps + shifts) % draws, dtype=np.intp)


@cache
def even_normals(draws: int, inputs: int, seed: int = 0) -> FloatArray:
    """Return normal draws of mean 0 and root mean square 1, uncorrelated exactly, [draws, inputs].

    The first input takes the middles of its intervals; what the others have in common with those before them
    is taken out.
    """
    table = _normals(draws)[even_places(draws, inputs, seed)]
    if draws <= inputs:
        return np.asarray(table)
    root = np.linalg.cholesky(table.T @ table / draws)
    return np.asarray(np.linalg.solve(root, table.T).T)


@cache
def _normals(draws: int) -> FloatArray:
    """Middles of equally probable intervals of a normal distribution, scaled to root mean square 1."""
    normal = NormalDist()
    half = [normal.inv_cdf((place + 0.5) / draws) for place in range(draws // 2)]
    middle = [0.0] if draws % 2 else []
    table = np.array([*half, *middle, *(-each for each in reversed(half))])
    return np.asarray(table / np.sqrt(np.mean(table**2)))
