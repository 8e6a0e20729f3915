"""EA-4/02 M:2013, examples S4 (gauge block), S9 (digital multimeter) and S11 (temperature block calibrator).

Status: contributions and results seen in open test data. S4: 36.4 nm, U 73 nm. S9: u 0.030 V, k 1.65, U 0.05
V.
S11: u 164 mK, k 1.81, U 0.3 K. Each a sum; R: rectangular.
"""

import math

import pytest

from tests.published.doubt_cases import ends, found
from valvetrain.mechanics.uncertainty.distributions import NORMAL, RECTANGULAR

CASES = {
    "S4": ((15.0, 17.3, 5.37, 18.5, 16.6, 11.8, 3.87), (), 36.4, 73.0, 0.05),
    "S9": ((1e-3,), (2.9e-2, 6.4e-3), 0.030, 0.05, 0.0005),
    "S11": ((15.0, 10.0), (23.0, 29.0, 58.0, 144.0, 29.0, 17.0), 164.0, 300.0, 0.5),
}


@pytest.mark.parametrize("name", CASES)
def test_sum(name):
    normal, rectangular, uncertainty, expanded, digit = CASES[name]
    inputs = {f"n{place}": (0.0, each, NORMAL) for place, each in enumerate(normal)}
    inputs |= {f"r{place}": (0.0, each, RECTANGULAR) for place, each in enumerate(rectangular)}
    one = found(lambda rows: {"y": sum(rows.values())}, inputs)
    assert one.uncertainty[0] == pytest.approx(uncertainty, abs=digit)
    low, high = ends(one)
    assert low == pytest.approx(-high, rel=0.02)
    # S4's factor is 2, where the exact normal one is 1.96; S9's and S11's expanded uncertainties are rounded.
    assert high == pytest.approx(expanded, abs=max(0.03 * expanded, 0.002))


def test_the_rectangle_rules():
    one = found(
        lambda rows: {"y": rows["n"] + rows["r"]},
        {"n": (0.0, 1e-3), "r": (0.0, 2.9e-2, RECTANGULAR)},
    )
    assert ends(one)[1] == pytest.approx(0.95 * math.sqrt(3) * 2.9e-2, rel=0.01)
