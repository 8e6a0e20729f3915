"""NIST Technical Note 1900 (2015), examples E3 (falling-ball viscometer) and E13 (thermal expansion).

Status: seen in public tests that re-key them. E3: mu_M = mu_C (t_M/t_C)(rho_B - rho_M)/(rho_B - rho_C); at
the estimates 5.69 mPa s; by Monte Carlo mean 5.82, u 1.11, 95 % from 4.05 to 8.39. E13: coefficient
(L1 - L0)/(L0 (T1 - T0)): 1.7266e-5 and u 1.76e-6 per K to first order; the source's Student's t with 3
degrees of freedom is not among the toolkit's distributions, so that only first order is compared.
"""

import math

import pytest

from tests.published.doubt_cases import ends, found

VISCOMETER = {
    "standard": (4.63, 0.0463),
    "time": (61.0, 6.1),
    "standard_time": (36.6, 5.49),
    "ball": (2217.0, 0.5),
    "solution": (1180.0, 0.5),
    "liquid": (810.0, 0.5),
}


def viscosity(rows):
    float_ = (rows["ball"] - rows["solution"]) / (rows["ball"] - rows["liquid"])
    return {"y": rows["standard"] * rows["time"] / rows["standard_time"] * float_}


def test_viscometer():
    one = found(viscosity, VISCOMETER)
    assert one.value[0] == pytest.approx(5.69, abs=0.005)
    assert one.uncertainty[0] == pytest.approx(math.hypot(1.11, 5.82 - 5.69), abs=0.02)
    low, high = ends(one)
    assert (low, high) == (pytest.approx(4.05, abs=0.02), pytest.approx(8.39, abs=0.05))


def test_expansion_is_first_order():
    one = found(
        lambda rows: {"y": (rows["l1"] - rows["l0"]) / (rows["l0"] * (rows["t1"] - rows["t0"]))},
        {"l0": (1.4999, 1e-4), "l1": (1.5021, 2e-4), "t0": (288.15, 0.02), "t1": (373.10, 0.05)},
    )
    assert one.value[0] == pytest.approx(1.7266e-5, abs=5e-10)
    assert one.uncertainty[0] == pytest.approx(1.76e-6, abs=0.005e-6)
    assert one.ends(0) is None
