"""Springs and shims placed at once against a search through every plan; every set is invented."""

import numpy as np
import pytest

from tests.laws.spring_sets import best_of_all, random_set
from valvetrain.mechanics.spring.placing import best_placement
from valvetrain.mechanics.spring.placing_program import EQUAL


def counts_of(score, valves):
    """The counts of valves that the first aim holds in one number."""
    weight, number = 3 * valves + 1, round(score[0])
    return (*(number // weight**power % weight for power in (3, 2, 1, 0)), *score[1:])


@pytest.mark.parametrize("seed", range(60))
def test_the_plan_is_the_best_of_all(seed, capfd):
    options, available, roles, heights = random_set(seed)
    found = best_placement(options, available, roles, heights)
    assert found.proved
    assert (options.shims[found.chosen].sum(axis=0) <= available).all()
    assert np.unique(options.spring[found.chosen]).size == roles.size
    *counts, distance, ranges, shims = counts_of(found.score, roles.size)
    *best_counts, least, evenest, fewest = best_of_all(options, available, roles, heights)
    assert counts == best_counts
    assert distance == pytest.approx(least, abs=EQUAL)
    # Sums of distances this close count as equal, and then the evener set is taken.
    assert ranges <= evenest + EQUAL
    if abs(distance - least) < 1e-6:
        assert ranges == pytest.approx(evenest, abs=EQUAL)
        assert shims == fewest
    assert capfd.readouterr().out == ""  # the solver keeps quiet: answers go to stdout


def test_time_that_ran_out_is_told_and_shims_and_springs_are_kept():
    options, available, roles, heights = random_set(17)
    found = best_placement(options, available, roles, heights, seconds=0.0)
    assert not found.proved
    taken = found.chosen[found.chosen >= 0]
    assert (options.shims[taken].sum(axis=0) <= available).all()
    assert np.unique(options.spring[taken]).size == taken.size


def test_a_purchase_never_leaves_more_outside():
    for seed in range(12):
        options, available, roles, heights = random_set(seed)
        plain = best_placement(options, available, roles, heights)
        bought = best_placement(options, available, roles, heights, for_sale=np.ones(3, bool))
        assert bought.score[0] <= plain.score[0] + 1e-6
        taken = options.shims[bought.chosen].sum(axis=0)
        np.testing.assert_array_equal(bought.bought, np.maximum(taken - available, 0))
