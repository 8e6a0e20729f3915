"""Length conventions: arithmetic of spheres, there and back, and refusals."""

import math

import pytest

from valvetrain.mechanics.pushrod.length import CONVENTIONS, center_distance, stated_length

INCH = 0.0254
SIZES = {
    "lower_ball": 5 / 16 * INCH,
    "upper_ball": 3 / 8 * INCH,
    "gauge": 0.140 * INCH,
    "oil_hole": 0.060 * INCH,
}


@pytest.mark.parametrize("convention", CONVENTIONS)
def test_there_and_back(convention):
    there = stated_length(0.24, convention, **SIZES)
    assert center_distance(there, convention, **SIZES) == pytest.approx(0.24, abs=1e-15)


def test_over_the_balls_is_longer_by_both_radii():
    centers = center_distance(9.0 * INCH, "over the balls", lower_ball=5 / 16 * INCH, upper_ball=3 / 8 * INCH)
    assert centers == pytest.approx((9.0 - 5 / 32 - 3 / 16) * INCH, rel=1e-14)


def test_ball_tip_to_cup_bottom():
    centers = center_distance(
        9.0 * INCH, "ball tip to cup bottom", lower_ball=5 / 16 * INCH, upper_ball=3 / 8 * INCH
    )
    assert centers == pytest.approx((9.0 - 5 / 32 + 3 / 16) * INCH, rel=1e-14)


def test_gauge_rings_sit_where_the_ball_has_their_diameter():
    centers = center_distance(9.0 * INCH, "to gauge diameter", **SIZES)
    caps = sum(math.sqrt((size / 2) ** 2 - 0.070**2) for size in (5 / 16, 3 / 8))
    assert centers == pytest.approx((9.0 - caps) * INCH, rel=1e-14)


def test_oil_hole_takes_the_tip_away():
    plain = SIZES | {"oil_hole": 0.0}
    assert stated_length(0.24, "over the balls", **SIZES) < stated_length(0.24, "over the balls", **plain)


def test_conventions_differ_by_more_than_a_tenth_of_an_inch():
    lengths = [float(stated_length(0.24, convention, **SIZES)) for convention in CONVENTIONS]
    assert max(lengths) - min(lengths) > 0.1 * INCH


@pytest.mark.parametrize(
    ("convention", "sizes", "word"),
    [
        ("tip to tip", SIZES, "not a length convention"),
        ("to gauge diameter", SIZES | {"gauge": 0.5 * INCH}, "smaller than its ball"),
        ("over the balls", SIZES | {"oil_hole": 0.5 * INCH}, "smaller than its ball"),
        ("over the balls", SIZES | {"lower_ball": -1.0}, "greater than zero"),
    ],
)
def test_refusals(convention, sizes, word):
    with pytest.raises(ValueError, match=word):
        center_distance(0.24, convention, **sizes)
