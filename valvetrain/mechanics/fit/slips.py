"""The likely slip behind a reading that does not fit: which common mistake would have given this number."""

from collections.abc import Iterator
from dataclasses import replace

import numpy as np

from valvetrain.mechanics.arrays import FloatArray
from valvetrain.mechanics.fit.model import ReadingModel
from valvetrain.mechanics.fit.readings import Readings

__all__ = ["likely_slip", "transposed"]

_INCH = 25.4
_REACH = 3.0  # standard uncertainties within which a slip explains the reading


def likely_slip(
    index: int, readings: Readings, model: ReadingModel, vector: FloatArray, uncertainty: float
) -> str | None:
    """The slip that turns this reading into the predicted one best, in words; None where none does.

    Args:
        index: of the reading.
        readings, model, vector: as fitted without that reading.
        uncertainty: of reading less prediction, same unit.
    """
    value = float(readings.value[index])
    found = [
        (abs(as_meant - predicted) / (uncertainty * weight), words)
        for as_meant, predicted, weight, words in _candidates(
            index, value, uncertainty, readings, model, vector
        )
    ]
    fitting = [one for one in found if one[0] <= _REACH]
    return min(fitting)[1] if fitting else None


def _candidates(
    index: int,
    value: float,
    uncertainty: float,
    readings: Readings,
    model: ReadingModel,
    vector: FloatArray,
) -> Iterator[tuple[float, float, float, str]]:
    """(the value as it was meant, what is predicted for it, scale of the uncertainty, words)."""
    kind = readings.kind[index]
    predicted = float(model.predicted(vector[np.newaxis])[0, index])
    if abs(predicted) > 5.0 * uncertainty:  # else dividing anything by 25.4 would seem to explain it
        # What was written to the last digit of the wrong unit is coarse in the right one.
        yield value * _INCH, predicted, 3.0, "inches were written as millimeters"
        yield value / _INCH, predicted, 1.0, "millimeters were written as inches"
    if kind in ("near_edge", "far_edge"):
        yield -value, predicted, 1.0, "the sign: the edge was read toward the other side"
        partner = "far_edge" if kind == "near_edge" else "near_edge"
        other = _as_kind(partner, index, readings, model, vector)
        if _is_near(partner, predicted, uncertainty, index, readings):
            yield value, other, 1.0, "near and far edge are exchanged"
        if readings.rim is not None and np.isfinite(readings.rim[index]):
            words = "it was read from the rim of the tip, not from the axis of the stem"
            yield value - float(readings.rim[index]), predicted, 1.0, words
    if kind == "net_lift":
        gross = _as_kind("gross_lift", index, readings, model, vector)
        yield value, gross, 1.0, "gross lift was given for net: the lash is included"
    if kind == "gross_lift":
        net = _as_kind("net_lift", index, readings, model, vector)
        yield value, net, 1.0, "net lift was given for gross: the lash was in"
    crank = readings.crank_angle
    if crank is not None and np.isfinite(crank[index]):
        for factor, words in ((2.0, "cam degrees were given for crank"), (0.5, "crank degrees were doubled")):
            angles = crank.copy()
            angles[index] *= factor
            moved = ReadingModel(replace(readings, crank_angle=angles), model.layout)
            yield value, float(moved.predicted(vector[np.newaxis])[0, index]), 1.0, words
    if readings.resolution is not None and readings.resolution[index] > 0.0:
        for other in transposed(value, float(readings.resolution[index])):
            yield other, predicted, 1.0, "two digits are transposed"
        if kind in ("net_lift", "gross_lift") and np.isfinite(readings.at[index]):
            # The tappet lift is taken to be written to as many digits as the lift at the valve.
            for other in transposed(float(readings.at[index]), float(readings.resolution[index])):
                places = readings.at.copy()
                places[index] = other
                moved = ReadingModel(replace(readings, at=places), model.layout)
                words = "two digits of the tappet lift are transposed"
                yield value, float(moved.predicted(vector[np.newaxis])[0, index]), 1.0, words


def _is_near(kind: str, place: float, uncertainty: float, index: int, readings: Readings) -> bool:
    """Whether a reading of that kind at the same valve lies at `place`; True where there is none."""
    same = [
        float(readings.value[other])
        for other, its in enumerate(readings.kind)
        if its == kind and readings.valve[other] == readings.valve[index]
    ]
    return not same or min(abs(value - place) for value in same) <= _REACH * uncertainty


def _as_kind(kind: str, index: int, readings: Readings, model: ReadingModel, vector: FloatArray) -> float:
    kinds = list(readings.kind)
    kinds[index] = kind
    changed = ReadingModel(replace(readings, kind=tuple(kinds)), model.layout)
    return float(changed.predicted(vector[np.newaxis])[0, index])


def transposed(value: float, resolution: float) -> list[float]:
    """All numbers that `value` gives with two neighbor digits exchanged; its last digit is `resolution`."""
    digits = str(abs(round(value / resolution))).rjust(4, "0")
    sign = -1.0 if value < 0.0 else 1.0
    found = []
    for place in range(len(digits) - 1):
        if digits[place] != digits[place + 1]:
            swapped = digits[:place] + digits[place + 1] + digits[place] + digits[place + 2 :]
            found.append(sign * int(swapped) * resolution)
    return found
