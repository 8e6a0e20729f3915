"""From sheet to setup: overriding, roles, blank cells, the schema."""

import json

import numpy as np
import pytest

from valvetrain.setup.read import read_setup
from valvetrain.setup.schema import json_schema
from valvetrain.setup.tables.valves import valve_names

IN = 0.0254


def test_samples_read_whole(sample):
    for name in ("plain_six", "pump_twin", "faulted_six"):
        setup = read_setup(sample(name))
        assert len(setup.trains) == 2 * setup.engine.cylinders


def test_the_toml_file_itself_may_be_given(sample):
    folder = sample()
    by_file, by_folder = read_setup(folder / "setup.toml"), read_setup(folder)
    assert by_file.trains == by_folder.trains


def test_column_overrides_the_section_and_a_blank_cell_does_not_borrow_it(sample, edited):
    folder = sample("pump_twin")
    edited(folder / "setup.toml", ("solid_height = 24.0", "solid_height = 24.0\ninstalled_height = 41.0"))
    edited(folder / "valves.csv", ("2I;-0,05;0,10;40,0", "2I;-0,05;0,10;"))
    height = read_setup(folder).column("spring", "installed_height")
    assert height.value[:2] == pytest.approx([0.0399, 0.0401])
    assert np.isnan(height.value[2])
    assert height.source[0] == "valves.csv line 3, column installed_height"


def test_section_s_value_holds_where_there_is_no_column(sample):
    setup = read_setup(sample("pump_twin"))
    assert setup.column("spring", "solid_height").value == pytest.approx([0.024] * 4)
    assert setup.column("spring", "solid_height").source[0] == "setup.toml [spring] solid_height"


def test_role_overrides_the_section(sample, edited):
    folder = sample("pump_twin")
    edited(folder / "setup.toml", ("[valve.intake]", "[rocker.exhaust]\npad_width = 10\n\n[valve.intake]"))
    setup = read_setup(folder)
    assert setup.column("rocker", "pad_width").value == pytest.approx([0.009, 0.010] * 2)
    assert setup.column("rocker", "pad_arm").value == pytest.approx([0.036] * 4)


def test_full_column_name(sample, edited):
    folder = sample("pump_twin")
    edited(folder / "valves.csv", ("valve;offset", "valve;pushrod.length;offset"), ("1I;", "1I;211,5;"))
    edited(folder / "valves.csv", ("1E;", "1E;212;"), ("2I;", "2I;212;"), ("2E;", "2E;212;"))
    assert read_setup(folder).column("pushrod", "length").value[0] == pytest.approx(0.2115)


def test_instruments_apply_where_a_value_has_no_uncertainty_of_its_own(sample, edited):
    folder = sample()
    edited(
        folder / "setup.toml", ("[limits]", "[instruments]\ncaliper = 0.004\nspring_tester = 2\n\n[limits]")
    )
    setup = read_setup(folder)
    assert setup.column("rocker", "pad_width").uncertainty[0] == pytest.approx(0.004 * IN)
    assert setup.column("rocker", "pad_arm").uncertainty[0] == pytest.approx(0.003 * IN)
    load = setup.trains[0].spring.tests.loads[0]
    assert load.uncertainty == pytest.approx(0.02 * load.value)


def test_left_out_is_unknown_and_never_zero(sample, edited):
    folder = sample()
    edited(folder / "setup.toml", ("stand_shim = 0.0\n", ""))
    assert np.isnan(read_setup(folder).column("shaft", "stand_shim").value).all()


def test_a_bare_sheet_is_enough(tmp_path, document):
    (tmp_path / "setup.toml").write_text('[sheet]\nunits = "metric"\n[engine]\ncylinders = 1\n')
    checks = document("check", tmp_path)["checks"]
    assert checks
    assert {check["verdict"] for check in checks} == {"unmeasured"}


@pytest.mark.parametrize(
    ("cylinders", "per_cylinder", "names"),
    [(1, 2, ("1I", "1E")), (1, 4, ("1I1", "1I2", "1E1", "1E2")), (2, 2, ("1I", "1E", "2I", "2E"))],
)
def test_valve_names(cylinders, per_cylinder, names):
    assert valve_names(cylinders, per_cylinder) == names


def test_four_valve_head(tmp_path):
    (tmp_path / "setup.toml").write_text(
        '[sheet]\nunits = "metric"\n[engine]\ncylinders = 12\nvalves_per_cylinder = 4\n'
    )
    setup = read_setup(tmp_path)
    assert len(setup.trains) == 48
    train = setup.trains[-1]
    assert (train.name, train.cylinder, train.role) == ("12E2", 12, "exhaust")


def test_schema_is_json_schema_and_describes_every_section(sample):
    schema = json_schema()
    json.dumps(schema)
    assert {"sheet", "engine", "shaft", "rocker", "limits", "stock"} <= set(schema["properties"])
    text = json.dumps(schema)
    assert "shaft axis above the tip of the closed valve" in text
    assert schema["additionalProperties"] is False
