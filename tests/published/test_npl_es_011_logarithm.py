"""NPL report DEM-ES-011 (2006), 9.2: y = ln x, x rectangular from 0.1 to 1.1.

Status: seen in a public test (table 9.2): first order -0.511, u 0.481, upper end 0.432; Monte Carlo mean
-0.665, u 0.606. Exactly: x/(x ln x) integrals give mean -0.66490 and u 0.60623, symmetric 95 % ends ln 0.125
and ln 1.075.
"""

import math

import numpy as np
import pytest

from tests.published.doubt_cases import ends, found
from valvetrain.mechanics.uncertainty.distributions import RECTANGULAR


def test_logarithm_of_a_wide_rectangle():
    one = found(lambda rows: {"y": np.log(rows["x"])}, {"x": (0.6, 0.5 / math.sqrt(3), RECTANGULAR)})
    assert one.value[0] == pytest.approx(-0.511, abs=5e-4)
    # About the estimate, which is not the mean.
    assert one.uncertainty[0] == pytest.approx(math.hypot(0.606, 0.665 - 0.511), abs=0.002)
    assert ends(one) == (pytest.approx(math.log(0.125), abs=0.002), pytest.approx(math.log(1.075), abs=0.002))
    # First order would have let it reach 0.432, beyond the greatest value that there is (ln 1.1).
    assert ends(one)[1] < math.log(1.1)
