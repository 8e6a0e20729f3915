"""Rows that cannot be are unknown, and the others are as they would be alone."""

import numpy as np
import pytest

from valvetrain.mechanics.uncertainty.possible_rows import where_possible
from valvetrain.mechanics.uncertainty.propagation import propagated


def gap(rows):
    """A pin in a hole, which must be the larger one."""
    if np.any(rows["hole"] <= rows["pin"]):
        raise ValueError("the hole is smaller than the pin")
    return {"gap": rows["hole"] - rows["pin"]}


def test_every_possible_row_is_as_alone():
    hole = np.random.default_rng(0).uniform(0.5, 1.5, (200, 1))
    rows = {"hole": hole, "pin": np.full((200, 1), 0.9)}
    found = where_possible(gap)(rows)["gap"]
    can_be = hole > 0.9
    assert 20 < can_be.sum() < 180
    np.testing.assert_array_equal(found[can_be], (hole - 0.9)[can_be])
    assert np.isnan(found[~can_be]).all()


def test_where_no_row_can_be_the_function_s_own_words_are_heard():
    with pytest.raises(ValueError, match="smaller than the pin"):
        where_possible(gap)({"hole": np.ones((3, 1)), "pin": np.full((3, 1), 2.0)})


def test_an_uncertainty_that_reaches_what_cannot_be_is_carried_on_the_side_that_can():
    found = propagated(gap, {"hole": np.array([1.0]), "pin": np.array([0.8])}, {"hole": np.array([0.3])})
    assert found.value["gap"] == pytest.approx([0.2])
    assert found.uncertainty["gap"] == pytest.approx([0.3])


def test_what_is_wrong_at_the_values_themselves_is_said():
    with pytest.raises(ValueError, match="smaller than the pin"):
        propagated(gap, {"hole": np.array([0.8]), "pin": np.array([1.0])}, {"hole": np.array([0.3])})
