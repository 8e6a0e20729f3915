"""A lash that is only wanted is set by a feeler, and known no better."""

import numpy as np
import pytest

from valvetrain.setup.read import read_setup


def lash_of(folder):
    setup = read_setup(folder)
    return setup.column("lash", "lash"), setup.column("lash", "wanted")


@pytest.fixture
def unmeasured(sample, edited):
    """The sample without a lash measured at any valve."""
    folder = sample()
    lines = (folder / "valves.csv").read_text().splitlines()
    head = next(number for number, line in enumerate(lines) if line.startswith("valve,"))
    at = lines[head].split(",").index("lash")
    for number in range(head, len(lines)):
        cells = lines[number].split(",")
        lines[number] = ",".join(cells[:at] + cells[at + 1 :])
    (folder / "valves.csv").write_text("\n".join(lines) + "\n")
    return folder


def test_a_feelers_doubt(unmeasured):
    lash, wanted = lash_of(unmeasured)
    np.testing.assert_array_equal(lash.value, wanted.value)
    np.testing.assert_array_equal(wanted.uncertainty, 0.0)
    np.testing.assert_allclose(lash.uncertainty, 10e-6)


def test_the_sheets_own_feeler(unmeasured, edited):
    edited(unmeasured / "setup.toml", ("[stock]", "[instruments]\nfeeler = 0.002\n\n[stock]"))
    lash, _ = lash_of(unmeasured)
    np.testing.assert_allclose(lash.uncertainty, 0.002 * 0.0254)


def test_a_doubt_that_is_written_stays(unmeasured, edited):
    edited(unmeasured / "setup.toml", ("intake = 0.019", 'intake = "0.019 +/- 0.0015"'))
    lash, _ = lash_of(unmeasured)
    assert lash.uncertainty[0] == pytest.approx(0.0015 * 0.0254)
    assert lash.uncertainty[1] == pytest.approx(10e-6)
