"""Laws over the registry of motion laws and over lobes built from them."""

import numpy as np
import pytest

from valvetrain.mechanics.cam.law_lobe import LawLobe
from valvetrain.mechanics.cam.motion_laws import MOTION_LAWS, motion_law

NAMES = sorted(MOTION_LAWS)
SMOOTH = [name for name in NAMES if np.isfinite(MOTION_LAWS[name].jerk_factor)]


def away_from(points, u, margin):
    return np.min(np.abs(u[:, np.newaxis] - np.asarray(points)), axis=1) > margin


@pytest.mark.parametrize("name", NAMES)
def test_derivatives_match_finite_differences(name):
    step = 1e-5
    u = np.random.default_rng(1).uniform(0.001, 0.999, 2000)
    u = u[away_from([0, 1, 0.5, *MOTION_LAWS[name].breaks], u, 2 * step)]
    curves = motion_law(name)(u)
    ahead, behind = motion_law(name)(u + step), motion_law(name)(u - step)
    for order in range(3):
        slope = (ahead[order] - behind[order]) / (2 * step)
        np.testing.assert_allclose(slope, curves[order + 1], atol=3e-6)


@pytest.mark.parametrize("name", NAMES)
def test_ends_and_symmetry(name):
    law = motion_law(name)
    u = np.linspace(0, 1, 996)
    s, v, a, j = law(u)
    assert (s[0], s[-1]) == pytest.approx((0, 1), abs=1e-15)
    assert (v[0], v[-1]) == pytest.approx((0, 0), abs=1e-14)
    np.testing.assert_allclose(s + s[::-1], 1, atol=1e-14)
    np.testing.assert_allclose(v, v[::-1], atol=1e-13)
    np.testing.assert_allclose(a, -a[::-1], atol=1e-12)
    np.testing.assert_allclose(j, j[::-1], atol=1e-11)
    assert np.all(np.diff(s) > 0)
    if name in SMOOTH:
        assert (a[0], a[-1]) == pytest.approx((0, 0), abs=1e-13)
    for edge in law.breaks:
        low, high = law(edge - 1e-12), law(edge + 1e-12)
        assert low[0] == pytest.approx(high[0], abs=1e-10)
        assert low[1] == pytest.approx(high[1], abs=1e-10)


@pytest.mark.parametrize("name", NAMES)
def test_dwells_outside_and_unknown(name):
    curves = np.array(motion_law(name)([-0.5, 1.5, np.nan]))
    np.testing.assert_array_equal(curves[:, 0], [0, 0, 0, 0])
    np.testing.assert_array_equal(curves[:, 1], [1, 0, 0, 0])
    assert np.isnan(curves[:, 2]).all()


def test_unknown_law_lists_the_known_ones():
    with pytest.raises(ValueError, match="cycloidal"):
        motion_law("parabola")


def ramped(name):
    return LawLobe(
        name,
        lift=8e-3,
        rise_angle=1.1,
        return_angle=1.25,
        nose_dwell=0.1,
        opening_ramp_height=0.3e-3,
        opening_ramp_length=0.35,
        closing_ramp_height=0.4e-3,
        closing_ramp_length=0.5,
    )


@pytest.mark.parametrize("name", NAMES)
def test_lobe_derivatives_and_continuity(name):
    lobe = ramped(name)
    step = 1e-6
    x = np.random.default_rng(2).uniform(-np.pi, np.pi, 4000)
    x = x[away_from(lobe.breaks, x, 3 * step)]
    curves = lobe.curves(x)
    ahead, behind = lobe.curves(x + step), lobe.curves(x - step)
    for order, tolerance in enumerate((1e-9, 1e-7, 2e-5)):
        slope = (ahead[order] - behind[order]) / (2 * step)
        np.testing.assert_allclose(slope, curves[order + 1], atol=tolerance)
    low, high = lobe.curves(lobe.breaks - 1e-11), lobe.curves(lobe.breaks + 1e-11)
    np.testing.assert_allclose(low[0], high[0], atol=1e-12)
    np.testing.assert_allclose(low[1], high[1], atol=2e-12)
    if name in SMOOTH:
        np.testing.assert_allclose(low[2], high[2], atol=1e-8)


@pytest.mark.parametrize("name", NAMES)
def test_lobe_heights(name):
    lobe = ramped(name)
    lift = lobe.curves(lobe.edges)[0]
    np.testing.assert_allclose(lift, [0, 0.3e-3, 8e-3, 8e-3, 0.4e-3, 0], atol=1e-15)
    fine = np.linspace(-np.pi, np.pi, 20001)
    values = lobe.curves(fine)[0]
    assert values.max() == pytest.approx(8e-3, rel=1e-12)
    assert np.all(np.diff(values[fine <= 0]) >= -1e-17)
    # After the build-up the ramp's velocity is constant.
    inside = np.linspace(lobe.ramp_blends[0][1] + 1e-9, lobe.edges[1] - 1e-9, 50)
    assert np.ptp(lobe.curves(inside)[1]) < 1e-15
    np.testing.assert_allclose(lobe.curves(fine + 4 * np.pi)[0], values, atol=1e-14)


def test_lobe_mirrors():
    one = LawLobe("cycloidal", 8e-3, 1.1, 1.3, 0.0, 2e-4, 0.3, 3e-4, 0.4)
    other = LawLobe("cycloidal", 8e-3, 1.3, 1.1, 0.0, 3e-4, 0.4, 2e-4, 0.3)
    x = np.linspace(-3, 3, 1000)
    for order, sign in enumerate((1, -1, 1, -1)):
        np.testing.assert_allclose(one.curves(x)[order], sign * other.curves(-x)[order], atol=1e-14)


@pytest.mark.parametrize(
    ("change", "word"),
    [
        ({"lift": 0.0}, "lift"),
        ({"rise_angle": np.nan}, "rise_angle"),
        ({"nose_dwell": -0.1}, "nose_dwell"),
        ({"opening_ramp_height": 1e-4}, "give both"),
        ({"closing_ramp_height": -1e-4, "closing_ramp_length": 0.1}, "negative"),
        ({"rise_angle": 4.0, "return_angle": 3.0}, "360"),
        ({"opening_ramp_height": 7e-3, "opening_ramp_length": 0.1}, "too fast"),
        ({"law": "square"}, "not known"),
    ],
)
def test_lobes_that_cannot_be(change, word):
    sizes = {"law": "cycloidal", "lift": 8e-3, "rise_angle": 1.0, "return_angle": 1.0}
    with pytest.raises(ValueError, match=word):
        LawLobe(**(sizes | change))
