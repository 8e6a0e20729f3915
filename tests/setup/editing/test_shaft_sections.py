"""A column that is begun for one valve keeps what the others' shafts say in sections of their own."""

import pytest

from valvetrain.setup.editing.changed import changed
from valvetrain.setup.read import read_setup

HEAD = """[sheet]
units = "inch"
[engine]
cylinders = 2
{shafts}
[tables]
valves = "valves.csv"
[shaft]
setback = 1.400
[shaft.left]
stand_shim = 0.030
[shaft.right]
stand_shim = 0.060
"""


@pytest.mark.parametrize(
    ("shafts", "table"),
    [
        ("shafts = { left = [1], right = [2] }", "valve\n1I\n1E\n2I\n2E\n"),
        ("", "valve,shaft\n1I,left\n1E,left\n2I,right\n2E,right\n"),
    ],
    ids=["engine", "column"],
)
def test_the_other_shaft_keeps_its_value(tmp_path, shafts, table):
    (tmp_path / "setup.toml").write_text(HEAD.format(shafts=shafts))
    (tmp_path / "valves.csv").write_text(table)
    setup = changed(read_setup(tmp_path), {"1I.shaft.stand_shim": "0.045"})
    inches = setup.column("shaft", "stand_shim").value / 0.0254
    assert inches == pytest.approx([0.045, 0.030, 0.060, 0.060])
