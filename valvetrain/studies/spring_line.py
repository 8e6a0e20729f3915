"""Each valve's spring as a straight line of load over height: from its own tests, or from catalog figures."""

import functools

import numpy as np

from valvetrain.mechanics.spring_tests import LoadTesterUncertainty, SpringLine, fitted_spring_line
from valvetrain.parts.spring import LoadTest
from valvetrain.setup.setup import Column, Setup

__all__ = ["spring_line_columns"]


@functools.lru_cache(maxsize=256)
def fitted_test(test: LoadTest) -> SpringLine:
    """Fit one spring's load test."""
    loads = np.array([each.value for each in test.loads])
    # The tester's share of the reading is common to all readings: it is a scale error.
    scale = max(each.uncertainty / each.value for each in test.loads if each.value > 0)
    height = max(each.uncertainty for each in test.heights)
    return fitted_spring_line(
        np.array([each.value for each in test.heights]),
        loads,
        LoadTesterUncertainty(height=height, scale=scale),
    )


def spring_line_columns(setup: Setup) -> dict[str, Column]:
    """Return the columns of load = `load` - `rate` (height - `at`), the reference height `at` being exact.

    A tested spring's line is taken at the mean of its tested heights, where load and rate are uncorrelated.
    A spring with a rate and a free length has no load at its free length. What is not known is NaN.
    """
    count = len(setup.trains)
    rate, rate_u, load, load_u, at, at_u = (np.full(count, np.nan) for _ in range(6))
    source = [""] * count
    for index, train in enumerate(setup.trains):
        spring = train.spring
        if spring.tests is not None:
            line = fitted_test(spring.tests)
            rate[index], rate_u[index] = line.rate, line.rate_uncertainty
            load[index], at[index], at_u[index] = line.mean_load, line.mean_height, 0.0
            load_u[index] = line.load_uncertainty_at(line.mean_height)
            name = f" spring {spring.tests.spring}" if spring.tests.spring else ""
            source[index] = f"{spring.tests.source}{name}"
            continue
        if spring.rate is not None:
            rate[index], rate_u[index] = spring.rate.value, spring.rate.uncertainty
            source[index] = spring.rate.source
        if spring.free_length is not None:
            load[index], load_u[index] = 0.0, 0.0
            at[index], at_u[index] = spring.free_length.value, spring.free_length.uncertainty
    where = tuple(source)
    return {
        "spring.rate": Column(rate, np.nan_to_num(rate_u), where),
        "spring.load": Column(load, np.nan_to_num(load_u), where),
        "spring.load_height": Column(at, np.nan_to_num(at_u), where),
    }
