"""Stiffness of a sheet's trains: worked out by hand from the figures of the sheet, invented engines."""

from math import hypot, pi

import pytest

from valvetrain.questions.control.train_stiffness import FROM_SIZES, train_stiffness
from valvetrain.setup.read import read_setup

LBF, IN = 4.4482216152605, 0.0254
PER_INCH = LBF / IN


def found(folder, *, at=0, ratio=1.5, seat_load=80 * LBF, rate=205 * PER_INCH):
    return train_stiffness(read_setup(folder), at, ratio, seat_load, rate)


def test_lift_lost_to_the_real_spring_gives_the_whole_and_what_is_left_for_the_rocker(sample):
    """The lost lift is 0.3712 - 0.3654 in, the load that takes it 80 + 205 x 0.3654 - 12 lbf."""
    stiff = found(sample())
    assert (stiff.source, stiff.reason) == ("measured", "")
    whole = (80 + 205 * 0.3654 - 12) / 0.0058
    assert stiff.whole / PER_INCH == pytest.approx(whole, rel=1e-9)
    assert stiff.whole_uncertainty / stiff.whole == pytest.approx(hypot(0.0002, 0.0002) / 0.0058, rel=1e-9)
    # a tube of 0.3125 in with a wall of 0.049 in, 9.620 in long, of 30 million psi
    pushrod = 30e6 * pi / 4 * (0.3125**2 - 0.2145**2) / 9.620
    assert stiff.pushrod / PER_INCH == pytest.approx(pushrod, rel=1e-9)
    # 60 kN/mm of the lobe is assumed; both are felt at the valve less by the ratio squared
    assert stiff.lobe == 60e6
    compliance = 1 / whole - 1.5**2 / pushrod - 1.5**2 / (60e6 / PER_INCH)
    assert stiff.tip / PER_INCH == pytest.approx(1 / compliance, rel=1e-9)
    # the whole's doubt in compliance is all the tip's
    assert stiff.tip_share == pytest.approx(
        hypot(0.0002, 0.0002) / 0.0058 * (1 / compliance) / whole, rel=1e-9
    )


def test_sizes_give_rocker_shaft_and_stem_in_a_row(sample):
    """All in N and mm: two cantilevers, a shaft on two stands, a rod, a tube."""
    stiff = found(sample("pump_twin"), ratio=1.4)
    assert (stiff.source, stiff.reason) == ("sizes", "")
    leverage = 1 + 36 / 25
    rocker = 3 * 169e3 * (9 * 14**3 / 12) / (36**2 * (36 + 25))
    shaft = 48 * 207e3 * pi / 64 * (18.98**4 - 6**4) / 60**3 / leverage**2
    stem = 200e3 * pi / 4 * 8**2 / 96
    tip = 1 / (1 / rocker + 1 / shaft + 1 / stem)
    pushrod = 207e3 * pi / 4 * (8**2 - 5.5**2) / 212
    assert stiff.tip / 1e3 == pytest.approx(tip, rel=1e-9)
    assert stiff.pushrod / 1e3 == pytest.approx(pushrod, rel=1e-9)
    whole = 1 / (1 / tip + 1.4**2 / pushrod + 1.4**2 / 60e3)
    assert stiff.whole / 1e3 == pytest.approx(whole, rel=1e-9)
    assert stiff.tip_share == FROM_SIZES
    assert stiff.whole_uncertainty == pytest.approx(FROM_SIZES * stiff.whole)


def test_a_stiffness_that_is_given_beats_the_readings(sample, edited):
    folder = sample()
    edited(
        folder / "setup.toml", ("light_spring_load = 12", "light_spring_load = 12\ntrain_stiffness = 30000")
    )
    stiff = found(folder)
    assert stiff.source == "given"
    assert stiff.whole / PER_INCH == pytest.approx(30000, rel=1e-9)
    assert stiff.whole_uncertainty == pytest.approx(0.2 * stiff.whole)


@pytest.mark.parametrize(
    ("old", "new", "words"),
    [
        pytest.param('"0.3654 +/- 0.0002"', '"0.3708 +/- 0.0002"', "dial can tell", id="too little"),
        pytest.param('"0.3654 +/- 0.0002"', '"0.3700 +/- 0.0002"', "pushrod and lobe alone", id="too stiff"),
        pytest.param("light_spring_load = 12", "light_spring_load = 112", "not lighter", id="not light"),
        pytest.param("light_spring_load = 12\n", "", "light checking spring", id="no load"),
        pytest.param("wall = 0.049\n", "", "outside_diameter, wall and length", id="no pushrod"),
    ],
)
def test_what_is_missing_or_contradicts_is_said(sample, edited, old, new, words):
    folder = sample()
    edited(folder / "setup.toml", (old, new))
    rate = 205 * PER_INCH if "112" not in new else 80 * PER_INCH  # 80 + 80 x 0.3654 = 109 lbf
    stiff = found(folder, rate=rate)
    assert words in stiff.reason
