"""`center` from the command line: the plan, the re-check, the drawing, and every bad input of a shaft row."""

import pytest

PATTERN = 'each = ["shim 0.060", "I", "shim 0.060", "collar", "shim 0.060", "E", "shim 0.060", "stand"]'


def test_build_plan_fits_a_page_and_names_every_part_in_order(sample, run):
    result = run("center", sample("faulted_six"), "--plan")
    assert result.exit_code == 1
    lines = result.stdout.splitlines()
    assert max(map(len, lines)) <= 110
    start = next(k for k, line in enumerate(lines) if line.startswith("Build plan"))
    end = next(k for k, line in enumerate(lines[start:], start) if line.startswith("└"))
    assert end - start < 50
    page = lines[start:end]
    order = [name for line in page for name in line.split() if name[:1].isdigit() and name[1:] in ("I", "E")]
    assert order == [f"{n}{r}" for n in range(1, 7) for r in "IE"]
    (changed,) = [line for line in page if " 3I " in line]
    assert "was shim 0.0600" in changed
    assert "0.011" in changed


def test_shim_of_no_thickness_is_no_shim(sample, document, edited):
    folder = sample("faulted_six")
    edited(folder / "setup.toml", ('"shim 0.060", "stand"]', '"shim 0.060", "shim 0", "stand"]'))
    parts = document("center", folder)["results"]["plan"]["shafts"][0]["parts"]
    assert sum(part["part"] == "shim" for part in parts) == 24


def test_plan_in_json(sample, document):
    answer = document("center", sample("faulted_six"), "--units", "metric")
    plan = answer["results"]["plan"]
    assert plan["feasible"] is True
    assert plan["changes"] == 2
    assert [step["between"] for step in plan["shims"]] == [["stand 3", "3I"], ["3I", "collar 3"]]
    assert plan["shims"][0]["take_out"][0]["value"] == pytest.approx(1.524)
    assert "1.524 mm" in plan["steps"][0]
    assert [part["part"] for part in plan["shafts"][0]["parts"][:4]] == ["stand 1", "shim", "1I", "shim"]


def test_recheck_says_done(sample, run, document, tmp_path):
    again = tmp_path / "again.csv"
    again.write_text("valve,offset\n3I,0.012\n")
    folder = sample("faulted_six")
    result = run("center", folder, "--recheck", again)
    assert result.exit_code == 0
    assert "Done" in result.stdout
    answer = document("center", folder, "--recheck", again)
    assert answer["results"]["recheck"]["done"] is True
    assert answer["results"]["plan"]["changes"] == 0


def test_recheck_is_looked_for_beside_the_sheet(sample, run):
    folder = sample("faulted_six")
    (folder / "again.csv").write_text("valve,offset\n3I,0.012\n")
    for sheet in (folder, folder / "setup.toml"):
        result = run("center", sheet, "--recheck", "again.csv")
        assert result.exit_code == 0, result.output
        assert "Done" in result.stdout


def test_an_end_clearance_beside_a_pressed_spring_is_refused(tmp_path, run):
    row = """[sheet]
units = "inch"
[engine]
cylinders = 1
[tables]
valves = "valves.csv"
[rocker]
hub_width = 1.0
[[row]]
front = ["stand"]
each = ["shim 0.060", "I", "spring", "E", "shim 0.060", "stand"]
spacing = [3.5]
stand_width = 0.8
spring_free_length = 1.0
spring_solid_length = 0.3
"""
    (tmp_path / "setup.toml").write_text(row)
    (tmp_path / "valves.csv").write_text("valve,offset,end_clearance\n1I,0,0.006\n1E,0,\n")
    words = ("bay stand 1 to stand 2", "0.0060 in was found at 1I", "pressed spring", "blank")
    refused(run("center", tmp_path), *words)
    (tmp_path / "valves.csv").write_text("valve,offset,end_clearance\n1I,0,\n1E,0,\n")
    assert run("center", tmp_path).exit_code == 0


def test_shims_that_the_sheet_does_not_tell_of_are_looked_for_first(tmp_path, run):
    (tmp_path / "setup.toml").write_text(
        """[sheet]
units = "inch"
[engine]
cylinders = 1
[tables]
valves = "valves.csv"
[rocker]
pad_width = 0.3
[valve]
stem_diameter = 0.37
tip_chamfer = 0.03
[stock]
rocker_shims = [0.030]
"""
    )
    table = tmp_path / "valves.csv"
    table.write_text("valve,offset,end_clearance\n1I,0.060,0.006\n1E,0,0.006\n")
    text = " ".join(run("center", tmp_path).stdout.split())
    assert "take out 0.0300 in in front" in text
    assert "the sheet does not say which shims are there (front_shims)" in text
    table.write_text(
        "valve,offset,end_clearance,front_shims,rear_shims\n1I,0.060,0.006,0.030,0\n1E,0,0.006,0,0\n"
    )
    text = " ".join(run("center", tmp_path).stdout.split())
    assert "take out 0.0300 in in front" in text
    assert "Look first" not in text


def test_hubs_left_out_are_one_fault(sample, run, edited):
    folder = sample()
    edited(folder / "setup.toml", ("hub_width = 1.000 ", "# "))
    result = run("center", folder)
    refused(result, "1 fault", "rockers 1I, 1E,", "hub_width", "[rocker]")


def test_recheck_proposes_only_the_change(sample, run, document, tmp_path):
    again = tmp_path / "again.csv"
    again.write_text("valve,offset\n3I,0.012\n2E,0.056\n")
    folder = sample("faulted_six")
    text = run("center", folder, "--recheck", again).stdout
    assert "NOT AS PLANNED" in text
    assert "Done" not in text
    assert max(map(len, text.splitlines())) <= 110
    steps = document("center", folder, "--recheck", again)["results"]["plan"]["steps"]
    assert len(steps) == 2
    assert all("2E" in step for step in steps)


def test_drawings_are_written_and_never_over_a_file(sample, run, tmp_path):
    folder = sample()
    written = []
    for draw in ("row", "tips"):
        target = tmp_path / f"{draw}.svg"
        assert run("center", folder, "--plot", target, "--draw", draw).exit_code == 0
        written.append(target.read_bytes())
    assert written[0] != written[1]
    refused(run("center", folder, "--plot", tmp_path / "row.svg", "--draw", "row"), "exists already")
    assert (tmp_path / "row.svg").read_bytes() == written[0]


def refused(result, *words):
    assert result.exit_code == 2, result.output
    assert result.stdout == ""
    assert "Traceback" not in result.stderr
    for word in words:
        assert word in result.stderr, (word, result.stderr)


# what is changed in plain_six: file, text, its replacement; words of the message
FAULTS = {
    "does not add up": (
        "setup.toml",
        "spacing = [1.625]",
        "spacing = [1.725]",
        ["bay stand 1 to collar 1", "does not add up to the stand spacing", "0.1050 in", "0.0056 in"],
    ),
    "parts longer than the room": (
        "setup.toml",
        "spacing = [1.625]",
        "spacing = [1.525]",
        ["bay stand 1 to collar 1", "does not add up"],
    ),
    "number of spacings": (
        "setup.toml",
        "spacing = [1.625]",
        "spacing = [1.6, 1.6, 1.6, 1.6, 1.6]",
        ["5 lengths"],
    ),
    "valve not in the list": ("setup.toml", '"I", "shim', '"7I", "shim', ["7I", "1I"]),
    "rocker left out": ("setup.toml", PATTERN, 'each = ["I", "stand"]', ["one more 'I'"]),
    "rocker twice": ("setup.toml", '"I", "shim', '"1I", "shim', ["1I", "twice"]),
    "no rocker in the pattern": ("setup.toml", PATTERN, 'each = ["shim 0.060", "stand"]', ["no rocker"]),
    "unknown part": ("setup.toml", '"collar"', '"colar"', ["colar", "'collar'"]),
    "shim without a thickness": ("setup.toml", '"shim 0.060", "I"', '"shim", "I"', ["'shim' has no length"]),
    "negative shim": ("setup.toml", '"shim 0.060", "I"', '"shim -0.060", "I"', ["-0.06 in"]),
    "no wall in front": ("setup.toml", 'front = ["stand"]\n', "", ["begins and ends with a wall"]),
    "no width of a stand": ("setup.toml", "stand_width = 0.750\n", "", ["stand_width"]),
    "no hub": ("setup.toml", "hub_width = 1.000 ", "# ", ["1I", "hub_width"]),
    "pad beyond its hub": (
        "setup.toml",
        "hub_width = 1.000",
        "pad_position = 1.2\nhub_width = 1.000",
        ["pad_position"],
    ),
    "contradictory gaps": (
        "setup.toml",
        PATTERN + "\nstand_width = 0.750\ncollar_width = 0.250\nspacing = [1.625]",
        'each = ["shim 0.060", "I", "spacer 0.250", "E", "shim 0.060", "stand"]\nstand_width = 0.750\n',
        ["bay stand 4 to stand 5", "4I", "0.0056 in", "4E", "0.0036 in", "contradict"],
    ),
    "negative gap": ("valves.csv", "1I,S1,0.000,0.0056", "1I,S1,0.000,-0.0056", ["end_clearance", "-0.0056"]),
    "offset larger than the hub": (
        "setup.toml",
        "hub_width = 1.000             # the pad is at its middle\n",
        "hub_width = 0.150\n",
        ["bay stand 1 to collar 1"],
    ),
    "shaft fixed at no wall": (
        "setup.toml",
        'fixed_at = "stand 4"',
        'fixed_at = "stand 9"',
        ["fixed_at", "stand 9"],
    ),
    "negative count": (
        "setup.toml",
        "rocker_shims = [0.005,",
        "rocker_shims = [{ thickness = 0.005, count = -1 },",
        ["rocker_shims", "-1"],
    ),
    "thickness twice": ("setup.toml", "rocker_shims = [0.005,", "rocker_shims = [0.005, 0.005,", ["twice"]),
    "unknown key of a row": (
        "setup.toml",
        "stand_width = 0.750",
        "stand_widht = 0.750",
        ["stand_widht", "'stand_width'"],
    ),
}


@pytest.mark.parametrize(("file", "old", "new", "words"), FAULTS.values(), ids=FAULTS)
def test_bad_row_is_refused(sample, run, edited, tmp_path, file, old, new, words):
    folder = sample()
    edited(folder / file, (old, new))
    target = tmp_path / "row.png"
    refused(run("center", folder, "--plot", target, "--draw", "row"), *words)
    assert not target.exists()


def test_offset_larger_than_its_hub_names_rocker_and_bay(sample, run, edited):
    folder = sample()
    edited(folder / "setup.toml", ("hub_width = 1.000", "hub_width = 0.200"), ("spacing = [1.625] ", "# "))
    edited(folder / "valves.csv", ("1E,S2,-0.006", "1E,S2,-0.260"))
    refused(run("center", folder), "bay collar 1 to stand 2", "rocker 1E", "0.2600 in", "0.2000 in")


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("valve,offset\n7I,0.01\n", ["7I", "6E"]),
        ("valve,offset\n1I,0.01\n1I,0.02\n", ["1I", "twice"]),
        ("valve,offset\n1I,wide\n", ["line 2", "offset", "wide"]),
        ("valve,ofset\n1I,0.01\n", ["'offset'"]),
        ("valve,offset\n1I,\n", ["no offset"]),
        ("valve,offset,end_clearance\n1I,0.0,-0.01\n", ["end_clearance"]),
        ("", ["empty"]),
    ],
)
def test_bad_recheck_is_refused(sample, run, tmp_path, text, words):
    again = tmp_path / "again.csv"
    again.write_text(text)
    refused(run("center", sample(), "--recheck", again), "again.csv", *words)


def test_recheck_file_that_is_not_there(sample, run, tmp_path):
    refused(run("center", sample(), "--recheck", tmp_path / "none.csv"), "none.csv", "cannot be read")


def test_plan_and_drawing_need_a_row(sample, run, tmp_path):
    folder = sample("pump_twin")
    refused(run("center", folder, "--plan"), "--plan", "[[row]]")
    target = tmp_path / "row.png"
    refused(run("center", folder, "--draw", "row", "--plot", target), "[[row]]")
    assert not target.exists()


def test_empty_drawer_is_told_with_the_bay_and_what_to_buy(sample, run, edited):
    folder = sample("faulted_six")
    edited(
        folder / "setup.toml",
        ("rocker_shims = [0.005, 0.010, 0.015, 0.020, 0.030, 0.060]", "rocker_shims = []"),
        ('"shim 0.060", "I", "shim 0.060"', '"spacer 0.060", "I", "spacer 0.060"'),
    )
    result = run("center", folder)
    assert result.exit_code == 1
    text = " ".join(result.stdout.split())
    assert "Bay stand 3 to collar 3: no plan, the drawer is empty." in text
    assert any(words in text for words in ("Buy", "Face", "Machine"))


def test_too_much_play_and_no_thin_shims_says_what_to_buy(sample, document, edited):
    """Play 0.30 mm, at most 0.2032 mm (0.008 in), 0.0508 mm to be left: shims of 0.0968 to 0.2492 mm."""
    folder = sample("pump_twin")
    edited(folder / "setup.toml", ("rocker_shims = [0.10, 0.20, 0.50, 1.00]", "rocker_shims = [0.50]"))
    rows = (folder / "valves.csv").read_text(encoding="utf-8").splitlines()
    rows = [
        ";".join([*row.split(";")[:2], "0,30", *row.split(";")[3:]]) if "1I;" in row else row for row in rows
    ]
    (folder / "valves.csv").write_text("\n".join(rows) + "\n", encoding="utf-8")
    (advice,) = [
        check["advice"]
        for check in document("center", folder)["checks"]
        if check["valve"] == "1I" and check["id"] == "end_clearance"
    ]
    assert advice.startswith("No shims of the stock bring the end clearance into its range. ")
    assert "Buy or grind shims that together make 0.097 mm to 0.249 mm" in advice
