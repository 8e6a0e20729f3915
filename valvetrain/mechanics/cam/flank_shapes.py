"""Flanks as cams have them: what is expected of a lobe before its card is read.

A flank is told by the shape of its acceleration: a pulse that opens the valve, then a deceleration over the
nose, on a ramp whose speed builds up at its foot and stays until the flank takes over. How long the pulse is,
how full, how the deceleration is spread and how high and long the ramp is, is drawn evenly from the ranges
below. All of them are common practice without a source; the draws are the same on every run.
"""

from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from valvetrain.mechanics.arrays import FloatArray

__all__ = ["FlankShapes", "Ramp", "flank_shapes", "ramp_draws"]

DRAWS = 768
NODES = 141
SEED = 5

PULSE_SHARE = (0.16, 0.52)
"""Share of the flank, ramp end to nose, over which the tappet is accelerated; short ones more often."""
PULSE_POWERS = (0.6, 2.0)
"""Powers of the pulse's rise and fall: below 1 it is full, above 1 peaked."""
NOSE_FULLNESS = (1.0, 5.0)
"""Power with which the deceleration sets in after the pulse."""
NOSE_SLOPE = (-1.9, 1.0)
"""Deceleration at the nose against that beside the pulse: negative falls off toward the nose."""

RAMP_HEIGHT = (0.13e-3, 0.40e-3)
"""[m] at the tappet: 0.005 to 0.016 in."""
RAMP_LENGTH = (12.0, 44.0)
"""[cam degrees]."""
RAMP_FOOT = (0.1, 0.8)
"""Share of a ramp's length over which its speed builds up."""
WITHOUT_RAMP = 0.07
"""Share of lobes that have none."""


@dataclass(frozen=True)
class Ramp:
    """What is known of a flank's ramp; None where nothing is.

    Attributes:
        height: tappet lift at its lobe end [m]; 0 for none. height_doubt: standard uncertainty [m].
        length: [cam rad]. length_doubt: standard uncertainty [cam rad].
    """

    height: float | None = None
    height_doubt: float = 0.0
    length: float | None = None
    length_doubt: float = 0.0


@dataclass(frozen=True, eq=False)
class FlankShapes:
    """Drawn flanks from the ramp's end (0) to the nose (1), shape [draws, nodes] but `along` [nodes].

    Attributes:
        along: share of the flank; denser at the ramp's end.
        pulse_velocity, pulse_lift: first and second integral of the accelerating pulse.
        nose_velocity, nose_lift: of the deceleration, counted positive.
        pulse_peak, nose_peak: greatest of either acceleration, [draws].
        chances: even draws between 0 and 1 for the ramps, [5, draws].
    """

    along: FloatArray
    pulse_velocity: FloatArray
    pulse_lift: FloatArray
    nose_velocity: FloatArray
    nose_lift: FloatArray
    pulse_peak: FloatArray
    nose_peak: FloatArray
    chances: FloatArray


@lru_cache(maxsize=1)
def flank_shapes() -> FlankShapes:
    """Draw the flanks; the same on every run."""
    random = np.random.default_rng(SEED)
    along = np.linspace(0.0, 1.0, NODES) ** 1.3
    share = _between(PULSE_SHARE, random.random((DRAWS, 1)) ** 1.2)
    rise, fall = np.exp(_between(np.log(PULSE_POWERS), random.random((2, DRAWS, 1))))
    fullness = _between(NOSE_FULLNESS, random.random((DRAWS, 1)))
    slope = _between(NOSE_SLOPE, random.random((DRAWS, 1)))
    early = np.clip(along / share, 0.0, 1.0)
    late = np.clip((along - share) / (1.0 - share), 0.0, 1.0)
    pulse = early**rise * (1.0 - early) ** fall
    nose = np.maximum((1.0 - (1.0 - late) ** fullness) * (1.0 + slope * (late - 0.5)), 0.0)
    pulse_velocity, nose_velocity = _integrated(pulse, along), _integrated(nose, along)
    return FlankShapes(
        along=along,
        pulse_velocity=pulse_velocity,
        pulse_lift=_integrated(pulse_velocity, along),
        nose_velocity=nose_velocity,
        nose_lift=_integrated(nose_velocity, along),
        pulse_peak=pulse.max(axis=1),
        nose_peak=nose.max(axis=1),
        chances=random.random((5, DRAWS)),
    )


def ramp_draws(ramp: Ramp) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Heights [m], lengths [cam rad] and feet (share of the length) of the drawn flanks' ramps, each [draws].

    What is known of the ramp is drawn about its value within its doubt, the rest as cams have it.
    """
    from scipy.special import ndtri

    first, second, third, fourth, fifth = flank_shapes().chances
    if ramp.height is None:
        height = np.where(fourth < WITHOUT_RAMP, 0.0, _between(RAMP_HEIGHT, first))
    else:
        height = np.maximum(ramp.height + ramp.height_doubt * ndtri(first), 0.0)
    if ramp.length is None:
        length = np.radians(_between(RAMP_LENGTH, second))
    else:
        length = np.maximum(ramp.length + ramp.length_doubt * ndtri(fifth), 1e-3)
    return height, np.where(height > 0, length, 0.0), _between(RAMP_FOOT, third)


def _between(ends: tuple[float, float] | FloatArray, share: FloatArray) -> FloatArray:
    """The value at a share of the way between two ends."""
    return np.asarray(ends[0] + (ends[1] - ends[0]) * share, float)


def _integrated(values: FloatArray, along: FloatArray) -> FloatArray:
    """Running integral by the trapezoid rule, 0 at the first node."""
    pieces = 0.5 * (values[:, 1:] + values[:, :-1]) * np.diff(along)
    return np.concatenate([np.zeros((len(values), 1)), np.cumsum(pieces, axis=1)], axis=1)
