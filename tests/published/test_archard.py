"""Archard's law, depth = k p s/H (memory); the number is arithmetic on the law (derived)."""

import numpy as np
import pytest

from valvetrain.mechanics.contact.archard import (
    archard_depth,
    coefficient_from_third_form,
    lobe_wear_intensity,
    relative_wear,
)


def test_depth() -> None:
    assert archard_depth(1e-7, 600e6, 1000.0, 6e9) == pytest.approx(0.010e-3, rel=1e-12)
    # The same wear by V = K F s/(3 H) on 1 mm^2: K is three times k.
    volume = 3e-7 * 600.0 * 1000.0 / (3 * 6e9)
    assert archard_depth(coefficient_from_third_form(3e-7), 600e6, 1000.0, 6e9) * 1e-6 == pytest.approx(
        volume
    )
    with pytest.raises(ValueError, match="hardness"):
        archard_depth(1e-7, 1e6, 1.0, 0.0)


def test_lobe_intensity_is_the_integral_of_pressure_over_the_sliding() -> None:
    # A spot that crosses a Hertzian band: integral of p dt times the sliding speed, done by quadrature.
    half_width, peak, lobe_speed, sliding = 1.2e-4, 700e6, 2.5, 4.0
    x = np.linspace(-half_width, half_width, 20001)
    pressure = peak * np.sqrt(np.maximum(0, 1 - (x / half_width) ** 2))
    met = np.trapezoid(pressure, x / lobe_speed) * sliding
    line_load = np.pi * half_width * peak / 2
    assert lobe_wear_intensity(line_load, sliding, -lobe_speed) == pytest.approx(met, rel=1e-4)


def test_map_is_relative_and_parted_angles_do_not_wear() -> None:
    found = relative_wear(np.array([[1.0, 4.0, np.nan], [np.nan] * 3, [0.0, 0.0, 0.0]]))
    np.testing.assert_array_equal(found[0], [0.25, 1.0, 0.0])
    assert np.isnan(found[1:]).all()
    np.testing.assert_array_equal(relative_wear(np.array([1.0, 4.0]), reference=8.0), [0.125, 0.5])
