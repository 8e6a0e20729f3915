"""Least sweep of a circular pad on a flat tip: a (1 - sqrt(1 - (L/2a)^2)), about L^2/(8a).

Status: derived (closed form, computed independently); no publication.
"""

import numpy as np
import pytest
from scipy.optimize import minimize_scalar

from valvetrain.mechanics.rocker.sweep import height_for_square_arm, least_sweep_width, sweep

CASES = pytest.mark.parametrize(
    ("arm", "lift", "width"),
    [(38.1, 12.7, 0.532893), (40.0, 12.0, 0.452560)],
    ids=["arm 38.1, lift 12.7", "arm 40, lift 12"],
)


@CASES
def test_least_width(arm, lift, width):
    assert least_sweep_width(pad_arm=arm, lift=lift) == pytest.approx(width, abs=5e-7)
    assert least_sweep_width(pad_arm=arm, lift=lift) == pytest.approx(lift**2 / (8 * arm), rel=0.01)


@CASES
def test_no_height_sweeps_less(arm, lift, width):
    def swept(height):
        return float(sweep(setback=arm, height=height, pad_arm=arm, pad_radius=8.0, net_lift=lift).width)

    best = minimize_scalar(swept, bounds=(-8.0, 12.0), method="bounded", options={"xatol": 1e-10})
    assert best.fun == pytest.approx(width, abs=5e-7)
    assert best.x == pytest.approx(height_for_square_arm(pad_radius=8.0, net_lift=lift), abs=1e-6)


def test_lift_beyond_twice_the_arm_has_no_least_sweep():
    assert np.isnan(least_sweep_width(pad_arm=5.0, lift=10.1))
