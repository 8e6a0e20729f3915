"""One written value: numbers, units, uncertainties, decimal commas."""

import pytest

from valvetrain.parts.spec import Spec
from valvetrain.setup.units import DIMENSIONS, from_si, shown, shown_spread, to_si
from valvetrain.setup.values import measured

LENGTH = Spec("a length", "length", low=-1.0, high=1.0, instrument="caliper")
INSTRUMENTS = {"caliper": ("length", 3e-5), "spring_tester": ("fraction", 0.015)}


def read(written, spec=LENGTH, system="inch", **options):
    return measured(written, spec, "here", system=system, instruments=INSTRUMENTS, **options)


# Exact factors: NIST Special Publication 811 (2008), appendix B (from memory).
@pytest.mark.parametrize(
    ("written", "system", "value", "uncertainty"),
    [
        (1.5, "inch", 0.0381, 3e-5),
        (1.5, "metric", 0.0015, 3e-5),
        ("36.8 mm", "inch", 0.0368, 3e-5),
        ("36,8 mm", "inch", 0.0368, 3e-5),
        ("1.450 +/- 0.003 in", "metric", 0.03683, 7.62e-5),
        ("1.450 ± 0.003 in", "metric", 0.03683, 7.62e-5),
        ("1.450+/-0.003in", "metric", 0.03683, 7.62e-5),
        ("1.450 +/- 0", "inch", 0.03683, 0.0),
        ("2 +/- 1 %", "inch", 0.0508, 0.000508),
        ("-0.5", "inch", -0.0127, 3e-5),
        ("1.5e-1", "inch", 0.00381, 3e-5),
        (".5", "inch", 0.0127, 3e-5),
        ("15 thou", "inch", 0.000381, 3e-5),
        ("36.8 mm +/- 0.05", "inch", 0.0368, 5e-5),
        ("36.8 mm ± 0,05 mm", "inch", 0.0368, 5e-5),
        ("36.8mm+/-0.05mm", "inch", 0.0368, 5e-5),
        ("36.8 mm +/- 0.002 in", "inch", 0.0368, 5.08e-5),
        ("36.8 mm +/- 0", "inch", 0.0368, 0.0),
        ("36.8 mm +/- 1 %", "inch", 0.0368, 3.68e-4),
        ("1/24 in", "metric", 0.0254 / 24, 3e-5),
        ("5/8", "inch", 0.015875, 3e-5),
        ("1 5/8 in +/- 0.01", "inch", 0.041275, 2.54e-4),
        ("1-5/8", "inch", 0.041275, 3e-5),
        ("-1/4", "inch", -0.00635, 3e-5),
    ],
)
def test_written_value(written, system, value, uncertainty):
    found = read(written, system=system)
    assert found.value == pytest.approx(value, rel=1e-12)
    assert found.uncertainty == pytest.approx(uncertainty, rel=1e-12)
    assert found.source == "here"


def test_stated_uncertainty_is_told_from_the_instruments():
    assert read("1 +/- 0.01").stated
    assert not read("1").stated


def test_a_tester_s_uncertainty_is_a_share_of_the_reading():
    spec = Spec("a load", "force", instrument="spring_tester")
    assert read("100 lbf", spec).uncertainty == pytest.approx(0.015 * 100 * 4.4482216152605)


def test_header_unit_comes_between_the_sheet_s_and_the_value_s_own():
    assert read("10", header_unit="mm").value == pytest.approx(0.010)
    assert read("1 in", header_unit="mm").value == pytest.approx(0.0254)


def test_temperature_has_a_zero_and_its_uncertainty_none():
    spec = Spec("a temperature", "temperature", low=200, high=500)
    found = read("180 +/- 9 degF", spec)
    assert found.value == pytest.approx((180 + 459.67) * 5 / 9)
    assert found.uncertainty == pytest.approx(5.0)


@pytest.mark.parametrize(
    ("written", "words"),
    [
        ("nan", "finite"),
        ("-inf", "finite"),
        (float("nan"), "finite"),
        (float("inf"), "finite"),
        ("1e999", "finite"),
        ("", "not a value"),
        ("one", "not a value"),
        ("1.5 +/-", "not a value"),
        ("1.5 mm +/-", "not a value"),
        ("1.5 mm +/- 0.1 lbf", "not a unit of length"),
        ("1.5 mm +/- 0.1 +/- 0.1", "not a value"),
        ("1.5 lbf", "not a unit of length"),
        ("1.5 furlongs", "not a unit of length"),
        ("1,234.5", "not a"),
        (True, "not a number"),
        ([1.5], "not a number"),
        (None, "not a number"),
        ("99", "outside the range"),
    ],
)
def test_refused_with_a_reason(written, words):
    with pytest.raises(ValueError, match=words):
        read(written)


@pytest.mark.parametrize("dimension", DIMENSIONS)
@pytest.mark.parametrize("system", ["inch", "metric"])
def test_conversion_to_si_and_back(dimension, system):
    known = DIMENSIONS[dimension]
    unit = known.inch if system == "inch" else known.metric
    assert from_si(to_si(12.25, unit, dimension), dimension, system) == pytest.approx(12.25, rel=1e-12)


@pytest.mark.parametrize(
    ("value", "uncertainty", "text"),
    [
        (0.0254, None, "1.0000 in"),
        (0.0254, 0.0000254, "1.000 in"),
        (0.0254, 0.000254, "1.00 in"),
        (0.0254, 0.0, "1.0000 in"),
        (-1e-9, None, "0.0000 in"),
        (float("nan"), None, "unmeasured"),
        (float("inf"), None, "unlimited"),
    ],
)
def test_digits_that_a_value_deserves(value, uncertainty, text):
    assert shown(value, "length", "inch", uncertainty) == text


def test_spread_is_never_written_as_nothing():
    assert shown_spread(1e-8, "length", "inch") == "under 0.0001 in"
    assert shown_spread(0.00003, "length", "metric") == "0.03 mm"


def test_a_spread_in_percent_of_a_share_counts_in_its_points():
    spec = Spec("a share", "fraction", low=0.0, high=1.0)
    for written in ("9 % +/- 1 %", "9 +/- 1 %", "9 +/- 1"):
        found = read(written, spec)
        assert (found.value, found.uncertainty) == pytest.approx((0.09, 0.01)), written


@pytest.mark.parametrize("written", ["1/0", "16/08/2026", "1/2/3", "5/8.5", "5/", "/8", "0.5/2"])
def test_what_is_no_fraction_is_refused(written):
    with pytest.raises(ValueError, match="is not"):
        read(written)
