"""Blank columns, blank cells, and a lash that does not say where it holds."""

import math

import pytest

from valvetrain.setup.faults import SheetError
from valvetrain.setup.read import read_setup

SHEET = """[sheet]
units = "inch"
[engine]
cylinders = 1
[tables]
valves = "valves.csv"
[spring]
installed_height = 1.650
[lash]
intake = 0.012
exhaust = 0.014
"""


def read(tmp_path, table, sheet=SHEET + 'at = "valve"\nstate = "cold"\n'):
    (tmp_path / "setup.toml").write_text(sheet)
    (tmp_path / "valves.csv").write_text(table)
    return read_setup(tmp_path)


def test_a_column_blank_from_top_to_bottom_says_nothing(tmp_path):
    setup = read(tmp_path, "valve,installed_height,lash\n1I,,\n1E,,\n")
    height = setup.column("spring", "installed_height").value
    assert height == pytest.approx([1.650 * 0.0254] * 2)
    assert setup.column("lash", "lash").value == pytest.approx([0.012 * 0.0254, 0.014 * 0.0254])
    assert setup.not_borrowed == ()


def test_a_blank_cell_beside_others_is_not_measured_and_that_is_said(tmp_path):
    setup = read(tmp_path, "valve,installed_height\n1I,1.640\n1E,\n")
    height = setup.column("spring", "installed_height").value
    assert height[0] == pytest.approx(1.640 * 0.0254)
    assert math.isnan(height[1])
    assert setup.not_borrowed == ("spring.installed_height",)


@pytest.mark.parametrize(
    ("lines", "wanted"),
    [
        ('state = "cold"\n', ["at = "]),
        ('at = "valve"\n', ["state = "]),
        ("", ["at = ", "state = "]),
    ],
)
def test_a_lash_says_where_and_when_it_holds(tmp_path, lines, wanted):
    with pytest.raises(SheetError) as refused:
        read(tmp_path, "valve\n1I\n1E\n", SHEET + lines)
    said = [str(fault) for fault in refused.value.faults]
    assert len(said) == len(wanted)
    for fault, line in zip(said, wanted, strict=True):
        assert "[lash]" in fault
        assert line in fault
