"""Laws of the helical spring: limits, inverses, buckling in two forms and by the column equation, surge."""

import numpy as np
import pytest
from scipy.integrate import quad
from scipy.linalg import eigh_tridiagonal
from scipy.optimize import brentq

from valvetrain.mechanics.spring.buckling import (
    buckling_deflection,
    buckling_deflection_en,
    stable_free_height,
)
from valvetrain.mechanics.spring.conical import (
    conical_compression,
    conical_first_contact_load,
    conical_rate,
)
from valvetrain.mechanics.spring.helical import (
    COIL_ENDS,
    active_coils_for,
    bergstraesser_factor,
    index_in_range,
    shear_stress,
    solid_coil_diameter,
    solid_height,
    spring_index,
    spring_rate,
    total_coils,
    wahl_factor,
)
from valvetrain.mechanics.spring.surge import (
    active_mass,
    lift_harmonics,
    surge_frequency,
    surge_frequency_from_wire,
    surge_meetings,
    surge_speed,
)

RANDOM = np.random.default_rng(20)
WIRE = RANDOM.uniform(1e-3, 6e-3, 40)
COIL = WIRE * RANDOM.uniform(4, 12, 40)
COILS = RANDOM.uniform(3, 15, 40)
G, E, DENSITY = 79.3e9, 206e9, 7850.0


def test_active_coils_are_the_inverse_of_the_rate():
    rate = spring_rate(WIRE, COIL, COILS, G)
    np.testing.assert_allclose(active_coils_for(rate, WIRE, COIL, G), COILS, rtol=1e-13)


def test_both_curvature_factors_agree_and_tend_to_one():
    index = np.linspace(4, 12, 50)
    np.testing.assert_allclose(wahl_factor(index), bergstraesser_factor(index), rtol=0.015)
    assert wahl_factor(1e6) == pytest.approx(1.0, abs=2e-6)
    assert bergstraesser_factor(1e6) == pytest.approx(1.0, abs=2e-6)
    # EN 13906-1 (memory) writes the second one otherwise.
    np.testing.assert_allclose(bergstraesser_factor(index), (index + 0.5) / (index - 0.75), rtol=1e-14)


def test_work_of_torsion_gives_the_rate():
    # Castigliano on a straight shaft of the wire's length under the torque F D/2.
    length, polar = np.pi * COIL * COILS, np.pi * WIRE**4 / 32
    deflection = (COIL / 2) ** 2 * length / (G * polar)
    np.testing.assert_allclose(spring_rate(WIRE, COIL, COILS, G), 1 / deflection, rtol=1e-13)
    torque = 7.0 * COIL / 2
    np.testing.assert_allclose(shear_stress(7.0, WIRE, COIL), torque * (WIRE / 2) / polar, rtol=1e-13)


def test_index_is_flagged_and_not_refused_outside_4_to_12():
    index = spring_index(1e-3, np.array([3.9e-3, 4e-3, 12e-3, 12.1e-3, np.nan]))
    assert index_in_range(index).tolist() == [False, True, True, False, False]
    with pytest.raises(ValueError, match="must exceed the wire diameter"):
        spring_index(2e-3, 2e-3)


def test_solid_height_counts_every_wire():
    # 6 working coils of 2 mm; ends by hand: plain 6 turns stand 7 wires high, ground 7 turns 7 high,
    # squared 8 turns 9 high, squared and ground 8 turns 8 high.
    heights = [float(solid_height(2e-3, 6.0, ends)) * 1e3 for ends in COIL_ENDS]
    np.testing.assert_allclose(heights, [14.0, 14.0, 18.0, 16.0], rtol=1e-12)
    assert [float(total_coils(6.0, ends)) for ends in COIL_ENDS] == [6.0, 7.0, 8.0, 8.0]
    with pytest.raises(ValueError, match="allowed are plain, "):
        solid_height(2e-3, 6.0, "beehive")


def test_coil_grows_by_the_length_of_wire_that_the_pitch_took():
    # The wire of one turn is as long before as after: sqrt((pi D)^2 + p^2) = sqrt((pi D')^2 + d^2).
    pitch = WIRE * 2.5
    grown = solid_coil_diameter(WIRE, COIL, pitch)
    np.testing.assert_allclose(np.hypot(np.pi * COIL, pitch), np.hypot(np.pi * grown, WIRE), rtol=1e-13)
    np.testing.assert_allclose(solid_coil_diameter(WIRE, COIL, WIRE), COIL, rtol=1e-13)


def test_unknown_in_gives_unknown_out():
    wire = np.array([np.nan, 4e-3])
    for value in (
        spring_rate(wire, 0.03, 5, G),
        wahl_factor(spring_index(wire, 0.03)),
        shear_stress(100.0, wire, 0.03),
        solid_height(wire, 5, "squared"),
        active_mass(wire, 0.03, 5, DENSITY),
    ):
        assert np.isnan(value).tolist() == [True, False]
    assert np.isnan(buckling_deflection(np.nan, 0.03, 0.5, E, G))


# Buckling


def haringx_deflection(height, coil, support):
    """Compression at which Haringx' column buckles: P (1 + P/shear stiffness) = Euler's load.

    Both stiffnesses shrink with the height left h: bending h 2 E I G/(pi n R (2G + E)), shear h E I/(pi n
    R^3), with I of the wire (Timoshenko and Gere, *Theory of Elastic Stability*, helical springs; memory).
    Wire and coils are left arbitrary: they cancel.
    """
    wire, coils, radius = 3e-3, 7.0, coil / 2
    inertia = np.pi * wire**4 / 64
    rate = G * wire**4 / (8 * coil**3 * coils)

    def balance(compression):
        left = height - compression
        load = rate * compression
        bending = left * 2 * E * inertia * G / (np.pi * coils * radius * (2 * G + E))
        shear = left * E * inertia / (np.pi * coils * radius**3)
        return load * (1 + load / shear) - np.pi**2 * bending / (support * left) ** 2

    # The first crossing, searched from no compression up.
    trial = np.linspace(0, height * 0.8, 4001)
    value = np.array([balance(at) for at in trial])
    first = int(np.argmax(value > 0))
    return brentq(balance, trial[first - 1], trial[first], xtol=1e-15) if first else np.inf


@pytest.mark.parametrize("slenderness", [5.5, 6.0, 8.0, 12.0])
@pytest.mark.parametrize("support", [0.5, 0.707, 1.0])
def test_buckling_against_the_column_equation(slenderness, support):
    coil = 0.03
    height = coil * slenderness / (2 * support)
    expected = haringx_deflection(height, coil, support)
    assert buckling_deflection(height, coil, support, E, G) == pytest.approx(expected, rel=1e-9)


def test_two_published_forms_of_buckling_agree():
    height = COIL * RANDOM.uniform(1, 20, 40)
    for support in (0.5, 0.707, 1.0, 2.0):
        one = buckling_deflection(height, COIL, support, E, G)
        two = buckling_deflection_en(height, COIL, support, E, G)
        assert np.isinf(one).any() or support > 0.5
        np.testing.assert_allclose(one, two, rtol=1e-12)


def test_short_springs_never_buckle():
    limit = stable_free_height(0.03, 0.5, E, G)
    # Shigley prints 2.63 D/alpha for steel, its moduli not stated (memory): the usual ones give 2.62 to 2.64.
    assert limit / 0.06 == pytest.approx(2.63, abs=0.015)
    assert np.isinf(buckling_deflection(limit * 0.9999, 0.03, 0.5, E, G))
    assert np.isfinite(buckling_deflection(limit * 1.0001, 0.03, 0.5, E, G))
    with pytest.raises(ValueError, match="shear modulus is not below"):
        stable_free_height(0.03, 0.5, G, E)


# Surge


def test_two_published_forms_of_surge_agree():
    rate, mass = spring_rate(WIRE, COIL, COILS, G), active_mass(WIRE, COIL, COILS, DENSITY)
    other = surge_frequency_from_wire(WIRE, COIL, COILS, G, DENSITY)
    np.testing.assert_allclose(surge_frequency(rate, mass), other, rtol=1e-12)


def test_surge_is_that_of_a_chain_of_small_masses():
    # The spring cut into n pieces, both ends held: the chain tends to the bar from below as 1/n^2.
    rate, mass, pieces = 5e4, 0.09, 400
    stiff, small = rate * pieces, mass / pieces
    squares = eigh_tridiagonal(
        np.full(pieces - 1, 2 * stiff / small),
        np.full(pieces - 2, -stiff / small),
        eigvals_only=True,
        select="i",
        select_range=(0, 1),
    )
    frequency = np.sqrt(squares) / (2 * np.pi)
    assert frequency[0] == pytest.approx(surge_frequency(rate, mass), rel=1e-5)
    assert frequency[1] == pytest.approx(2 * surge_frequency(rate, mass), rel=1e-4)


def test_harmonics_rebuild_what_they_were_made_of():
    angle = np.arange(360) * (2 * np.pi / 360)
    lift = 3e-3 + 2e-3 * np.cos(angle - 0.3) + 0.5e-3 * np.cos(7 * angle + 1.1)
    found = lift_harmonics(np.stack([lift, 2 * lift]), 10)
    assert found.order.tolist() == list(range(1, 11))
    expected = np.zeros(10)
    expected[[0, 6]] = 2e-3, 0.5e-3
    np.testing.assert_allclose(found.amplitude, [expected, 2 * expected], atol=1e-15)
    np.testing.assert_allclose(found.phase[0, [0, 6]], [-0.3, 1.1], atol=1e-12)


def test_harmonics_of_a_half_cosine_hump_in_closed_form():
    # Lift cos(angle) while positive: 1/pi + cos/2 + sum 2 (-1)^(m+1)/(pi (4 m^2 - 1)) cos 2m angle.
    angle = np.arange(4096) * (2 * np.pi / 4096)
    found = lift_harmonics(np.maximum(np.cos(angle), 0.0), 8)
    m = np.arange(1, 5)
    np.testing.assert_allclose(found.amplitude[1::2], 2 / (np.pi * (4 * m**2 - 1)), atol=1e-6)
    np.testing.assert_allclose(found.amplitude[::2], [0.5, 0, 0, 0], atol=1e-12)


def test_which_order_meets_at_which_speed():
    # 400 Hz and order 10: the cam turns 40 times a second, the crank 80 times, 4800 rpm.
    assert surge_speed(400.0, 10) * 60 / (2 * np.pi) == pytest.approx(4800.0)
    harmonics = lift_harmonics(np.maximum(np.cos(np.arange(720) * 2 * np.pi / 720), 0.0), 40)
    met = surge_meetings(400.0, harmonics, 5000 * 2 * np.pi / 60)
    assert met.order[0] == 10
    assert np.all(np.diff(met.crank_speed) < 0)
    assert met.amplitude[0] == harmonics.amplitude[9]
    assert surge_meetings(np.nan, harmonics, 500.0).order.size == 0
    with pytest.raises(ValueError, match="orders 1 to 2"):
        lift_harmonics(np.zeros(5), 3)


# Conical springs


def test_conical_spring_of_equal_radii_is_a_cylindrical_one():
    np.testing.assert_allclose(
        conical_rate(WIRE, COIL / 2, COIL / 2, COILS, G), spring_rate(WIRE, COIL, COILS, G), rtol=1e-13
    )
    travel = 0.4 * COIL
    rate = spring_rate(WIRE, COIL, COILS, G)
    for share in (0.0, 0.3, 0.999, 1.5):
        compression = conical_compression(share * rate * travel, WIRE, COIL / 2, COIL / 2, COILS, G, travel)
        np.testing.assert_allclose(compression, min(share, 1.0) * travel, rtol=1e-12)


@pytest.mark.parametrize("share", [0.2, 1.0, 1.6, 2.6, 3.3, 4.0, 10.0])
def test_conical_compression_is_the_integral_over_its_coils(share):
    wire, small, large, coils, travel = 3e-3, 10e-3, 15e-3, 6.0, 0.02
    load = share * conical_first_contact_load(wire, large, coils, G, travel)

    def deflection(turn):
        radius = small + (large - small) * turn / coils
        return min(64 * load * radius**3 / (G * wire**4), travel / coils)

    edge = coils * np.clip((large * share ** (-1 / 3) - small) / (large - small), 0, 1)
    expected = quad(deflection, 0, edge, epsabs=1e-15)[0] + quad(deflection, edge, coils, epsabs=1e-15)[0]
    found = conical_compression(load, wire, small, large, coils, G, travel)
    assert found == pytest.approx(expected, rel=1e-11)


def test_conical_spring_is_straight_and_then_stiffens_to_its_travel():
    wire, small, large, coils, travel = 3e-3, 10e-3, 15e-3, 6.0, 0.02
    first = conical_first_contact_load(wire, large, coils, G, travel)
    load = np.linspace(0, 4 * first, 400)
    compression = conical_compression(load, wire, small, large, coils, G, travel)
    straight = load <= first
    rate = conical_rate(wire, small, large, coils, G)
    np.testing.assert_allclose(compression[straight] * rate, load[straight], rtol=1e-12)
    assert np.all(np.diff(compression, 2) < 1e-12)
    assert compression[-1] == travel
    with pytest.raises(ValueError, match="swap them"):
        conical_rate(wire, large, small, coils, G)
