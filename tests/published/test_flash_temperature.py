"""Blok's flash temperature (memory): its 1.11 against an integration of the moving heat source (derived).

A fast band source q(x) heats the surface it passes by T = 1/(B sqrt(pi v)) integral q(s)/sqrt(x - s) ds
(Carslaw and Jaeger, *Conduction of Heat in Solids*, memory).
"""

import numpy as np
import pytest
from scipy.integrate import quad

from valvetrain.mechanics.contact.flash_temperature import (
    flash_temperature,
    peclet_number,
    thermal_effusivity,
)


def test_the_factor_of_a_hertzian_band() -> None:
    effusivity = float(thermal_effusivity(46.0, 7800.0, 460.0))
    speed_1, speed_2, b, peak, mu = 3.0, 0.5, 1.0e-4, 600e6, 0.1

    def rise(end: float) -> float:
        # Heat split so that both surfaces get equally hot; s = end - z^2 takes the pole out.
        total = effusivity * (np.sqrt(speed_1) + np.sqrt(speed_2))
        flux = mu * peak * abs(speed_1 - speed_2)
        integral = quad(
            lambda z: 2 * np.sqrt(max(0.0, 1 - ((end - z * z) / b) ** 2)), 0, np.sqrt(end + b), limit=200
        )[0]
        return float(flux * integral / (total * np.sqrt(np.pi)))

    exact = max(rise(end) for end in np.linspace(-b, b, 201)[1:])
    found = flash_temperature(
        friction=mu,
        pressure=peak,
        half_width=b,
        speed_1=speed_1,
        speed_2=speed_2,
        effusivity_1=effusivity,
        effusivity_2=effusivity,
    )
    assert found == pytest.approx(exact, rel=0.005)


def test_no_sliding_no_rise_and_no_motion_is_unknown() -> None:
    rise = flash_temperature(
        friction=0.1,
        pressure=1e9,
        half_width=1e-4,
        speed_1=[2.0, 0.0],
        speed_2=[2.0, 0.0],
        effusivity_1=1.3e4,
        effusivity_2=1.3e4,
    )
    assert rise[0] == 0.0
    assert np.isnan(rise[1])


def test_peclet_number() -> None:
    assert peclet_number(-2.0, 1e-4, 1e-5) == pytest.approx(10.0)
