"""Flat-faced follower with closed answers.

Sources: simple harmonic once a revolution, lift 50, base radius 25: textbook problem, attribution unverified,
answer derived. Eccentric circle and cycloidal rise: derived. No printed tables are involved.
"""

import numpy as np
import pytest

from valvetrain.mechanics.cam.motion_laws import motion_law
from valvetrain.mechanics.contact.flat_follower import (
    cam_profile,
    face_width,
    flat_follower,
    least_base_radius,
    radius_of_curvature,
)

TURN = np.linspace(0, 2 * np.pi, 3601)


def harmonic_turn():
    """50 (1 - cos t)/2 and its derivatives, lengths in mm as in the problem."""
    return 25 * (1 - np.cos(TURN)), 25 * np.sin(TURN), 25 * np.cos(TURN)


def test_harmonic_profile_is_a_circle():
    s, v, a = harmonic_turn()
    x, y = cam_profile(TURN, 25, s, v)
    np.testing.assert_allclose((x + 25) ** 2 + y**2, 50.0**2, rtol=1e-10)
    np.testing.assert_allclose(radius_of_curvature(25, s, a), 50.0, rtol=1e-10)
    assert face_width(v) == pytest.approx(50, rel=1e-10)


def test_eccentric_circle():
    s, v, a = 5 * (1 - np.cos(TURN)), 5 * np.sin(TURN), 5 * np.cos(TURN)
    found = flat_follower(18.0, s, v, a, cam_speed=2.0)
    np.testing.assert_allclose(found.radius_of_curvature, 23.0, rtol=1e-12)
    assert np.min(found.entrainment) / 2.0 == pytest.approx(9.0, rel=1e-12)
    # The face is slid over at w x (height of the contact above the cam's axis).
    np.testing.assert_allclose(found.sliding, 2.0 * (18 + s), rtol=1e-12)
    assert not found.concave.any()
    assert found.face_width == pytest.approx(10.0, rel=1e-6)


def test_cycloidal_rise():
    beta = np.pi / 2
    u = np.linspace(0, 1, 200001)
    f, df, ddf, _ = motion_law("cycloidal")(u)
    s, v, a = 10 * f, 10 * df / beta, 10 * ddf / beta**2
    assert np.min(s + a) == pytest.approx(-16.4263, abs=5e-5)
    assert v.max() == pytest.approx(12.73240, abs=5e-6)
    assert least_base_radius(s, a, 3.0) == pytest.approx(19.4263, abs=5e-5)
    found = flat_follower([16.0, 17.0], s, v, a)
    assert found.concave.any(axis=-1).tolist() == [True, False]


def test_contact_and_normal_of_the_profile():
    """The profile's tangent is the face: square to the tappet's axis at every angle (derived)."""
    s, v, _ = harmonic_turn()
    x, y = cam_profile(TURN, 30, s, v)
    along = np.gradient(x, TURN) * np.cos(TURN) + np.gradient(y, TURN) * np.sin(TURN)
    assert np.abs(along[1:-1]).max() < 1e-4
    # The contact lies at offset s' across and Rb + s along the tappet's axis.
    np.testing.assert_allclose(-x * np.sin(TURN) + y * np.cos(TURN), v, atol=1e-12)


def test_unknown_and_impossible():
    assert np.isnan(flat_follower(np.nan, *harmonic_turn()).radius_of_curvature).all()
    with pytest.raises(ValueError, match="base radius"):
        flat_follower(0.0, *harmonic_turn())
    with pytest.raises(ValueError, match="cam speed"):
        flat_follower(20.0, *harmonic_turn(), cam_speed=-1)
