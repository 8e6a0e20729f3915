"""A changed sheet, nothing written: as that sheet written by hand, and refused for the same faults."""

import numpy as np
import pytest

from valvetrain.questions.rocker.linkage_inputs import closed_linkage
from valvetrain.setup.editing.changed import changed
from valvetrain.setup.editing.differences import differences
from valvetrain.setup.editing.place import places_of
from valvetrain.setup.faults import SheetError
from valvetrain.setup.linkage_columns import linkage_columns
from valvetrain.setup.read import read_setup

IN = 0.0254


def files_of(folder):
    return {path.name: path.read_bytes() for path in folder.iterdir()}


@pytest.mark.parametrize(
    ("values", "by_hand"),
    [
        ({"3E.installed_height": "1.647"}, ("valves.csv", "1.900,1.603,1.164", "1.900,1.647,1.164")),
        ({"3e.spring.installed_height": "1.647"}, ("valves.csv", "1.900,1.603,1.164", "1.900,1.647,1.164")),
        ({"3E.lash": None}, ("valves.csv", "1.164,0.0205,0.2605", "1.164,,0.2605")),
        ({"shaft.height": None}, ("setup.toml", 'height = "0.313', '#height = "0.313')),
        (
            {"lobe.intake.base_radius": "16 mm"},
            ("setup.toml", "base_radius = 0.625", 'base_radius = "16 mm"'),
        ),
        ({"spring.free_length": "2,05"}, ("setup.toml", "free_length = 2.00", "free_length = 2.05")),
        ({"limits.sweep_width.high": "12 %"}, ("setup.toml", '"9 %"', '"12 %"')),
        ({"stock.stand_shims": "[0.02]"}, ("setup.toml", "[0.015, 0.030, 0.060]\nrocker", "[0.02]\nrocker")),
        ({"row.1.spacing": "[1.6255]"}, ("setup.toml", "spacing = [1.625]", "spacing = [1.6255]")),
        ({"sheet.title": "1912"}, ("setup.toml", "Plain six (invented engine)", "1912")),
    ],
)
def test_as_if_written_by_hand(sample, edited, values, by_hand):
    folder = sample()
    before = read_setup(folder)
    files = files_of(folder)
    asked = changed(before, values)
    assert files_of(folder) == files
    name, old, new = by_hand
    if values == {"lobe.intake.base_radius": "16 mm"}:
        text = (folder / name).read_text()
        (folder / name).write_text(text.replace(old, new, 1))
    else:
        edited(folder / name, (old, new))
    wanted = read_setup(folder)
    assert differences(before, asked)
    assert differences(wanted, asked) == ()


def test_a_change_of_a_changed_setup_keeps_both(sample):
    setup = read_setup(sample())
    both = changed(changed(setup, {"3E.lash": "0.022"}), {"cam.intake_centerline": "108"})
    told = {(each.key, each.valve) for each in differences(setup, both)}
    assert told == {("lash.lash", "3E"), ("cam.intake_centerline", None)}


def test_the_disk_is_not_asked_again(sample):
    folder = sample()
    setup = read_setup(folder)
    for path in folder.glob("*.csv"):
        path.unlink()
    assert changed(setup, {"3E.lash": "0.022"}).trains[5].lash.lash.value == pytest.approx(0.022 * IN)


def test_a_new_column_takes_nothing_from_the_other_valves(sample):
    setup = read_setup(sample())
    asked = changed(setup, {"3E.rocker.pad_arm": "1.21"})
    (only,) = differences(setup, asked)
    assert (only.key, only.valve) == ("rocker.pad_arm", "3E")
    # a doubt that the section states stays with the valves that keep its value
    assert asked.trains[0].rocker.pad_arm.uncertainty == pytest.approx(0.003 * IN)


def test_a_new_row_takes_nothing_from_its_valve(sample):
    folder = sample("pump_twin")
    table = folder / "valves.csv"
    rows = table.read_text().splitlines(keepends=True)
    last = next(line for line in rows[::-1] if line.startswith("2E"))
    table.write_text("".join(line for line in rows if line is not last))
    setup = read_setup(folder)
    asked = changed(setup, {"2E.offset": "0,12"})
    (only,) = differences(setup, asked)
    assert (only.key, only.valve) == ("station.offset", "2E")
    assert only.after.value == pytest.approx(0.12e-3)


def test_a_sheet_without_a_table_of_valves_gets_one(sample):
    folder = sample()
    sheet = folder / "setup.toml"
    text = sheet.read_text().replace('valves = "valves.csv"\n', "").replace('tests = "springs.csv"\n', "")
    sheet.write_text(text)
    (folder / "valves.csv").unlink()
    setup = read_setup(folder)
    asked = changed(setup, {"3E.lash": "0.022"})
    assert [(each.key, each.valve) for each in differences(setup, asked)] == [("lash.lash", "3E")]
    assert not (folder / "valves.csv").exists()


def test_another_stand_shim_raises_the_shaft_and_turns_the_adjuster(sample, edited):
    folder = sample()
    edited(folder / "setup.toml", ("stand_angle = 0.0", "stand_angle = 12"))
    setup = read_setup(folder)
    asked = changed(setup, {"shaft.stand_shim": "0.030"})
    one, other = (closed(each) for each in (setup, asked))
    rise, lean = 0.030 * IN, np.radians(12)
    np.testing.assert_allclose(other.height - one.height, rise * np.cos(lean), atol=1e-12)
    np.testing.assert_allclose(other.setback - one.setback, -rise * np.sin(lean), atol=1e-12)
    # the rocker stands at the same lash, the pushrod is the same, and the tappet has not moved from the cam:
    # along its bore (angle 0 here) it is lower from the shaft by what the shaft has risen
    np.testing.assert_allclose(other.pushrod_planar_length, one.pushrod_planar_length, atol=1e-12)
    np.testing.assert_allclose(other.lash, one.lash, atol=1e-12)
    np.testing.assert_allclose(other.tappet_position, one.tappet_position - rise * np.cos(lean), atol=1e-12)
    # what the screw shows more is how far its ball has left the place it had in the rocker
    shows = [setup.trains[0].adjuster.exposure.value, asked.trains[0].adjuster.exposure.value]
    arm, turn = (
        one.socket_arm[0],
        asked.trains[0].rocker.arm_angle.value - setup.trains[0].rocker.arm_angle.value,
    )
    way = np.hypot(other.socket_arm[0] * np.cos(turn) - arm, other.socket_arm[0] * np.sin(turn))
    assert abs(shows[1] - shows[0]) == pytest.approx(way, rel=1e-9)
    assert 0.03 < (shows[1] - shows[0]) / IN < 0.08


def test_a_height_given_with_the_stand_shim_is_taken_as_measured(sample):
    setup = read_setup(sample())
    asked = changed(setup, {"shaft.stand_shim": "0.030", "shaft.height": "0.340"})
    assert asked.trains[0].shaft.height.value == pytest.approx(0.340 * IN)
    assert asked.trains[0].adjuster == setup.trains[0].adjuster


def closed(setup):
    rows = {key: column.value for key, column in linkage_columns(setup).items()}
    return closed_linkage(rows, rows["lash.lash"])


@pytest.mark.parametrize(
    ("values", "words"),
    [
        ({"9E.lash": "0.02"}, ("9E is not a valve of this engine", "1I, 1E, 2I")),
        ({"3E.instaled_height": "1.6"}, ("column 'instaled_height' is not known", "'installed_height'")),
        ({"shft.height": "0.3"}, ("this section is not known", "'shaft'")),
        ({"shaft.hight": "0.3"}, ("this key is not known", "'height'")),
        ({"lash": "0.02"}, ("is not a key of a sheet", "7E.installed_height")),
        ({"3E.lash": "none"}, ("'none' is not a value",)),
        ({"3E.lash": "-0.02"}, ("outside the range",)),
        ({"3E.installed_height": "1.1"}, ("solid height", "not below its installed height")),
        ({"3E.valve": "4E"}, ("keeps its name",)),
        ({"spring.installed_height": "1.5"}, ("makes no difference", "table of valves")),
        ({"3E.lash": "0.02\n4E"}, ("line break",)),
        ({"shaft.height": "[0.3"}, ("is not a value",)),
        ({"row.spacing": "[1.6]"}, ("Say which: row.1",)),
        ({"stock.stand_shims": "0.02"}, ("stand_shims",)),
    ],
)
def test_faults_are_those_of_a_sheet(sample, values, words):
    setup = read_setup(sample())
    with pytest.raises(SheetError) as caught:
        changed(setup, values)
    for word in words:
        assert word in str(caught.value)


def test_one_place_given_twice(sample):
    with pytest.raises(SheetError, match=r"is given twice: 0\.02 and 0\.021"):
        places_of([("3E.lash", "0.02"), ("3e.lash", "0.021")])
    with pytest.raises(SheetError, match="is given twice"):
        places_of([("3E.installed_height", "1.6"), ("3E.spring.installed_height", "1.61")])
    assert len(places_of([("3E.lash", "0.02"), ("3E.lash", "0.02")])) == 1


def test_a_spreadsheet_file_can_be_asked_of(sample):
    import openpyxl

    folder = sample()
    book = openpyxl.Workbook()
    for line in (folder / "valves.csv").read_text().splitlines()[1:]:
        book.active.append([float(cell) if "." in cell else cell for cell in line.split(",")])
    book.save(folder / "valves.xlsx")
    sheet = folder / "setup.toml"
    sheet.write_text(sheet.read_text().replace('"valves.csv"', '"valves.xlsx"'))
    setup = read_setup(folder)
    asked = changed(setup, {"3E.lash": "0.022"})
    assert [(each.key, each.valve) for each in differences(setup, asked)] == [("lash.lash", "3E")]
