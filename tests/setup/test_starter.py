"""The starter sheet: it loads at once, knows nothing, and every line of it becomes a key when uncommented."""

import re

import pytest

from valvetrain.setup.faults import SheetError
from valvetrain.setup.read import read_setup
from valvetrain.setup.schema import SECTIONS
from valvetrain.setup.starter import Described, starter_files
from valvetrain.setup.starter_words import ESSENTIALS, SHOP_INSTRUMENTS, WITHOUT

PER_VALVE = {"lobe.measured_lift", "lash.lash", "lash.wanted"}


def written(tmp_path, **given):
    engine = Described(
        **({"title": "mine", "cylinders": 3, "valves_per_cylinder": 2, "units": "inch"} | given)
    )
    for name, text in starter_files(engine).items():
        (tmp_path / name).write_text(text)
    return tmp_path


@pytest.mark.parametrize("units", ["inch", "metric"])
@pytest.mark.parametrize("valves", [2, 4])
@pytest.mark.parametrize("instruments", [SHOP_INSTRUMENTS, (), ("caliper", "feeler")])
def test_loads_at_once(tmp_path, units, valves, instruments):
    folder = written(tmp_path, units=units, valves_per_cylinder=valves, instruments=instruments)
    setup = read_setup(folder)
    assert (setup.title, setup.units, len(setup.valves)) == ("mine", units, 3 * valves)
    assert all(train.rocker.pad_arm is None for train in setup.trains)


@pytest.mark.parametrize("title", ['a "big" one', "back\\slash", "日本 <b>"])
def test_titles_come_back(tmp_path, title):
    assert read_setup(written(tmp_path, title=title)).title == title


def test_every_key_of_the_schema_is_in_the_sheet(tmp_path):
    text = (written(tmp_path) / "setup.toml").read_text()
    for section, part in SECTIONS.items():
        if section in ("middle_spring", "instruments"):
            continue
        for key in part.__dataclass_fields__:
            if f"{section}.{key}" in PER_VALVE:
                continue
            assert re.search(rf"^#?{key} =( |$)", text, re.MULTILINE), f"[{section}] {key}"


@pytest.mark.parametrize("units", ["inch", "metric"])
def test_every_line_of_the_first_part_becomes_a_key(tmp_path, units):
    """Fill in each blank; what the reader then says is of ranges and tables, never of an unknown key."""
    folder = written(tmp_path, units=units)
    text = (folder / "setup.toml").read_text()
    first, _, second = text.partition("# PART 2")
    (folder / "setup.toml").write_text(_filled(first))
    words = _faults(folder)
    assert "not known" not in words
    assert "does not belong" not in words
    own = second[second.index("\n[adjuster]") : second.index("#[[row]]")]
    (folder / "setup.toml").write_text(first + _filled(own))
    words = _faults(folder)
    assert "not known" not in words
    assert "does not belong" not in words


@pytest.mark.parametrize("shafts", [1, 2, 3])
def test_no_key_lands_in_another_section_when_its_line_is_uncommented(shafts):
    text = starter_files(Described("a", 6, 2, "inch", shafts=shafts))["setup.toml"]
    section, seen = "", 0
    for line in text[: text.index("#[[row]]")].splitlines():
        if line.startswith("["):
            section = line.strip("[]").split(".")[0]
        elif found := re.match(r"^#?(\w+) =( |$)", line):
            key = {"intake": "wanted", "exhaust": "wanted"}.get(found[1], found[1])
            assert section in ("sheet", "tables") or key in SECTIONS[section].__dataclass_fields__, line
            seen += 1
    assert seen > 200


def test_two_shafts_are_written_with_their_valves_rows_and_own_sections(tmp_path):
    folder = written(tmp_path, cylinders=8, shafts=2)
    text = (folder / "setup.toml").read_text()
    setup = read_setup(folder)
    assert [train.shaft.name for train in setup.trains[:4]] == ["left", "left", "right", "right"]
    assert [text.count(f"\n[shaft.{name}]\n") for name in ("left", "right")] == [1, 1]
    assert [text.count(f'#shaft = "{name}"') for name in ("left", "right")] == [1, 1]
    head, _, tail = text.partition("\n[shaft.left]\n")
    assert "#height" not in head
    (folder / "setup.toml").write_text(
        head + "\n[shaft.left]\n" + tail.replace("#height =", "height = 0.2", 1)
    )
    heights = {train.shaft.name: train.shaft.height for train in read_setup(folder).trains}
    assert heights["left"] is not None
    assert heights["right"] is None


def test_everyday_words_for_instruments_are_said_by_their_name(tmp_path):
    folder = written(tmp_path)
    sheet = folder / "setup.toml"
    sheet.write_text(sheet.read_text().replace("[instruments]", "[instruments]\ndial = 0.0005", 1))
    assert "is called indicator here" in _faults(folder)


def _filled(text):
    text = re.sub(r"^#(\w+ =)\s*(# .*)?$", r"\1 0.5 \2", text, flags=re.MULTILINE)
    return re.sub(r"^#(?=\w+ = [\"\[\d]|    \{|\])", "", text, flags=re.MULTILINE)


def _faults(folder):
    try:
        read_setup(folder)
    except SheetError as error:
        return str(error)
    return ""


def test_columns_are_those_of_the_reader_and_never_hide_the_sections_own(tmp_path):
    header = (written(tmp_path) / "valves.csv").read_text().splitlines()
    (line,) = [each for each in header if each.startswith("valve,")]
    assert "solid_height" not in line
    assert "stem_height [in]" in line


def test_instruments_shape_the_sheet(tmp_path):
    everything = starter_files(Described("a", 1, 2, "inch"))
    little = starter_files(Described("a", 1, 2, "inch", ("caliper",)))
    assert set(everything) == {
        "setup.toml",
        "valves.csv",
        "springs.csv",
        "intake_lobe.csv",
        "exhaust_lobe.csv",
    }
    assert set(little) == {"setup.toml", "valves.csv"}
    first = little["setup.toml"].partition("PART 2")[0]
    assert "#rate = " in first
    assert "not at hand" in first
    assert all(WITHOUT[name].split(":")[0][:30] in first for name in ("protractor", "spring_tester"))
    assert "lobe_lift" not in little["valves.csv"]


def test_the_essentials_come_before_the_rest():
    text = starter_files(Described("a", 6, 2, "inch"))["setup.toml"]
    lines = text.splitlines()
    assert next(index for index, line in enumerate(lines) if line.startswith("#setback")) < 40
    assert next(index for index, line in enumerate(lines) if "PART 2" in line) < 330
    for section, keys, _ in ESSENTIALS:
        own = text.partition(f"\n[{section}]\n")[2].partition("\n[")[0].partition("further questions")[0]
        assert all(f"#{key} =" in own for key in keys if key not in ("rate", "solid_height")), section
    assert max(map(len, lines)) <= 110
