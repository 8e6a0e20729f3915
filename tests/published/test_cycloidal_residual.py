"""Vibration left in an undamped oscillator after a cycloidal rise.

Status: derived (Duhamel's integral); no publication. The two values were computed independently with a
general-purpose integrator; here the same is done again.
"""

import numpy as np
import pytest
from scipy.integrate import solve_ivp

from valvetrain.mechanics.dynamics.vibration import cycloidal_residual


@pytest.mark.parametrize(("periods", "residual"), [(1.5, 0.1697653), (2.5, 0.0242522)])
def test_values(periods, residual):
    assert cycloidal_residual(1.0, periods) == pytest.approx(residual, abs=0.5e-7)


@pytest.mark.parametrize("periods", [0.3, 1.0, 1.7, 2.0, 3.4])
def test_against_an_integrator(periods):
    natural = 2 * np.pi * periods

    def slope(t, y):
        return [y[1], natural**2 * (t - np.sin(2 * np.pi * t) / (2 * np.pi) - y[0])]

    end = solve_ivp(slope, (0, 1), [0.0, 0.0], rtol=1e-11, atol=1e-13, method="DOP853").y[:, -1]
    assert cycloidal_residual(1.0, periods) == pytest.approx(
        np.hypot(end[0] - 1.0, end[1] / natural), abs=1e-8
    )


def test_limit_at_one_period_is_smooth():
    assert cycloidal_residual(1.0, 1.0) == pytest.approx(0.5, rel=1e-12)
    assert cycloidal_residual(1.0, 1.0 + 1e-7) == pytest.approx(0.5, rel=1e-6)


def test_a_rise_time_of_zero_is_refused():
    with pytest.raises(ValueError, match="periods is 0"):
        cycloidal_residual(1.0, 0.0)
