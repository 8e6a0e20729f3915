"""Faces of a pad that could as well have been read: what its points' errors and their spacing leave open."""

import numpy as np

from valvetrain.mechanics.arrays import FloatArray
from valvetrain.mechanics.uncertainty.even_draws import even_normals

__all__ = ["POINTS", "SPACING", "other_faces"]

POINTS, SPACING = "rocker.pad_outline points", "rocker.pad_outline spacing"
"""What these doubts are called in a budget."""

# Scatters of an outline's points that are followed, and the fewest points of which every second is a face.
_SCATTERS, _FEWEST = 6, 9

# Points that scatter no more than this are those of a drawn or scanned face [m].
_SMOOTH = 3e-7


def _scatter(face: FloatArray) -> float:
    """Standard deviation of the points beside each other [m], from their fourth differences; infinite of few.

    A smooth face leaves next to nothing in these, an error s of every point sqrt(70) s. The median, so that
    the corners of a hollow do not count.
    """
    if len(face) < _FEWEST:
        return float("inf")
    along = np.gradient(face, axis=0)
    along /= np.hypot(*along.T)[:, np.newaxis]
    across = np.diff(face, 4, axis=0)
    normal = across[:, 0] * along[2:-2, 1] - across[:, 1] * along[2:-2, 0]
    return float(np.median(np.abs(normal)) / 0.6745 / np.sqrt(70.0))


def other_faces(face: FloatArray, point: float) -> list[tuple[str, FloatArray]]:
    """Faces that could as well have been read: points scattered by a reading, and every second point."""
    faces = []
    scatter = min(point, _scatter(face))
    if scatter > _SMOOTH:
        noise = scatter * even_normals(_SCATTERS, face.size)
        faces = [(POINTS, face + one.reshape(face.shape)) for one in noise]
    if len(face) >= _FEWEST:
        ends = (0, len(face) - 1)
        for first in (0, 1):
            kept = np.unique([*range(first, len(face), 2), *ends])
            faces.append((SPACING, face[kept]))
    return faces
