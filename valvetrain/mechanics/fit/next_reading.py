"""What one more reading, or a few together, would do for a fitted linkage, before they are taken.

From draws of the posterior: the output's variance left after a linear regression on the reading that would
be taken (with its noise), var - cov^2/(var_reading + u^2); of several readings on all of them at once. For a
posterior of one answer that is exact to first order; for two answers it also credits a reading that tells
them apart.
"""

from collections.abc import Callable, Mapping, Sequence

import numpy as np

from valvetrain.mechanics.arrays import FloatArray
from valvetrain.mechanics.fit.layout import Columns
from valvetrain.mechanics.fit.linkage import LinkageFit
from valvetrain.mechanics.fit.model import ReadingModel
from valvetrain.mechanics.fit.readings import Readings

__all__ = ["uncertainty_after_readings"]


def uncertainty_after_readings(
    fit: LinkageFit,
    candidates: Readings,
    sets: Sequence[tuple[int, ...]],
    function: Callable[[Columns], Mapping[str, FloatArray]],
    *,
    samples: int = 4000,
    seed: int = 0,
) -> dict[str, FloatArray]:
    """Standard uncertainty of each output after each set of readings alone.

    Args:
        fit: the linkage as known now.
        candidates: readings that could be taken, c of them; their `value` is not used.
        sets: which of them are taken together, s of them; an empty one gives what is known now.
        function: per-valve outputs of the parameters, as for `LinkageFit.sampled`.
        samples, seed: of the draws.

    Returns:
        output name -> shape [s, n].
    """
    vectors = fit.drawn(samples, seed)
    readings = ReadingModel(candidates, fit.layout).predicted(vectors)
    outputs = {
        name: np.broadcast_to(table, (samples, fit.layout.valves))
        for name, table in function(fit.layout.columns(vectors)).items()
    }
    # Valves whose output is known in no draw (a stem diameter not given) are passed over.
    known = {name: ~np.isnan(table).all(axis=0) for name, table in outputs.items()}
    sound = ~np.isnan(readings).any(axis=1)
    for name, table in outputs.items():
        sound &= ~np.isnan(table[:, known[name]]).any(axis=1)
    reading = readings[sound] - readings[sound].mean(axis=0)
    spread = reading.T @ reading / reading.shape[0]
    spread += np.diag(np.asarray(candidates.uncertainty, float) ** 2)
    after = {}
    for name, table in outputs.items():
        output = table[sound] - table[sound].mean(axis=0)
        covariance = reading.T @ output / output.shape[0]
        now = np.mean(output**2, axis=0)
        left = np.empty((len(sets), now.size))
        for row, chosen in enumerate(sets):
            own = list(chosen)
            told = np.linalg.solve(spread[np.ix_(own, own)], covariance[own])
            left[row] = now - np.sum(covariance[own] * told, axis=0)
        after[name] = np.sqrt(np.maximum(left, 0.0))
    return after
