"""NIST Statistical Reference Datasets, linear regression, *Norris* (certified values; published).

Data and certified values are read from the file that scipy ships for its own tests, so nothing is copied by
hand. Its "y = B0 + B1 x" is a spring whose load rises by B1 for each unit of height, so the rate is -B1.
"""

from pathlib import Path

import numpy as np
import pytest
import scipy.stats

from valvetrain.mechanics.spring.tester import LoadTesterUncertainty, fitted_spring_line

FILE = Path(scipy.stats.__file__).parent / "tests" / "data" / "nist_linregress" / "Norris.dat"


def certified() -> tuple[np.ndarray, dict[str, float]]:
    lines = FILE.read_text().splitlines()
    data = np.array([[float(number) for number in line.split()] for line in lines[60:96]])
    values: dict[str, float] = {}
    for line in lines[30:46]:
        words = line.split()
        if words and words[0] in ("B0", "B1"):
            values[words[0]], values[f"sd {words[0]}"] = float(words[1]), float(words[2])
        if line.strip().startswith("Standard Deviation"):
            values["residual"] = float(words[-1])
    return data, values


DATA, VALUES = certified()


def test_the_file_is_the_one_expected():
    assert DATA.shape == (36, 2)
    assert VALUES["B0"] == -0.262323073774029
    assert VALUES["B1"] == 1.00211681802045


@pytest.mark.parametrize("springs", [(), (3, 2)], ids=["one", "six at once"])
def test_certified_line(springs):
    height = np.broadcast_to(DATA[:, 1], (*springs, 36))
    line = fitted_spring_line(height, np.broadcast_to(DATA[:, 0], (*springs, 36)))
    assert line.rate.shape == springs
    np.testing.assert_allclose(-line.rate, VALUES["B1"], rtol=1e-13)
    np.testing.assert_allclose(line.load_at(0.0), VALUES["B0"], rtol=1e-11)
    np.testing.assert_allclose(line.rate_uncertainty, VALUES["sd B1"], rtol=1e-11)
    np.testing.assert_allclose(line.load_uncertainty_at(0.0), VALUES["sd B0"], rtol=1e-11)
    np.testing.assert_allclose(line.residual, VALUES["residual"], rtol=1e-11)


def test_a_worse_instrument_than_the_scatter_counts_instead():
    # With each reading uncertain by twice the certified residual, every deviation doubles.
    line = fitted_spring_line(DATA[:, 1], DATA[:, 0], LoadTesterUncertainty(load=2 * VALUES["residual"]))
    assert line.rate_uncertainty == pytest.approx(2 * VALUES["sd B1"], rel=1e-11)
