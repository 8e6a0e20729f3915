"""Greatest acceleration of followers, textbook examples.

Source: S. Sarkar, *Theory of Machines*, illustrations 9.2 (p. 247), 9.3 (p. 249), 9.5 (p. 252).
Status: seen. Illustration 9.2 prints 177.6 and 78.9, cut short; 177.65 and 78.96 follow from its own formula.
"""

import numpy as np
import pytest

from valvetrain.mechanics.cam.law_lobe import LawLobe

# law, lift mm, rpm, rise deg, return deg, acceleration m/s^2 rising and returning, tolerance from the digits
EXAMPLES = {
    "9.2": ("simple harmonic", 40, 300, 60, 90, 177.65, 78.96, 5e-3),
    # Printed with 50 mm, 100 rpm and nothing about the law but that it is harmonic.
    "9.3": ("simple harmonic", 50, 100, 120, 60, 6.2, 24.7, 0.05),
    "9.5": ("constant acceleration", 25, 1000, 120, 90, 250.0, 444.4, 0.05),
}


@pytest.mark.parametrize("example", EXAMPLES)
def test_peak_acceleration(example):
    law, lift, rpm, rise, back, rising, returning, tolerance = EXAMPLES[example]
    lobe = LawLobe(law, lift * 1e-3, np.radians(rise), np.radians(back), nose_dwell=np.radians(20))
    speed = rpm * 2 * np.pi / 60
    turn = np.linspace(-np.pi, np.pi, 36001)
    acceleration = np.abs(lobe.curves(turn)[2]) * speed**2
    assert acceleration[turn < 0].max() == pytest.approx(rising, abs=tolerance)
    assert acceleration[turn > 0].max() == pytest.approx(returning, abs=tolerance)
