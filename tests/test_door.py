"""The door of the library: what `import valvetrain` offers, and what a notebook user meets."""

import doctest
import subprocess
import sys

import pytest

import valvetrain
from valvetrain.answers import number
from valvetrain.questions import door

SHEET = "sample_geometry/pump_vee"


@pytest.mark.parametrize("module", [valvetrain, number, door], ids=lambda each: each.__name__)
def test_examples_in_the_docs_run(module):
    failed, run = doctest.testmod(module)
    assert run > 0
    assert failed == 0


def test_importing_loads_nothing_heavy():
    code = (
        "import sys, valvetrain; "
        "assert not {'numpy', 'scipy', 'matplotlib', 'pint', 'pydantic'} & set(sys.modules), sys.modules"
    )
    subprocess.run([sys.executable, "-c", code], check=True)


def test_every_name_offered_is_there():
    for name in valvetrain.__all__:
        assert getattr(valvetrain, name) is not None
    assert sorted(valvetrain.__all__) == sorted(dir(valvetrain))


@pytest.fixture(scope="module")
def rocker():
    return valvetrain.ask(valvetrain.read(SHEET), "rocker")


def test_a_number_knows_its_unit_and_its_doubt(rocker):
    width = rocker.sweep_width["1I"]
    text = str(width)
    value, unit, sign, doubt, again = text.split()
    assert (unit, sign, again) == ("in", "+-", "in")
    assert float(value) == pytest.approx(width.to("in"), abs=5e-5)
    assert float(doubt) == pytest.approx(2 * width.u("in"), rel=0.5)
    assert width.to("mm") == pytest.approx(25.4 * width.to("in"))


def test_a_bare_number_is_refused_with_the_way_to_ask(rocker):
    with pytest.raises(TypeError, match=r"\.to\('in'\) or \.to\('mm'\)"):
        float(rocker.sweep_width["1I"])
    with pytest.raises(ValueError, match="not a unit of length"):
        rocker.sweep_width["1I"].to("lbf")


def test_wrong_names_are_answered_with_the_right_ones(rocker):
    with pytest.raises(KeyError, match="1I"):
        rocker.sweep_width["9X"]
    with pytest.raises(AttributeError, match="sweep_width"):
        rocker.sweep_breadth  # noqa: B018
    with pytest.raises(ValueError, match="rocker"):
        valvetrain.ask(rocker.setup, "rockers")


def test_a_changed_setup_is_asked_anew(rocker):
    higher = valvetrain.changed(rocker.setup, {"1I.lash": "0.020 in"})
    moved = valvetrain.ask(higher, "rocker")
    assert moved.lash["1I"].to("in") == pytest.approx(0.020)
    # More lash leaves less lift: by its growth, and a little more as the rocker starts from higher up.
    lost = rocker.net_lift["1I"].to("in") - moved.net_lift["1I"].to("in")
    assert lost == pytest.approx(0.020 - rocker.lash["1I"].to("in"), rel=0.1)
    assert moved.net_lift["2I"].to("in") == pytest.approx(rocker.net_lift["2I"].to("in"), rel=1e-12)
