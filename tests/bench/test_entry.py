"""What is typed: value and doubt of several readings, and values far from their set."""

import math
import statistics

import pytest

from tests.engine_folders import engine_folder
from valvetrain.bench.entry import joined, read, unlikely
from valvetrain.setup.editing.place import described_as, place_of
from valvetrain.setup.read import read_setup

IN = 0.0254
HEIGHTS = [1.64, 1.645, 1.65, 1.647, 1.643, 1.651, 1.646]


@pytest.fixture(scope="module")
def six():
    return read_setup(engine_folder("plain_six"))


def spec(key):
    return described_as(place_of(key))


@pytest.mark.parametrize("typed", ["1.647", "1 5/8", "36.8 mm", "1.450 +/- 0.003", "1,647", "1.625+/-0.001"])
def test_one_reading_is_written_as_typed(six, typed):
    assert joined(six, spec("3E.installed_height"), [typed], "in") == typed


def test_several_readings_give_mean_and_doubt(six):
    height = spec("3E.installed_height")
    text = joined(six, height, ["1.647", "1.649", "1.648", "1.652"], "in")
    values = [1.647, 1.649, 1.648, 1.652]
    found = read(six, height, text, "in")
    assert found.value / IN == pytest.approx(statistics.fmean(values), abs=5e-5)
    # the instrument's 0.025 mm (its usual) and s/sqrt(n)
    wanted = math.hypot(statistics.stdev(values) / 2, 25e-6 / IN)
    assert found.uncertainty / IN == pytest.approx(wanted, rel=0.05)
    assert found.stated


def test_readings_in_another_unit_are_written_in_the_columns(six):
    text = joined(six, spec("3E.installed_height"), ["41.8 mm", "41.9 mm"], "in")
    assert read(six, spec("3E.installed_height"), text, "in").value == pytest.approx(41.85e-3, abs=2e-6)


@pytest.mark.parametrize(
    ("readings", "words"),
    [
        (["wide"], "is not a value"),
        (["1.647", "1.65 +/- 0.01"], "write each without"),
        ([" "], "write a value"),
        (["165"], "outside the range"),
    ],
)
def test_refused_in_words(six, readings, words):
    with pytest.raises(ValueError, match=words):
        joined(six, spec("3E.installed_height"), readings, "in")


@pytest.mark.parametrize(
    ("typed", "meant"),
    [
        ("1.467", "1.647"),
        ("1.674", "1.647"),
        ("1.467 +/- 0.002", "1.647 +/- 0.002"),
        ("1.90", None),
        ("1.643", ""),
        ("1.655", ""),
    ],
)
def test_far_from_its_set_is_asked(six, typed, meant):
    found = unlikely(six, spec("3E.installed_height"), typed, "in", [each * IN for each in HEIGHTS], "inch")
    if meant == "":
        assert found is None
    else:
        assert found.meant == meant
        assert "far from the 7 others of its set (1.6400 in to 1.6510 in)" in found.words


def test_a_point_moved(six):
    others = [each * IN for each in (0.2598, 0.2601, 0.2605, 0.2596)]
    assert float(unlikely(six, spec("3E.lobe_lift"), "0.026", "in", others, "inch").meant) == 0.26


def test_of_a_few_none_is_far(six):
    assert unlikely(six, spec("3E.installed_height"), "1.2", "in", [1.64 * IN] * 3, "inch") is None
