"""Contact on a tappet's face and what turns it: against a search in space and a full friction balance."""

import numpy as np
import pytest
from scipy.optimize import brentq, minimize

from valvetrain.mechanics.contact.tappet_rotation import contact_path, rotation_drive, rotation_obstacles

ANGLE = np.linspace(0, 2 * np.pi, 720, endpoint=False)
BASE, ECCENTRIC = 18e-3, 4e-3
LIFT = ECCENTRIC * (1 - np.cos(ANGLE))
RATE = ECCENTRIC * np.sin(ANGLE)


def path(**changed: object) -> object:
    given = {
        "lift_rate": RATE,
        "taper": 0.002,
        "crown_radius": 1.5,
        "bore_offset": 1e-3,
        "lobe_width": 14e-3,
        "face_diameter": 23e-3,
    }
    return contact_path(**{**given, **changed})  # type: ignore[arg-type]


@pytest.mark.parametrize("seed", range(5))
def test_crown_touches_where_a_search_in_space_finds_it(seed: int) -> None:
    rng = np.random.default_rng(seed)
    taper, crown, base = rng.uniform(-0.003, 0.003), rng.uniform(0.8, 2.5), rng.uniform(15e-3, 20e-3)
    # The lobe at an instant is a cone of small taper about its center of curvature, at x = s' from the axis.
    rate, curvature = rng.uniform(-5e-3, 5e-3), base

    def gap(point: np.ndarray) -> float:
        x, z = point
        face = crown - np.sqrt(crown**2 - x**2 - z**2)
        radius = curvature + taper * z
        lobe = np.sqrt(radius**2 - (x - rate) ** 2) - curvature
        return float(face - lobe) * 1e3

    touch = minimize(gap, (rate, 0.0), method="Nelder-Mead", options={"xatol": 1e-10, "fatol": 1e-17}).x
    found = path(lift_rate=np.array([rate]), taper=taper, crown_radius=crown)
    # The crown pulls the contact back toward the axis by about base/crown of s': left out of the closed form.
    assert found.across[0] == pytest.approx(touch[0], abs=abs(rate) * 1.2 * curvature / crown)
    assert found.along[0] == pytest.approx(touch[1], rel=0.02)


def test_flat_face_without_taper_bears_over_the_lobe_width() -> None:
    found = path(taper=0.0, crown_radius=np.inf, bore_offset=1.5e-3)
    np.testing.assert_allclose(found.along, 1.5e-3)
    np.testing.assert_allclose(found.on_lobe, 0.0, atol=1e-18)
    assert not found.edge_riding.any()
    expected = 2 * np.hypot(ECCENTRIC, 1.5e-3 + 7e-3)
    assert found.least_face_diameter == pytest.approx(expected, rel=1e-6)
    assert found.face_overhang == pytest.approx(expected / 2 - 11.5e-3, abs=1e-8)
    assert found.lobe_overhang == pytest.approx(8.5e-3 - np.sqrt(11.5e-3**2 - ECCENTRIC**2), abs=1e-7)


def test_flat_face_on_a_taper_rides_the_large_edge() -> None:
    for sign in (1, -1):
        found = path(taper=sign * 0.001, crown_radius=np.inf, bore_offset=0.0)
        np.testing.assert_allclose(found.along, sign * 7e-3)
        assert found.edge_riding.all()


def test_the_offset_moves_the_lobe_under_a_fixed_contact() -> None:
    for offset in (-1e-3, 0.0, 2e-3):
        found = path(bore_offset=offset)
        np.testing.assert_allclose(found.along, 3e-3)
        np.testing.assert_allclose(found.on_lobe, 3e-3 - offset)
    beyond = path(taper=0.01)
    np.testing.assert_allclose(beyond.along, 8e-3)
    assert beyond.edge_riding.all()
    # A contact half as long as the way to the edge and more is cut off there; its middle moves inward.
    cut = path(half_length=6e-3)
    np.testing.assert_allclose(cut.along, 0.5 * (-3e-3 + 8e-3))
    assert cut.edge_riding.all()


def test_mirror_symmetry_and_leading_shapes() -> None:
    taper = np.array([[0.001, 0.002], [np.nan, 0.0005]])
    one, other = path(taper=taper), path(taper=-taper, bore_offset=-1e-3)
    assert one.along.shape == (2, 2, 720)
    np.testing.assert_allclose(one.along, -other.along)
    np.testing.assert_allclose(one.least_face_diameter, other.least_face_diameter)
    assert np.isnan(one.along[1, 0]).all()


def test_drive_is_the_friction_times_the_arm_and_its_sign() -> None:
    load = np.full(720, 800.0)
    for arm in (2e-3, -2e-3):
        found = rotation_drive(
            load=load,
            across=RATE,
            along=np.full(720, arm),
            lobe_arm=BASE + LIFT,
            friction=0.1,
            seat_friction=0.1,
            seat_radius=3e-3,
        )
        assert found.arm == pytest.approx(arm)
        assert found.moment == pytest.approx(0.1 * 800 * arm)
        assert found.resisting_moment == pytest.approx(2 / 3 * 0.1 * 800 * 3e-3)
        # Same friction, same load: the strength is the ratio of the arms.
        assert found.strength == pytest.approx(2e-3 / 2e-3)
        assert np.sign(found.free_speed_ratio) == np.sign(arm)


def test_free_speed_against_the_full_friction_balance() -> None:
    load = 600 + 300 * np.cos(ANGLE)
    along = 0.8e-3

    def moment(spin: float) -> float:
        # Slip per cam speed in the frame in which the lobe drags toward +x.
        slip_x, slip_z = BASE + LIFT - spin * along, spin * RATE
        size = np.hypot(slip_x, slip_z)
        return float((load * (along * slip_x - RATE * slip_z) / size).mean())

    exact = brentq(moment, 0, 100)
    found = rotation_drive(
        load=load, across=RATE, along=np.full(720, along), lobe_arm=BASE + LIFT, friction=0.1
    )
    # The closed form is linear in the spin.
    assert found.free_speed_ratio == pytest.approx(exact, rel=0.05)
    assert np.isinf(found.strength)


def test_parted_and_unknown() -> None:
    load = np.array([[100.0, np.nan, -5.0, 100.0], [np.nan] * 4])
    found = rotation_drive(load=load, across=np.zeros(4), along=np.full(4, 1e-3), lobe_arm=0.02, friction=0.1)
    assert found.arm[0] == pytest.approx(1e-3)
    assert found.moment[0] == pytest.approx(0.1 * 50 * 1e-3)
    assert np.isnan(found.arm[1])
    assert np.isnan(found.strength[1])


@pytest.mark.parametrize(
    ("changed", "names"),
    [
        ({}, []),
        ({"taper": 0.0}, ["no taper"]),
        ({"taper_uncertainty": 0.0015}, ["taper not proven"]),
        ({"crown_radius": np.inf}, ["flat face"]),
        ({"crown_radius": np.inf, "taper": 0.0}, ["flat face", "no taper"]),
        ({"crown_radius": -3.0}, ["hollow face"]),
        ({"taper": 0.01}, ["past the edge"]),
        ({"half_length": 6e-3}, ["edge riding"]),
        ({"bore_offset": -1e-3}, ["offset against taper"]),
        ({"taper": np.nan}, ["unmeasured"]),
    ],
)
def test_obstacles(changed: dict[str, float], names: list[str]) -> None:
    given = {"taper": 0.002, "crown_radius": 1.5, "bore_offset": 1e-3, "lobe_width": 14e-3}
    assert [name for name, _ in rotation_obstacles(**{**given, **changed})] == names


def test_bad_input_is_named() -> None:
    with pytest.raises(ValueError, match="crown radius is 0"):
        path(crown_radius=0.0)
    with pytest.raises(ValueError, match="face diameter"):
        path(face_diameter=-1.0)
    with pytest.raises(ValueError, match="coefficient of friction"):
        rotation_drive(load=[1.0], across=[0.0], along=[0.0], lobe_arm=[1.0], friction=-0.1)
