"""What one more reading would do for a fitted linkage, before it is taken.

From draws of the posterior: the output's variance left after a linear regression on the reading that would
be taken (with its noise), var - cov^2/(var_reading + u^2). For a posterior of one answer that is exact to
first order; for two answers it also credits a reading that tells them apart.
"""

from collections.abc import Callable, Mapping

import numpy as np

from valvetrain.mechanics.arrays import FloatArray
from valvetrain.mechanics.fit.linkage import LinkageFit
from valvetrain.mechanics.fit.model import Columns, ReadingModel
from valvetrain.mechanics.fit.readings import Readings

__all__ = ["uncertainty_after_reading"]


def uncertainty_after_reading(
    fit: LinkageFit,
    candidates: Readings,
    function: Callable[[Columns], Mapping[str, FloatArray]],
    *,
    samples: int = 4000,
    seed: int = 0,
) -> dict[str, FloatArray]:
    """Standard uncertainty of each output after each candidate reading alone.

    Args:
        fit: the linkage as known now.
        candidates: readings that could be taken, c of them; their `value` is not used.
        function: per-valve outputs of the parameters, as for `LinkageFit.carried`.
        samples, seed: of the draws.

    Returns:
        output name -> shape [c, n].
    """
    vectors = fit.drawn(samples, seed)
    readings = ReadingModel(candidates, fit.layout).predicted(vectors)
    outputs = function(fit.layout.columns(vectors))
    sound = ~np.isnan(readings).any(axis=1)
    for table in outputs.values():
        sound &= ~np.isnan(table).any(axis=1)
    reading = readings[sound] - readings[sound].mean(axis=0)
    noise = np.asarray(candidates.uncertainty, float) ** 2
    after = {}
    for name, table in outputs.items():
        whole = np.broadcast_to(table, (samples, fit.layout.valves))[sound]
        output = whole - whole.mean(axis=0)
        covariance = reading.T @ output / output.shape[0]
        spread = np.mean(reading**2, axis=0) + noise
        variance = np.mean(output**2, axis=0) - covariance**2 / spread[:, np.newaxis]
        after[name] = np.sqrt(np.maximum(variance, 0.0))
    return after
