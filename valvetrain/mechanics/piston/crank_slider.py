"""Piston motion of a crank and rod whose bore passes through the crank's axis, and compression ratios.

x = r + l - r cos t - sqrt(l^2 - r^2 sin^2 t), t from top dead center (derived; the same in Khurmi & Gupta,
*Theory of Machines*, chapter 15, before its approximation).
"""

import numpy as np

from valvetrain.mechanics.arrays import ArrayLike, FloatArray

__all__ = [
    "clearance_volume",
    "effective_compression_ratio",
    "piston_acceleration",
    "piston_drop",
    "piston_velocity",
    "static_compression_ratio",
]


def piston_drop(crank_angle: ArrayLike, stroke: ArrayLike, rod_length: ArrayLike) -> FloatArray:
    """Distance of the piston below top dead center [m], >= 0.

    Args:
        crank_angle: [rad] after top dead center, any shape; stroke, rod_length: [m], broadcast to it.

    NaN in, NaN out. Raises ValueError unless stroke > 0 and rod_length > stroke/2.
    """
    t, r, rod = _checked(crank_angle, stroke, rod_length)
    # Each difference is written as a product, so that nothing is lost by subtraction near dead center.
    sine = np.sin(t)
    return np.asarray(
        2 * r * np.sin(t / 2) ** 2 + (r * sine) ** 2 / (rod + np.sqrt(rod**2 - (r * sine) ** 2)), float
    )


def piston_velocity(
    crank_angle: ArrayLike, stroke: ArrayLike, rod_length: ArrayLike, speed: ArrayLike = 1.0
) -> FloatArray:
    """d(drop)/dt [m/s], positive downward; `speed` of the crank [rad/s], 1 gives metres per radian."""
    t, r, rod = _checked(crank_angle, stroke, rod_length)
    root = np.sqrt(rod**2 - (r * np.sin(t)) ** 2)
    return np.asarray(np.asarray(speed, float) * r * np.sin(t) * (1 + r * np.cos(t) / root), float)


def piston_acceleration(
    crank_angle: ArrayLike, stroke: ArrayLike, rod_length: ArrayLike, speed: ArrayLike = 1.0
) -> FloatArray:
    """d2(drop)/dt2 [m/s2] at steady speed, positive downward; `speed` of the crank [rad/s]."""
    t, r, rod = _checked(crank_angle, stroke, rod_length)
    root = np.sqrt(rod**2 - (r * np.sin(t)) ** 2)
    shape = np.cos(t) + r * np.cos(2 * t) / root + r**3 * np.sin(2 * t) ** 2 / (4 * root**3)
    return np.asarray(np.asarray(speed, float) ** 2 * r * shape, float)


def clearance_volume(
    chamber: ArrayLike,
    *,
    gasket_bore: ArrayLike,
    gasket_thickness: ArrayLike,
    bore: ArrayLike,
    deck_clearance: ArrayLike,
    piston_dish: ArrayLike = 0.0,
) -> FloatArray:
    """Volume above the piston at top dead center [m3].

    Args:
        chamber: [m3] in the head; gasket_bore, gasket_thickness, bore: [m].
        deck_clearance: [m] crown below the block's deck, negative above it.
        piston_dish: [m3] of dish and valve reliefs, negative for a dome.
    """
    area = np.pi / 4 * np.asarray(bore, float) ** 2
    gasket = np.pi / 4 * np.asarray(gasket_bore, float) ** 2 * np.asarray(gasket_thickness, float)
    flat = np.asarray(chamber, float) + gasket + area * np.asarray(deck_clearance, float)
    return np.asarray(flat + np.asarray(piston_dish, float))


def static_compression_ratio(bore: ArrayLike, stroke: ArrayLike, clearance: ArrayLike) -> FloatArray:
    """(swept + clearance volume)/clearance volume; bore, stroke [m], clearance volume [m3] > 0."""
    volume = np.asarray(clearance, float)
    if np.any(volume <= 0):
        raise ValueError(f"clearance volume is {clearance!r} m3; it must be positive")
    swept = np.pi / 4 * np.asarray(bore, float) ** 2 * np.asarray(stroke, float)
    return np.asarray(1 + swept / volume)


def effective_compression_ratio(
    static_ratio: ArrayLike, intake_closes: ArrayLike, stroke: ArrayLike, rod_length: ArrayLike
) -> FloatArray:
    """Ratio counted from where the intake closes: (volume left at closing)/(clearance volume).

    Args:
        static_ratio: > 1.
        intake_closes: [rad] crank angle after bottom dead center, negative before it, within half a turn.
        stroke, rod_length: [m].

    The valve is taken as shut from that instant; the ratio says nothing of the charge's motion.
    """
    ratio = np.asarray(static_ratio, float)
    if np.any(ratio <= 1):
        raise ValueError(f"static compression ratio is {static_ratio!r}; it must be over 1")
    closes = np.asarray(intake_closes, float)
    if np.any(np.abs(closes) > np.pi):
        raise ValueError(f"intake closing is {intake_closes!r} rad after BDC; it must be within half a turn")
    left = piston_drop(np.pi + closes, stroke, rod_length) / np.asarray(stroke, float)
    return np.asarray(1 + (ratio - 1) * left)


def _checked(
    crank_angle: ArrayLike, stroke: ArrayLike, rod_length: ArrayLike
) -> tuple[FloatArray, FloatArray, FloatArray]:
    r, rod = np.asarray(stroke, float) / 2, np.asarray(rod_length, float)
    if np.any(r <= 0):
        raise ValueError(f"stroke is {stroke!r} m; it must be positive")
    if np.any(rod <= r):
        raise ValueError(f"rod length is {rod_length!r} m; it must be more than half the stroke")
    return np.asarray(crank_angle, float), r, rod
