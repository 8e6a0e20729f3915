"""Hertz contact against a boundary-element solution, its limits, scaling and bad input.

`ContactMechanics` (MIT) presses a rigid paraboloid into an elastic half-space by a Fourier method with a
free boundary: no formula of Hertz is used in it.
"""

import warnings

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.special import ellipe, ellipk

with warnings.catch_warnings():
    warnings.simplefilter("ignore", ImportWarning)  # it looks for MPI and goes on without
    import ContactMechanics
    from SurfaceTopography import Topography

from valvetrain.mechanics.contact.hertz import (
    composite_modulus,
    crowned_tappet_on_lobe,
    elliptical_contact,
    ellipticity,
    line_contact,
    relative_curvatures,
)


@pytest.mark.parametrize("seed", range(6))
def test_ellipse_against_boundary_elements(seed: int) -> None:
    rng = np.random.default_rng(seed)
    modulus = rng.uniform(60e9, 130e9)
    lobe_radius, crown_radius = rng.uniform(4e-3, 20e-3), rng.uniform(0.01, 0.2)
    load = rng.uniform(200, 3000)
    ours = elliptical_contact(load, 1 / crown_radius, 1 / lobe_radius + 1 / crown_radius, modulus)
    points = 128
    sizes = 2.5 * float(ours.semi_major), 2.5 * float(ours.semi_minor)
    x, y = (
        (np.arange(points) - points / 2 + shift) * size / points
        for size, shift in zip(sizes, (0.5, 0.5), strict=True)
    )
    heights = -(x[:, None] ** 2 / (2 * crown_radius)) - y[None, :] ** 2 / 2 * (
        1 / lobe_radius + 1 / crown_radius
    )
    substrate = ContactMechanics.FreeFFTElasticHalfSpace((points, points), modulus, sizes)
    system = ContactMechanics.Systems.NonSmoothContactSystem(substrate, Topography(heights, sizes))
    result = system.minimize_proxy(external_force=load, pentol=1e-7 * float(ours.semi_minor), maxiter=500)
    assert result.success
    pressure = np.asarray(-system.substrate.force[:points, :points]) / (sizes[0] * sizes[1] / points**2)
    carried = np.abs(pressure)
    total = carried.sum()
    # The semi-axes from the second moments of an ellipsoidal pressure: <x^2> = a^2/5.
    major = np.sqrt(5 * (carried * x[:, None] ** 2).sum() / total)
    minor = np.sqrt(5 * (carried * y[None, :] ** 2).sum() / total)
    assert carried.max() == pytest.approx(ours.pressure, rel=5e-3)
    assert major == pytest.approx(ours.semi_major, rel=5e-3)
    assert minor == pytest.approx(ours.semi_minor, rel=5e-3)


def test_ellipticity_satisfies_the_usual_form_away_from_the_circle() -> None:
    ratio = np.geomspace(1.5, 1e4, 60)
    k = ellipticity(ratio)
    m = 1 - 1 / k**2
    first, second = ellipk(m), ellipe(m)
    np.testing.assert_allclose((k**2 * second - first) / (first - second), ratio, rtol=1e-10)


def test_ellipticity_near_the_circle_and_out_of_range() -> None:
    small = np.array([1e-12, 1e-8, 1e-4])
    # Series about the circle: B/A = k^(3/2) to first order (derived).
    np.testing.assert_allclose(np.log(ellipticity(1 + small)), np.log1p(small) * 2 / 3, rtol=1e-3, atol=1e-15)
    assert ellipticity(1.0) == pytest.approx(1.0, abs=1e-15)
    assert np.isnan(ellipticity([0.99, np.nan, np.inf])).all()


@settings(max_examples=100, deadline=None)
@given(st.floats(1, 5e3), st.floats(1.0, 1e4), st.floats(2e-3, 1.0))
def test_the_ellipse_carries_its_load_and_scales(load: float, ratio: float, radius: float) -> None:
    found = elliptical_contact(load, 1 / radius, 1 / (ratio * radius), 1e11)
    assert 2 / 3 * np.pi * found.semi_major * found.semi_minor * found.pressure == pytest.approx(
        load, rel=1e-10
    )
    heavier = elliptical_contact(8 * load, 1 / radius, 1 / (ratio * radius), 1e11)
    assert heavier.pressure == pytest.approx(2 * found.pressure, rel=1e-12)
    assert found.ellipticity == pytest.approx(found.semi_major / found.semi_minor)


def test_long_ellipse_tends_to_a_line() -> None:
    # The middle of a long ellipse is a band under the line load of its middle, w = pi b p/2 = 3F/(4a).
    error = []
    for crown in (1.0, 100.0, 1e4):
        load = 1000.0
        ellipse = elliptical_contact(load, 1 / crown, 1 / 6e-3, 1e11)
        band = line_contact(3 * load / (4 * ellipse.semi_major), 6e-3, 1.0, 1e11)
        error.append(abs(float(band.pressure / ellipse.pressure) - 1))
    assert error[0] > error[1] > error[2]
    assert error[2] < 1e-4


def test_turned_directions() -> None:
    aligned = relative_curvatures(6e-3, np.inf, 1.5, 1.5)
    for angle in (0.3, 1.0, np.pi / 2):
        # A sphere has no direction, so turning changes nothing.
        np.testing.assert_allclose(relative_curvatures(6e-3, np.inf, 1.5, 1.5, angle), aligned, rtol=1e-12)
    # Equal cylinders crossed at a right angle press like a sphere on a flat.
    np.testing.assert_allclose(relative_curvatures(0.01, np.inf, 0.01, np.inf, np.pi / 2), 100.0, rtol=1e-12)


def test_tappet_cut_off_flat_and_conformal() -> None:
    found = crowned_tappet_on_lobe(
        load=[1000.0, 9000.0, 1000.0, 1000.0, -5.0, 1000.0],
        lobe_radius=[6e-3, 6e-3, 6e-3, -0.5, 6e-3, 6e-3],
        crown_radius=[1.5, 1.5, np.inf, 1.5, 1.5, -1.5],
        lobe_width=12.7e-3,
        modulus=1e11,
    )
    assert found.cut_off.tolist() == [False, True, False, False, False, False]
    assert found.line.tolist() == [False, True, True, False, False, False]
    assert found.conformal.tolist() == [False, False, False, True, False, True]
    assert np.isnan(found.pressure).tolist() == [False, False, False, True, True, True]
    assert found.half_length[1] == pytest.approx(6.35e-3)
    assert found.uncut_half_length[1] > 6.35e-3
    assert found.pressure[2] == pytest.approx(line_contact(1000.0, 6e-3, 12.7e-3, 1e11).pressure)


def test_a_contact_near_the_lobe_edge_is_cut_off() -> None:
    middle, edge = (
        crowned_tappet_on_lobe(
            load=1000.0,
            lobe_radius=6e-3,
            crown_radius=1.5,
            lobe_width=12.7e-3,
            modulus=1e11,
            contact_offset=x,
        )
        for x in (0.0, 4e-3)
    )
    assert not middle.cut_off
    assert edge.cut_off
    assert 2 * edge.half_length == pytest.approx(edge.uncut_half_length + 6.35e-3 - 4e-3)


def test_a_nearly_flat_flank_turns_the_ellipse() -> None:
    found = crowned_tappet_on_lobe(
        load=500.0, lobe_radius=[0.5, -3.0], crown_radius=1.5, lobe_width=0.05, modulus=1e11
    )
    assert found.ellipticity[0] > 1 > found.ellipticity[1]
    np.testing.assert_allclose(found.half_length / found.half_width, found.ellipticity, rtol=1e-12)


def test_leading_shapes_and_unknowns() -> None:
    load = np.array([[0.0, 100.0, np.nan]] * 4)[:, None, :]
    radius = np.linspace(5e-3, 8e-3, 2)[:, None]
    found = crowned_tappet_on_lobe(
        load=load, lobe_radius=radius, crown_radius=1.5, lobe_width=0.0127, modulus=1e11
    )
    assert found.pressure.shape == (4, 2, 3)
    assert (found.pressure[..., 0] == 0).all()
    assert np.isnan(found.pressure[..., 2]).all()
    assert (found.pressure[..., 1] > 0).all()


def test_bad_input_is_named() -> None:
    good = {"load": 1.0, "lobe_radius": 6e-3, "crown_radius": 1.0, "lobe_width": 0.01, "modulus": 1e11}
    for key, value, text in (
        ("crown_radius", 0.0, "crown radius is 0"),
        ("lobe_width", -0.01, "lobe width"),
        ("modulus", 0.0, "modulus"),
        ("lobe_radius", 0.0, "lobe radius"),
    ):
        with pytest.raises(ValueError, match=text):
            crowned_tappet_on_lobe(**{**good, key: value})
    with pytest.raises(ValueError, match="Poisson"):
        composite_modulus(2e11, 0.6, 2e11, 0.3)
    with pytest.raises(ValueError, match="bearing length"):
        line_contact(1.0, 1.0, 0.0, 1e11)
