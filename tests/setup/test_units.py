"""Units as a person reads them."""

import pytest

from valvetrain.parts.spec import Spec
from valvetrain.setup.units import shown, shown_spread, written_unit
from valvetrain.setup.values import measured


def test_a_difference_of_temperature_is_written_as_a_shop_reads_it():
    assert shown(100 * 5 / 9, "rise", "inch") == "100 degF"
    assert shown_spread(10.0, "rise", "metric") == "10 degC"
    assert written_unit("expansion", "metric") == "per degC"
    assert written_unit("length", "inch") == "in"


@pytest.mark.parametrize(
    ("written", "dimension", "si"),
    [
        ("15e-6 1/delta_degC", "expansion", 15e-6),
        ("1/2 in", "length", 0.0127),
        ("1 1/2 in", "length", 0.0381),
    ],
)
def test_a_unit_may_begin_with_a_one(written, dimension, si):
    spec = Spec("", dimension, low=0.0, high=1.0)
    found = measured(written, spec, "", system="metric", instruments={})
    assert found.value == pytest.approx(si)
