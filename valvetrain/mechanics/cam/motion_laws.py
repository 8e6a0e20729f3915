"""Normalised cam motion laws for a rise from dwell to dwell.

Lift s = h f(u) with u = angle/rise angle in [0, 1], so that velocity = Cv h/beta per radian, acceleration
Ca h/beta^2 and jerk Cj h/beta^3 at their peaks. Closed forms: R. L. Norton, *Design of Machinery*, the
chapter on cam design (memory); the peak factors below are exact, not the rounded ones of printed tables.
"""

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from math import inf, pi, sqrt
from types import MappingProxyType

import numpy as np

from valvetrain.mechanics.arrays import ArrayLike, FloatArray

__all__ = ["MOTION_LAWS", "MotionLaw", "motion_law"]

Curves = tuple[FloatArray, FloatArray, FloatArray, FloatArray]


@dataclass(frozen=True)
class MotionLaw:
    """A normalised rise f(u) from 0 at u = 0 to 1 at u = 1, antisymmetric about u = 1/2.

    Attributes:
        name: the field's name of the law.
        velocity_factor: peak of f' (Cv).
        acceleration_factor: peak of |f''| (Ca).
        jerk_factor: peak of |f'''| (Cj); infinite where the acceleration steps.
        breaks: the u inside (0, 1) at which the formula changes.
    """

    name: str
    velocity_factor: float
    acceleration_factor: float
    jerk_factor: float
    breaks: tuple[float, ...]
    _curves: Callable[[FloatArray], Curves]

    def __call__(self, u: ArrayLike) -> Curves:
        """f, f', f'', f''' at u [dimensionless], any shape; NaN gives NaN.

        Outside [0, 1] the follower dwells: f is 0 or 1 and its derivatives 0. At u = 0, u = 1 and at the
        breaks, values of a stepping derivative are those from inside (one of the two sides at a break);
        the infinite jerk of a step is not shown.
        """
        position = np.asarray(u, float)
        inside = np.clip(position, 0.0, 1.0)
        lift, velocity, acceleration, jerk = self._curves(inside)
        moving = np.where(np.isnan(position), np.nan, (position >= 0.0) & (position <= 1.0))
        return lift, velocity * moving, acceleration * moving, jerk * moving


def _mirrored(u: FloatArray, first_half: Callable[[FloatArray], Curves]) -> Curves:
    """The whole law from its first half: f(u) = 1 - f(1 - u)."""
    late = u > 0.5
    s, v, a, j = first_half(np.where(late, 1.0 - u, u))
    return np.where(late, 1.0 - s, s), v, np.where(late, -a, a), j


def _constant_acceleration(u: FloatArray) -> Curves:
    return _mirrored(u, lambda x: (2 * x**2, 4 * x, 4 + 0 * x, 0 * x))


def _simple_harmonic(u: FloatArray) -> Curves:
    sine, cosine = np.sin(pi * u), np.cos(pi * u)
    # 1 - cos as a squared sine keeps its digits near the start.
    return np.sin(pi * u / 2) ** 2, pi / 2 * sine, pi**2 / 2 * cosine, -(pi**3) / 2 * sine


def _cycloidal(u: FloatArray) -> Curves:
    sine, cosine = np.sin(2 * pi * u), np.cos(2 * pi * u)
    return u - sine / (2 * pi), 2 * np.sin(pi * u) ** 2, 2 * pi * sine, 4 * pi**2 * cosine


def _modified_trapezoid(u: FloatArray) -> Curves:
    peak = 8 * pi / (2 + pi)
    w = 4 * pi

    def first_half(x: FloatArray) -> Curves:
        y, z = x - 1 / 8, x - 3 / 8
        s1, v1 = peak / w * (1 / 8 - 1 / w), peak / w
        s2, v2 = s1 + v1 / 4 + peak / 32, v1 + peak / 4
        parts = (
            (peak / w * (x - np.sin(w * x) / w), s1 + v1 * y + peak * y**2 / 2,
             s2 + v2 * z + peak / w**2 * (1 - np.cos(w * z))),
            (peak / w * (1 - np.cos(w * x)), v1 + peak * y, v2 + peak / w * np.sin(w * z)),
            (peak * np.sin(w * x), peak + 0 * x, peak * np.cos(w * z)),
            (peak * w * np.cos(w * x), 0 * x, -peak * w * np.sin(w * z)),
        )  # fmt: skip
        where = [np.isnan(x), x <= 1 / 8, x <= 3 / 8]
        s, v, a, j = (np.select(where, [x, part[0], part[1]], part[2]) for part in parts)
        return s, v, a, j

    return _mirrored(u, first_half)


def _modified_sine(u: FloatArray) -> Curves:
    peak = 4 * pi**2 / (4 + pi)
    fast, slow = 4 * pi, 4 * pi / 3

    def first_half(x: FloatArray) -> Curves:
        y = x - 1 / 8
        s1, v1 = peak / fast * (1 / 8 - 1 / fast), peak / fast
        parts = (
            (peak / fast * (x - np.sin(fast * x) / fast),
             s1 + v1 * y + peak / slow**2 * (1 - np.cos(slow * y))),
            (peak / fast * (1 - np.cos(fast * x)), v1 + peak / slow * np.sin(slow * y)),
            (peak * np.sin(fast * x), peak * np.cos(slow * y)),
            (peak * fast * np.cos(fast * x), -peak * slow * np.sin(slow * y)),
        )  # fmt: skip
        s, v, a, j = (np.where(x <= 1 / 8, part[0], part[1]) for part in parts)
        return s, v, a, j

    return _mirrored(u, first_half)


def _polynomial_345(u: FloatArray) -> Curves:
    return _mirrored(
        u,
        lambda x: (
            x**3 * (10 - 15 * x + 6 * x**2),
            30 * x**2 * (1 - x) ** 2,
            60 * x * (1 - x) * (1 - 2 * x),
            60 - 360 * x + 360 * x**2,
        ),
    )


def _polynomial_4567(u: FloatArray) -> Curves:
    return _mirrored(
        u,
        lambda x: (
            x**4 * (35 - 84 * x + 70 * x**2 - 20 * x**3),
            140 * x**3 * (1 - x) ** 3,
            420 * x**2 * (1 - x) ** 2 * (1 - 2 * x),
            840 * x * (1 - x) * (1 - 5 * x * (1 - x)),
        ),
    )


_LAWS = (
    MotionLaw("constant acceleration", 2.0, 4.0, inf, (0.5,), _constant_acceleration),
    MotionLaw("simple harmonic", pi / 2, pi**2 / 2, inf, (), _simple_harmonic),
    MotionLaw("cycloidal", 2.0, 2 * pi, 4 * pi**2, (), _cycloidal),
    MotionLaw(
        "modified trapezoid",
        2.0,
        8 * pi / (2 + pi),
        32 * pi**2 / (2 + pi),
        (1 / 8, 3 / 8, 5 / 8, 7 / 8),
        _modified_trapezoid,
    ),
    MotionLaw(
        "modified sine",
        4 * pi / (4 + pi),
        4 * pi**2 / (4 + pi),
        16 * pi**3 / (4 + pi),
        (1 / 8, 7 / 8),
        _modified_sine,
    ),
    MotionLaw("3-4-5 polynomial", 15 / 8, 10 / sqrt(3), 60.0, (), _polynomial_345),
    MotionLaw("4-5-6-7 polynomial", 35 / 16, 84 * sqrt(5) / 25, 52.5, (), _polynomial_4567),
)

MOTION_LAWS: Mapping[str, MotionLaw] = MappingProxyType({law.name: law for law in _LAWS})
"""Name -> law, all of them."""


def motion_law(name: str) -> MotionLaw:
    """The law of that name; ValueError naming all known ones otherwise."""
    if name not in MOTION_LAWS:
        known = ", ".join(MOTION_LAWS)
        raise ValueError(f"motion law {name!r} is not known; the known ones are: {known}")
    return MOTION_LAWS[name]
