"""The shaft row of the sheet: few lines, and in agreement with what was measured (derived by hand)."""

import math

import numpy as np
import pytest

from valvetrain.mechanics.row.shaft import Rocker, Shim, Spring, Stand, placed
from valvetrain.setup.faults import SheetError
from valvetrain.setup.read import read_setup

IN = 0.0254


def row_of(sample, edited, *pairs, name="plain_six"):
    folder = sample(name)
    edited(folder / "setup.toml", *pairs)
    return read_setup(folder).shaft_rows


def test_twelve_rockers_in_less_than_twenty_lines(sample):
    text = (sample() / "setup.toml").read_text()
    block = text.split("[[row]]")[1].split("\n[")[0]
    assert len([line for line in block.splitlines() if line.strip()]) < 20
    (row,) = read_setup(sample("faulted_six")).shaft_rows
    assert [p.valve for p in row.parts if isinstance(p, Rocker)] == [
        f"{n}{r}" for n in range(1, 7) for r in "IE"
    ]


def test_row_sits_as_it_was_measured(sample):
    setup = read_setup(sample())
    (row,) = setup.shaft_rows
    sit = placed(row.parts).rockers
    assert [r.offset for r in sit] == pytest.approx(list(setup.column("station", "offset").value), abs=1e-12)
    gaps = setup.column("station", "end_clearance").value
    assert [r.end_clearance for r in sit] == pytest.approx(list(gaps), abs=1e-12)


def test_without_spacing_a_bay_is_as_long_as_its_parts_and_its_gap(sample, edited):
    (row,) = row_of(sample, edited, ("spacing = [1.625] ", "# spacing = [1.625] "))
    walls = [p for p in row.parts if isinstance(p, Stand)]
    # half a stand, shim, hub, shim, gap of 1I, half a collar
    assert walls[1].position == pytest.approx((0.375 + 0.06 + 1.0 + 0.06 + 0.0056 + 0.125) * IN)


def test_bay_of_which_nothing_is_known_is_held(sample, edited):
    pairs = ("spacing = [1.625] ", "# spacing = [1.625] ")
    (row,) = row_of(sample, edited, pairs, name="faulted_six")
    assert row.held == ("collar 6 to stand 7",)


def test_two_readings_of_one_play_are_averaged_by_their_uncertainties(sample, edited):
    folder = sample("pump_twin")
    edited(folder / "setup.toml", ("pad_width = 9.0", "pad_width = 9.0\nhub_width = 25"))
    with (folder / "setup.toml").open("a") as file:
        file.write(
            '\n[[row]]\nfront = ["stand"]\neach = ["I", "spacer 10", "E", "stand"]\nstand_width = 20\n'
        )
    edited(
        folder / "valves.csv",
        ("1I;0,12;0,11;", "1I;0,12;0,11 +/- 0,01;"),
        ("1E;-0,20;0,13;", "1E;-0,20;0,14 +/- 0,02;"),
        ("2E;0,25;0,14;", "2E;0,25;0,12;"),
    )
    (row,) = read_setup(folder).shaft_rows
    weights = 1 / np.array([0.01, 0.02]) ** 2
    mean = np.sum(weights * [0.11, 0.14]) / np.sum(weights)
    play = placed(row.parts).play
    assert play[0] == pytest.approx(mean * 1e-3, abs=1e-12)
    assert row.spread[row.kinds.index("stand 2")] == pytest.approx(1e-3 / math.sqrt(np.sum(weights)))


def test_shims_of_the_valves_table_stand_in_place_of_the_pattern_s(sample, edited):
    folder = sample("pump_twin")
    edited(folder / "setup.toml", ("pad_width = 9.0", "pad_width = 9.0\nhub_width = 25"))
    with (folder / "setup.toml").open("a") as file:
        file.write(
            '\n[[row]]\nfront = ["end"]\neach = ["shim 0.5", "I", "shim 0.5", "collar 6", "shim 0.5", "E", '
            '"shim 0.5", "stand 20"]\n'
        )
    text = (folder / "valves.csv").read_text().splitlines()
    text[1] += ";front_shims;rear_shims"
    text[2] += ";0,2 + 0,1;0"
    (folder / "valves.csv").write_text("\n".join([*text[:3], *(line + ";;" for line in text[3:])]))
    (row,) = read_setup(folder).shaft_rows
    at = row.kinds.index("1I")
    assert [p.thickness for p in row.parts[1:at]] == pytest.approx([0.2e-3, 0.1e-3])
    assert row.kinds[at + 1] == "collar 1"
    beside = [p.thickness for p in row.parts[at + 1 :] if isinstance(p, Shim)]
    assert beside == pytest.approx([0.5e-3] * (len(beside)))


def test_two_shafts_by_name(sample, edited):
    folder = sample("pump_twin")
    edited(folder / "setup.toml", ("pad_width = 9.0", "pad_width = 9.0\nhub_width = 25"))
    with (folder / "setup.toml").open("a") as file:
        for name in "AB":
            file.write(
                f'\n[[row]]\nshaft = "{name}"\nfront = ["stand"]\neach = ["I", "collar", "E", "stand"]\n'
                "stand_width = 20\ncollar_width = 6\n"
            )
    lines = (folder / "valves.csv").read_text().splitlines()
    names = ["", ";shaft", ";A", ";A", ";B", ";B"]
    (folder / "valves.csv").write_text("\n".join(a + b for a, b in zip(lines, names, strict=True)))
    first, second = read_setup(folder).shaft_rows
    assert first.kinds == ("A stand 1", "1I", "A collar 1", "1E", "A stand 2")
    assert second.kinds == ("B stand 1", "2I", "B collar 1", "2E", "B stand 2")


SPRUNG = """
[[row]]
front = ["stand"]
each = ["I", "spring", "E", "stand"]
stand_width = 20
spacing = [82]
spring_free_length = 20
spring_solid_length = 4
"""


def sprung(sample, edited, *pairs):
    folder = sample("pump_twin")
    edited(folder / "setup.toml", ("pad_width = 9.0", "pad_width = 9.0\nhub_width = 25"))
    text = SPRUNG
    for old, new in pairs:
        assert old in text
        text = text.replace(old, new)
    with (folder / "setup.toml").open("a") as file:
        file.write(text)
    lines = (folder / "valves.csv").read_text().splitlines()
    (folder / "valves.csv").write_text(
        "\n".join(lines[:2] + [";".join([*(c := line.split(";"))[:2], "", *c[3:]]) for line in lines[2:]])
    )
    return folder


def test_spring_fills_what_is_left_of_its_bay(sample, edited):
    (row,) = read_setup(sprung(sample, edited)).shaft_rows
    sit = placed(row.parts).rockers
    # 82 less two half stands and two hubs leaves 12 for a spring that is 20 free.
    assert sit[0].spring_lengths == pytest.approx((0.012,))
    assert [r.end_clearance for r in sit] == [0.0] * 4
    assert sum(isinstance(p, Spring) for p in row.parts) == 2


@pytest.mark.parametrize(
    ("pairs", "words"),
    [
        ([("spacing = [82]", "spacing = [72]")], ["stand 1 to stand 2", "does not add up", "4.000 mm solid"]),
        ([("spacing = [82]\n", "")], ["stand 1 to stand 2", "spacing"]),
        ([("spring_free_length = 20\n", "")], ["spring_free_length"]),
        ([("spring_solid_length = 4", "spring_solid_length = 30")], ["out of order"]),
    ],
)
def test_springs_that_cannot_be(sample, edited, pairs, words):
    with pytest.raises(SheetError) as error:
        read_setup(sprung(sample, edited, *pairs))
    for word in words:
        assert word in str(error.value)
