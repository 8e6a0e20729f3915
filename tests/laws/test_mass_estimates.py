"""Laws of the mass estimates: limits that are plain solids, integrals done numerically, refusals.

Plausibility: common practice, no source (masses of parts as weighed in shops, given as wide ranges).
"""

import numpy as np
import pytest
from scipy.integrate import quad

from valvetrain.mechanics.dynamics import mass_estimates as m


def test_solid_rod_and_thin_tube():
    rod = m.pushrod_mass(0.008, 0.004, 0.2)
    assert rod.value == pytest.approx(7850 * np.pi / 4 * 0.008**2 * 0.2)
    tube = m.pushrod_mass(0.008, 0.001, 0.2)
    ends = 7850 * np.pi / 4 * 0.006**2 * 2 * 0.008
    assert tube.value == pytest.approx(7850 * np.pi / 4 * (0.008**2 - 0.006**2) * 0.2 + ends)


def test_valve_by_numerical_integration_of_its_outline():
    stem, head, margin, angle = 0.004, 0.022, 0.0015, 0.35
    cone = (head - stem) * np.tan(angle)

    def radius(y):
        if y < margin:
            return head
        return max(stem, head - (y - margin) / np.tan(angle))

    volume = quad(lambda y: np.pi * radius(y) ** 2, 0, 0.12, points=[margin, margin + cone], limit=200)[0]
    assert m.valve_mass(0.008, 0.12, 0.044).value == pytest.approx(7700 * volume, rel=1e-6)


def test_rocker_by_numerical_integration():
    pad, socket, height, width, shaft, wall, hub = 0.038, 0.025, 0.014, 0.016, 0.018, 0.004, 0.03
    outer = shaft / 2 + wall
    arms = sum(
        quad(lambda x, a=a: 7850 * height * width * (1 - x / (2 * a)) * x**2, outer, a)[0]
        for a in (pad, socket)
    )
    ring = 7850 * hub * quad(lambda r: 2 * np.pi * r**3, shaft / 2, outer)[0]
    found = m.rocker_inertia(pad, socket, height, width, shaft, wall, hub, end_mass=0.02)
    assert found.value == pytest.approx(arms + ring + 0.02 * socket**2, rel=1e-9)


def test_retainer_tappet_and_spring_by_their_solids():
    flat = m.retainer_mass(0.03, 0.0025, 0.015, 0.008)
    assert flat.value == pytest.approx(7850 * np.pi / 4 * (0.03**2 - 0.008**2) * 0.0025)
    solid = m.tappet_mass(0.022, 0.05, 0.011, 0.004)
    assert solid.value == pytest.approx(7300 * np.pi / 4 * 0.022**2 * 0.05)
    wire = np.pi * 0.03 * 5 * np.pi / 4 * 0.0045**2
    assert m.spring_mass(0.0045, 0.03, 5).value == pytest.approx(7850 * wire)


@pytest.mark.parametrize(
    ("estimate", "low", "high"),
    [
        (m.valve_mass(0.0087, 0.125, 0.045), 0.08, 0.16),
        (m.retainer_mass(0.032, 0.010, 0.018, 0.0087), 0.015, 0.045),
        (m.pushrod_mass(0.0079, 0.0012, 0.24), 0.04, 0.09),
        (m.tappet_mass(0.0214, 0.052, 0.0035, 0.004), 0.06, 0.14),
        (m.rocker_inertia(0.038, 0.025, 0.014, 0.012, 0.02, 0.004, 0.03, 0.02), 2e-5, 2e-4),
    ],
    ids=["valve", "retainer", "pushrod", "tappet", "rocker"],
)
def test_plausible_and_marked(estimate, low, high):
    assert low < estimate.value < high
    assert estimate.basis.startswith("estimated from dimensions")
    assert 0 < estimate.relative_uncertainty < 0.5
    assert estimate.uncertainty == pytest.approx(estimate.value * estimate.relative_uncertainty)


def test_unknown_stays_unknown_and_arrays_broadcast():
    found = m.pushrod_mass(np.array([0.008, np.nan]), 0.001, 0.2).value
    assert np.isfinite(found[0])
    assert np.isnan(found[1])


@pytest.mark.parametrize(
    ("call", "message"),
    [
        (lambda: m.pushrod_mass(0.0, 0.001, 0.2), "outside_diameter is 0"),
        (lambda: m.pushrod_mass(0.008, 0.005, 0.2), "at most half"),
        (lambda: m.valve_mass(0.02, 0.1, 0.01), "greater than the stem's"),
        (lambda: m.tappet_mass(0.02, 0.05, 0.02, 0.004), "thinner wall"),
        (lambda: m.rocker_inertia(0.01, 0.025, 0.014, 0.016, 0.018, 0.004, 0.03), "within the hub"),
    ],
)
def test_bad_dimensions_are_refused(call, message):
    with pytest.raises(ValueError, match=message):
        call()
