"""Several rocker shafts in one sheet: which valve stands where, and what holds for one alone. Invented."""

import pytest

from valvetrain.setup.faults import SheetError
from valvetrain.setup.read import read_setup
from valvetrain.setup.schema import json_schema

SHEET = """
[sheet]
title = "Invented engine with two shafts"
units = "inch"
[engine]
cylinders = 4
{engine}
[shaft]
setback = 1.40
{more}
"""
SHAFTS = "shafts = { left = [1, 3], right = [2, 4] }"


def written(folder, engine=SHAFTS, more="", valves=None):
    """Write a sheet and read it."""
    tables = '[tables]\nvalves = "valves.csv"\n' if valves else ""
    (folder / "setup.toml").write_text(SHEET.format(engine=engine, more=more) + tables)
    if valves:
        (folder / "valves.csv").write_text(valves)
    return read_setup(folder)


def by_shaft(setup, section, key):
    found = {}
    for train in setup.trains:
        value = getattr(getattr(train, section), key)
        found.setdefault(train.shaft.name, set()).add(
            None if value is None else round(value.value / 0.0254, 6)
        )
    return found


def test_a_shaft_s_own_section_overrides_what_holds_for_all(tmp_path):
    more = "[shaft.left]\nstand_shim = 0.030\n[shaft.right]\nstand_shim = 0.060\nsetback = 1.41\n"
    more += "[tappet.right]\nsetback = 0.84\n"
    more += "[pushrod.left]\nlength = 9.1\nconvention = 'between ball centers'\n"
    setup = written(tmp_path, more=more)
    assert by_shaft(setup, "shaft", "setback") == {"left": {1.40}, "right": {1.41}}
    assert by_shaft(setup, "shaft", "stand_shim") == {"left": {0.030}, "right": {0.060}}
    assert by_shaft(setup, "tappet", "setback") == {"left": {None}, "right": {0.84}}
    assert by_shaft(setup, "pushrod", "length") == {"left": {9.1}, "right": {None}}
    assert [train.name for train in setup.trains if train.shaft.name == "left"] == ["1I", "1E", "3I", "3E"]


def test_the_table_of_valves_may_say_it_instead(tmp_path):
    rows = "valve,shaft\n" + "".join(
        f"{n}{r},{'near' if n < 3 else 'far'}\n" for n in range(1, 5) for r in "IE"
    )
    setup = written(tmp_path, engine="", more="[shaft.far]\nheight = 0.21\n", valves=rows)
    assert by_shaft(setup, "shaft", "height") == {"near": {None}, "far": {0.21}}


@pytest.mark.parametrize(
    ("engine", "expected"),
    [
        # A four-valve head with a shaft for each role: two of them on one head.
        (
            "valves_per_cylinder = 4\n"
            'shafts = { inlet = ["1I1", "1I2", "2I1", "2I2", "3I1", "3I2", "4I1", "4I2"], '
            'outlet = ["1E1", "1E2", "2E1", "2E2", "3E1", "3E2", "4E1", "4E2"] }',
            {"inlet": 8, "outlet": 8},
        ),
        (
            "shafts = { first = [1], second = [2], third = [3], fourth = [4] }",
            dict.fromkeys(("first", "second", "third", "fourth"), 2),
        ),
    ],
    ids=["two shafts a head", "a shaft a cylinder"],
)
def test_any_division_of_the_valves(tmp_path, engine, expected):
    setup = written(tmp_path, engine=engine)
    names = [train.shaft.name for train in setup.trains]
    assert {name: names.count(name) for name in names} == expected


FAULTS = {
    "no such shaft": (
        SHAFTS,
        "[shaft.lefft]\nheight = 0.2\n",
        ["[shaft.lefft]", "Did you mean 'left'?", "[engine] shafts = {"],
    ),
    "no such cylinder": (
        "shafts = { left = [1, 3], right = [2, 4, 5] }",
        "",
        ["5 is no cylinder", "[1, 3, 5, 7]"],
    ),
    "one nowhere": ("shafts = { left = [1, 3], right = [2] }", "", ["4I, 4E stand on no shaft"]),
    "one twice": (
        "shafts = { left = [1, 3], right = [2, 3, 4] }",
        "",
        ["3I is on shaft 'left' and on 'right'"],
    ),
    "a value in its place": (SHAFTS, "left = 0.2\n", ["[shaft] left", "Write it as [shaft.left]"]),
    "role and shaft": (
        SHAFTS,
        "[rocker.intake]\npad_arm = 1.4\n[rocker.left]\npad_arm = 1.5\n",
        ["[rocker.intake] and [rocker.left]", "both give pad_arm", "column rocker.pad_arm"],
    ),
    "no section for it": (
        SHAFTS,
        "[cam.left]\nintake_centerline = 107\n",
        ["[cam.left]", "holds for the whole engine"],
    ),
    "no shafts at all": ("", "[shaft.left]\nheight = 0.2\n", ["[engine] shafts = { left = [1, 3], ... }"]),
}


@pytest.mark.parametrize("name", FAULTS)
def test_what_cannot_be_is_said_with_the_line_to_write(tmp_path, name):
    engine, more, words = FAULTS[name]
    with pytest.raises(SheetError) as error:
        written(tmp_path, engine=engine, more=more)
    text = "\n".join(str(fault) for fault in error.value.faults)
    assert len(error.value.faults) <= 2, text
    for each in words:
        assert each in text


def test_table_and_sheet_that_contradict_are_told(tmp_path):
    with pytest.raises(SheetError, match="says 'right', and \\[engine\\] shafts has 1I on 'left'"):
        written(tmp_path, valves="valve,shaft\n1I,right\n")


def test_an_editor_takes_a_shaft_s_section():
    shaft = json_schema()["$defs"]["shaft"]
    assert shaft["additionalProperties"] == shaft["properties"]["intake"]
