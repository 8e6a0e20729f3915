"""Units as a person reads them."""

from valvetrain.setup.units import shown, shown_spread, written_unit


def test_a_difference_of_temperature_is_written_as_a_shop_reads_it():
    assert shown(100 * 5 / 9, "rise", "inch") == "100 degF"
    assert shown_spread(10.0, "rise", "metric") == "10 degC"
    assert written_unit("expansion", "metric") == "per degC"
    assert written_unit("length", "inch") == "in"
