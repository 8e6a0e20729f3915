"""Ranking of measurements: by hand on small cases, and the stated probability against simulated shops."""

import numpy as np
import pytest

from valvetrain.mechanics.uncertainty.next_measurement import (
    Candidate,
    OpenQuestion,
    decision_probability,
    ranked_measurements,
)


def question(value, parts, low=-np.inf, high=np.inf, name="sweep width", missing=None):
    value = np.atleast_1d(np.asarray(value, float))
    contributions = {key: np.broadcast_to(one, value.shape) * 1.0 for key, one in parts.items()}
    uncertainty = np.sqrt(sum(one**2 for one in contributions.values()))
    return OpenQuestion(
        name,
        value,
        np.where(np.isnan(value), np.nan, uncertainty),
        contributions,
        np.asarray(low),
        np.asarray(high),
        missing,
    )


def test_the_dominant_contribution_comes_first():
    asked = question([1.0, 1.1], {"height": 0.3, "pad_arm": 0.05}, high=1.5)
    now = {"height": np.array(0.3), "pad_arm": np.array(0.05)}
    candidates = [Candidate("pad_arm", "caliper", 0.005), Candidate("height", "height micrometer", 0.02)]
    ranked = ranked_measurements([asked], candidates, now)
    assert ranked[0].candidate.parameter == "height"
    left = 0.3 * 0.02 / np.hypot(0.3, 0.02)
    assert ranked[0].uncertainty_after["sweep width"] == pytest.approx(np.full(2, np.hypot(left, 0.05)))
    assert ranked[1].decided < 0.05
    assert ranked[0].decided > 1.5


def test_a_poor_instrument_never_makes_it_worse():
    asked = question([1.0], {"height": 0.3}, high=1.2)
    (only,) = ranked_measurements([asked], [Candidate("height", "ruler", 5.0)], {"height": np.array(0.3)})
    assert only.uncertainty_after["sweep width"][0] <= 0.3
    assert only.uncertainty_after["sweep width"][0] == pytest.approx(0.3, rel=0.01)


def test_unmeasured_counts_only_for_the_one_input_missing():
    missing = {
        "height": np.array([True, True, False]),
        "lash": np.array([False, True, False]),
    }
    asked = question([np.nan, np.nan, 1.0], {"height": 0.0}, high=5.0, missing=missing)
    candidates = [Candidate("lash", "feeler", 0.01), Candidate("height", "height micrometer", 0.02)]
    ranked = ranked_measurements([asked], candidates, {})
    assert [(one.candidate.parameter, one.measured) for one in ranked] == [("height", 1), ("lash", 0)]
    assert np.isnan(ranked[0].uncertainty_after["sweep width"][0])


def test_decided_verdicts_do_not_count():
    settled = question([0.2], {"height": 0.1}, high=1.0)
    (only,) = ranked_measurements(
        [settled], [Candidate("height", "height micrometer", 0.01)], {"height": np.array(0.1)}
    )
    assert only.decided == 0.0


@pytest.mark.parametrize(
    ("value", "low", "high"), [(1.0, -np.inf, 1.1), (1.0, 0.9, 1.3), (1.2, -np.inf, 1.1), (0.95, 0.9, 1.0)]
)
def test_probability_against_simulated_shops(value, low, high):
    before, after = 0.12, 0.04
    move = np.sqrt(before**2 - after**2)
    found = np.random.default_rng(1).normal(value, move, 400_000)
    inside = (found - 2 * after > low) & (found + 2 * after < high)
    outside = (found + 2 * after < low) | (found - 2 * after > high)
    stated = decision_probability(
        np.array([value]), np.array([before]), np.array([after]), np.array(low), np.array(high)
    )
    assert stated[0] == pytest.approx(np.mean(inside | outside), abs=0.004)


def test_probability_without_a_move_is_the_present_verdict():
    values = np.array([0.0, 0.9, 1.0, 1.3, np.nan])
    spread = np.full(5, 0.1)
    stated = decision_probability(values, spread, spread, np.array(-np.inf), np.array(1.0))
    assert stated[:4].tolist() == [1.0, 0.0, 0.0, 1.0]
    assert np.isnan(stated[4])


def test_an_instrument_without_uncertainty_is_refused():
    with pytest.raises(ValueError, match="caliper on height is 0"):
        ranked_measurements([question([1.0], {"height": 0.1})], [Candidate("height", "caliper", 0.0)], {})
