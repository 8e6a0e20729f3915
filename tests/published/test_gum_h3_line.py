"""JCGM 100:2008 (GUM), example H.3: calibration of a thermometer by a straight line.

Status: results seen; the eleven readings (table H.6) from memory, and they reproduce the printed results.
b = y1 + y2 (t - 20 degC). Printed: y1 -0.1712(29), y2 0.00218(67), r -0.930, s 0.0035; at 30 degC
-0.1494(41).
"""

import numpy as np
import pytest

from tests.published.doubt_cases import found
from valvetrain.mechanics.uncertainty.propagation import propagated

READ = np.array([21.521, 22.012, 22.512, 23.003, 23.507, 23.999, 24.513, 25.002, 25.503, 26.010, 26.511])
CORRECTION = -np.array([0.171, 0.169, 0.166, 0.159, 0.164, 0.165, 0.156, 0.157, 0.159, 0.161, 0.160])


def line(inputs):
    """Intercept at 20 degC, slope, and value at 30 degC, from corrections c0 ... c10 [k, n]."""
    corrections = np.stack([inputs[f"c{index}"] for index in range(READ.size)])
    place = READ - 20.0
    slope = np.tensordot(place - place.mean(), corrections, axes=(0, 0)) / np.sum((place - place.mean()) ** 2)
    intercept = corrections.mean(axis=0) - slope * place.mean()
    return {"intercept": intercept, "slope": slope, "at_30": intercept + 10.0 * slope}


def fitted():
    values = {f"c{index}": np.array([one]) for index, one in enumerate(CORRECTION)}
    plain = line(values)
    residual = CORRECTION - plain["intercept"] - plain["slope"] * (READ - 20.0)
    deviation = np.sqrt(np.sum(residual**2) / (READ.size - 2))
    return deviation, propagated(line, values, {name: np.array([deviation]) for name in values})


@pytest.mark.parametrize(
    ("output", "value", "uncertainty", "digits"),
    [
        ("intercept", -0.1712, 0.0029, 5e-5),
        ("slope", 0.00218, 0.00067, 5e-6),
        ("at_30", -0.1494, 0.0041, 5e-5),
    ],
)
def test_line(output, value, uncertainty, digits):
    _, result = fitted()
    assert result.value[output][0] == pytest.approx(value, abs=1.01 * digits)
    assert result.uncertainty[output][0] == pytest.approx(uncertainty, abs=1.01 * digits)


def test_correlation_from_the_contributions():
    deviation, result = fitted()
    assert deviation == pytest.approx(0.0035, abs=5e-5)
    parts = result.contributions
    product = sum(parts["intercept"][name] * parts["slope"][name] for name in parts["slope"])
    correlation = product / (result.uncertainty["intercept"] * result.uncertainty["slope"])
    assert correlation[0] == pytest.approx(-0.930, abs=5e-4)


def test_by_the_toolkits_own_way():
    deviation = 0.0035  # printed
    inputs = {f"c{index}": (one, deviation) for index, one in enumerate(CORRECTION)}
    for name, value, printed, digit in (
        ("intercept", -0.1712, 0.0029, 5e-5),
        ("slope", 0.00218, 0.00067, 5e-6),
        ("at_30", -0.1494, 0.0041, 5e-5),
    ):
        one = found(lambda rows, name=name: {"y": line(rows)[name]}, inputs)
        assert one.value[0] == pytest.approx(value, abs=digit)
        assert one.uncertainty[0] == pytest.approx(printed, abs=digit)
        assert one.ends(0) is None
