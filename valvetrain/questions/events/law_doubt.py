"""How sure a lobe given by a motion law is: each of its figures moved by its own doubt."""

from dataclasses import fields, replace
from typing import Any

import numpy as np

from valvetrain.mechanics.arrays import ArrayLike, FloatArray
from valvetrain.mechanics.cam.events import crossings
from valvetrain.mechanics.cam.lift_curve import LiftCurve
from valvetrain.parts.lobe import Lobe
from valvetrain.parts.lobe_curve import lobe_curve
from valvetrain.parts.measured import Measured

__all__ = ["law_angle_doubts", "law_lift_doubt"]

# What a law's curve is made of.
_FIGURES = (
    "lift",
    "rise_angle",
    "return_angle",
    "nose_dwell",
    "ramp_height",
    "ramp_angle",
    "closing_ramp_height",
    "closing_ramp_angle",
)


def law_angle_doubts(lobe: Lobe, level: float) -> tuple[float, float]:
    """Doubt of half width and middle [cam rad] of a law's lobe at a tappet lift [m]; NaN: never reached."""
    widths, middles = [], []
    for curves in _moved(lobe):
        found = [crossings(each, level) for each in curves]
        half = [0.5 * (float(each.closing) - float(each.opening)) for each in found]
        middle = [0.5 * (float(each.closing) + float(each.opening)) for each in found]
        widths.append(0.5 * (half[0] - half[1]))
        middles.append(0.5 * (middle[0] - middle[1]))
    return float(np.linalg.norm(widths)), float(np.linalg.norm(middles))


def law_lift_doubt(lobe: Lobe, angle: ArrayLike) -> FloatArray:
    """Standard uncertainty of tappet lift [m] at cam angles from the lobe's center, any shape."""
    total: FloatArray = np.zeros(np.shape(angle))
    for up, down in _moved(lobe):
        total = np.hypot(total, 0.5 * (up.lift(angle) - down.lift(angle)))
    return total


def _moved(lobe: Lobe) -> list[tuple[LiftCurve, LiftCurve]]:
    """The lobe's curve with each unsure figure larger and smaller by its doubt; kept where neither can be."""
    plain = lobe_curve(lobe)
    assert plain is not None  # the caller has a curve of it
    names = {field.name for field in fields(lobe)}
    pairs = []
    for name in _FIGURES:
        figure = getattr(lobe, name) if name in names else None
        if not isinstance(figure, Measured) or not figure.uncertainty > 0.0:
            continue
        pair = []
        for way in (1.0, -1.0):
            value = max(figure.value + way * figure.uncertainty, 0.0)
            try:
                changed: dict[str, Any] = {name: replace(figure, value=value)}
                moved = lobe_curve(replace(lobe, **changed))
            except ValueError:  # no lobe of that size: one side tells
                moved = plain
            pair.append(plain if moved is None else moved)
        pairs.append((pair[0], pair[1]))
    return pairs
