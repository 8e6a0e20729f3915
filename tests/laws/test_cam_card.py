"""Lobes from cam-card figures: they meet the card, are smoother than a law that meets it, refuse nonsense."""

import numpy as np
import pytest

from valvetrain.mechanics.cam.card import lift_curve_from_card, lift_curve_from_event_angles
from valvetrain.mechanics.cam.events import crossings
from valvetrain.mechanics.cam.law_lobe import LawLobe
from valvetrain.mechanics.cam.lift_curve import lift_curve_from_law
from valvetrain.mechanics.cam.motion_laws import MOTION_LAWS

# The jerk of the others is infinite at their ends: any finite curve is smoother.
SMOOTH = [name for name in sorted(MOTION_LAWS) if np.isfinite(MOTION_LAWS[name].jerk_factor)]
CARDS = {
    "two lifts": [0.508e-3, 1.27e-3],
    "seat and fifty": [0.1e-3, 1.27e-3],
    "six lifts": [0.15e-3, 0.406e-3, 0.508e-3, 1.27e-3, 2.54e-3, 5.08e-3],
}
TURN = np.linspace(-np.pi, np.pi, 5001)


def card_of(law_curve, lifts):
    return crossings(law_curve, lifts).duration


@pytest.mark.parametrize("card", CARDS)
@pytest.mark.parametrize("name", SMOOTH)
def test_meets_the_card_and_is_smoother_than_the_law(name, card):
    law = lift_curve_from_law(LawLobe(name, 7.6e-3, 1.2, 1.2))
    durations = card_of(law, CARDS[card])
    made = lift_curve_from_card(CARDS[card], durations, 7.6e-3)
    np.testing.assert_allclose(card_of(made, CARDS[card]), durations, atol=1e-9)
    assert made.max_lift == pytest.approx(7.6e-3, abs=1e-12)
    assert made.squared_jerk < law.squared_jerk
    assert made.peak_angle == pytest.approx(0, abs=1e-6)
    assert made.source == "card"
    assert np.isnan(made.noise)


@pytest.mark.parametrize("name", sorted(MOTION_LAWS))
def test_ramped_lobes_come_back_with_monotone_flanks(name):
    law = lift_curve_from_law(LawLobe(name, 7.6e-3, 1.1, 1.1, 0.0, 3e-4, 0.4, 3e-4, 0.4))
    made = lift_curve_from_card(CARDS["six lifts"], card_of(law, CARDS["six lifts"]), 7.6e-3)
    assert made.lift(TURN).min() >= -1e-16
    assert (made.velocity(TURN) * np.sign(TURN)).max() < 1e-15
    np.testing.assert_allclose(made.lift(TURN), made.lift(-TURN), atol=1e-15)
    assert made.squared_jerk < law.squared_jerk
    # Six figures fix the lift within about a seventh of a millimetre, whatever law made them.
    assert np.abs(made.lift(TURN) - law.lift(TURN)).max() < 0.15e-3


def test_curve_is_smooth_at_its_joints():
    made = lift_curve_from_event_angles([0.4e-3, 1e-3, 4e-3], [-1.0, -0.9, -0.5], [1.1, 0.95, 0.53], 7.6e-3)
    step = 1e-9
    for function, scale in (
        (made.lift, 1e-8),
        (made.velocity, 1e-8),
        (made.acceleration, 1e-7),
        (made.jerk, 1e-6),
    ):
        # Jerk may step where the flank meets the base circle, as it does in most motion laws.
        joints = made.breakpoints[1:-2] if function == made.jerk else made.breakpoints
        np.testing.assert_allclose(function(joints - step), function(joints + step), atol=scale)


def test_asymmetric_card():
    lifts, opening, closing = np.array([0.4e-3, 1e-3, 4e-3]), [-1.0, -0.9, -0.5], [1.1, 0.95, 0.53]
    made = lift_curve_from_event_angles(lifts, opening, closing, 7.6e-3)
    events = crossings(made, lifts)
    np.testing.assert_allclose(events.opening + made.center, opening, atol=1e-9)
    np.testing.assert_allclose(events.closing + made.center, closing, atol=1e-9)
    assert made.peak_angle + made.center == pytest.approx(0.015, abs=1e-5)
    assert made.max_lift == pytest.approx(7.6e-3, rel=1e-9)


def test_asymmetric_and_symmetric_agree():
    lifts, half = np.array([0.5e-3, 1.3e-3]), np.array([1.0, 0.85])
    one = lift_curve_from_card(lifts, 2 * half, 7e-3)
    other = lift_curve_from_event_angles(lifts, 0.3 - half, 0.3 + half, 7e-3)
    np.testing.assert_allclose(other.lift(TURN), one.lift(TURN), atol=1e-9)
    assert other.center == pytest.approx(0.3, abs=1e-9)
    turned = lift_curve_from_card(lifts[::-1], 2 * half[::-1], 7e-3)
    np.testing.assert_allclose(turned.lift(TURN), one.lift(TURN), atol=1e-14)


def test_scale_and_optimum():
    """Lengths scale out; and no other curve that meets the card is smoother (blend with a law that does)."""
    law = lift_curve_from_law(LawLobe("cycloidal", 7.6e-3, 1.2, 1.2))
    lifts = np.array(CARDS["two lifts"])
    made = lift_curve_from_card(lifts, card_of(law, lifts), 7.6e-3)
    inches = lift_curve_from_card(lifts / 25.4e-3, card_of(law, lifts), 7.6e-3 / 25.4e-3)
    np.testing.assert_allclose(inches.lift(TURN) * 25.4e-3, made.lift(TURN), atol=1e-12)
    rough = [made.squared_jerk]
    for share in (0.02, 0.1):
        jerk = (1 - share) * made.jerk(TURN) + share * law.jerk(TURN)
        rough.append(np.trapezoid(jerk**2, TURN))
    assert rough[0] < rough[1] * (1 + 1e-3)
    assert rough[1] < rough[2]


def test_random_cards_are_all_met():
    rng = np.random.default_rng(6)
    for _ in range(25):
        lifts = np.sort(rng.uniform(0.1e-3, 3e-3, 3))
        lifts[1:] += [0.3e-3, 0.6e-3]
        widths = 2 * np.cumsum(rng.uniform(0.05, 0.3, 3))[::-1] + 1.0
        made = lift_curve_from_card(lifts, widths, 8e-3)
        np.testing.assert_allclose(card_of(made, lifts), widths, atol=1e-7)
        assert (made.velocity(TURN) * np.sign(TURN)).max() < 1e-12


@pytest.mark.parametrize(
    ("lifts", "durations", "lobe", "word"),
    [
        ([0.5e-3], [2.0], 7e-3, "two"),
        ([0.5e-3, 1e-3], [2.0, 2.1], 7e-3, "shorter"),
        ([0.5e-3, 1e-3], [2.0, 2.0], 7e-3, "shorter"),
        ([0.5e-3, 8e-3], [2.0, 1.0], 7e-3, "below the lobe lift"),
        ([0.5e-3, 7e-3], [2.0, 1.0], 7e-3, "below the lobe lift"),
        ([0.5e-3, 0.5e-3], [2.0, 1.0], 7e-3, "twice"),
        ([0.0, 1e-3], [2.0, 1.0], 7e-3, "above 0"),
        ([0.5e-3, 1e-3], [2.0, -1.0], 7e-3, "above 0"),
        ([0.5e-3, np.nan], [2.0, 1.0], 7e-3, "finite"),
        ([0.5e-3, 1e-3], [2.0, 1.0], np.inf, "finite"),
        ([0.5e-3, 1e-3], [7.0, 1.0], 7e-3, "more than a cam"),
        ([0.5e-3, 1e-3], [2.0], 7e-3, "but 1"),
    ],
)
def test_contradicting_cards(lifts, durations, lobe, word):
    with pytest.raises(ValueError, match=word):
        lift_curve_from_card(lifts, durations, lobe)


def test_contradicting_event_angles():
    with pytest.raises(ValueError, match="opening to the nose"):
        lift_curve_from_event_angles([0.5e-3, 1e-3], [-1.0, -1.1], [1.0, 0.8], 7e-3)
    with pytest.raises(ValueError, match="as many"):
        lift_curve_from_event_angles([0.5e-3, 1e-3], [-1.0], [1.0, 0.8], 7e-3)
    with pytest.raises(ValueError, match="finite"):
        lift_curve_from_event_angles([0.5e-3, np.nan], [-1.0, -0.9], [1.0, 0.8], 7e-3)


def test_cards_rounded_to_whole_degrees_are_met():
    """Cards print whole crank degrees; every one of these must still give a lobe that meets it."""
    rng = np.random.default_rng(9)
    names = sorted(MOTION_LAWS)
    stock = np.array([0.0762, 0.152, 0.254, 0.406, 0.508, 1.27, 2.54, 3.81, 5.08]) * 1e-3
    degree = np.radians(0.5)
    for trial in range(28):
        flank = rng.uniform(0.95, 1.4)
        law = lift_curve_from_law(
            LawLobe(names[trial % 7], 8e-3, flank, 0.95 * flank, 0.05, 2e-4, 0.3, 2e-4, 0.3)
        )
        lifts = rng.choice(stock, rng.integers(2, 7), replace=False)
        events = crossings(law, lifts)
        opening, closing = (np.round(side / degree) * degree for side in (events.opening, events.closing))
        made = lift_curve_from_event_angles(lifts, opening, closing, 8e-3)
        found = crossings(made, lifts)
        np.testing.assert_allclose(found.opening + made.center, opening, atol=1e-9)
        np.testing.assert_allclose(found.closing + made.center, closing, atol=1e-9)


def test_figures_that_no_flank_meets():
    with pytest.raises(ValueError, match=r"too close|stand still"):
        lift_curve_from_card([1e-3, 1.001e-3, 5e-3], [2.6, 1.1, 1.09], 7e-3)
