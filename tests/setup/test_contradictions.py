"""Values in a wrong unit that other values of the sheet contradict."""

import pytest

from valvetrain.setup.contradictions import contradictions
from valvetrain.setup.faults import SheetError
from valvetrain.setup.read import read_setup


@pytest.mark.parametrize("name", ["launch_six", "pump_twin", "reground_head", "pump_vee"])
def test_the_samples_contradict_nothing(name, sample):
    assert contradictions(read_setup(sample(name))) == []


def faults(folder):
    with pytest.raises(SheetError) as caught:
        read_setup(folder)
    return str(caught.value)


def with_lines(folder, section, *lines):
    """Give a section these lines in place of its own of the same keys."""
    sheet = folder / "setup.toml"
    keys = [line.split(" =")[0] for line in lines]
    told, here = [], False
    for line in sheet.read_text().splitlines():
        here = line.strip() == f"[{section}]" if line.startswith("[") else here
        if not (here and line.split(" =")[0] in keys):
            told.append(line)
        if line.strip() == f"[{section}]":
            told += lines
    sheet.write_text("\n".join(told) + "\n")


def test_a_deck_clearance_in_millimeters_on_an_inch_sheet_is_out_of_range(sample):
    folder = sample()
    with_lines(folder, "piston", "deck_clearance = 0.5")
    assert "deck_clearance" in faults(folder)


def test_a_deck_that_leaves_less_than_the_compression_ratio_written(sample):
    folder = sample()
    # 7 mm of deck: 1 + stroke/(deck + gasket) is some 12; the volumes are not given.
    with_lines(folder, "piston", "deck_clearance = 0.28", "compression_ratio = 16.0")
    told = faults(folder)
    assert "compression ratio is written 16.0" in told
    assert "at most" in told


def test_a_stem_height_in_another_unit(sample, edited):
    folder = sample()
    text = (folder / "valves.csv").read_text().splitlines()
    head = text[1].split(",")
    row = text[3].split(",")
    row[head.index("stem_height")] = str(float(row[head.index("stem_height")]) * 1.3)
    text[3] = ",".join(row)
    (folder / "valves.csv").write_text("\n".join(text) + "\n")
    assert "far from that of the other" in faults(folder)


def test_a_taper_in_a_wrong_unit(sample):
    folder = sample()
    with_lines(folder, "lobe.intake", "taper = 0.015")
    assert "steeper than any lobe is ground" in faults(folder)
