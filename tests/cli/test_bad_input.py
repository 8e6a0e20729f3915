"""Every bad input ends with status 2 and one clear error on stderr; nothing is written or lost."""

import os

import pytest


def rejected(result, *words):
    """Assert a clean refusal whose message holds these words."""
    assert result.exit_code == 2, result.output
    assert result.stdout == ""
    assert "Traceback" not in result.stderr
    for word in words:
        assert word in result.stderr, (word, result.stderr)


# (file, text, its replacement, words of the message)
FAULTS = {
    "NaN": ("setup.toml", 'setback = "1.192 +/- 0.003"', "setback = nan", ["[shaft] setback", "finite"]),
    "infinity": ("setup.toml", 'setback = "1.192 +/- 0.003"', "setback = inf", ["[shaft] setback", "finite"]),
    "NaN in words": ("setup.toml", 'setback = "1.192 +/- 0.003"', 'setback = "nan"', ["finite"]),
    "negative length": (
        "setup.toml",
        'pad_arm = "1.200 +/- 0.003"',
        "pad_arm = -1.2",
        ["[rocker] pad_arm", "-1.2", "range"],
    ),
    "negative uncertainty": ("setup.toml", "1.200 +/- 0.003", "1.200 +/- -0.003", ["pad_arm"]),
    "wrong unit": (
        "setup.toml",
        "pad_width = 0.312",
        'pad_width = "0.312 lbf"',
        ["pad_width", "lbf", "length"],
    ),
    "unknown unit": ("setup.toml", "pad_width = 0.312", 'pad_width = "0.312 cubits"', ["cubits", "in or mm"]),
    "millimeters in an inch sheet": (
        "setup.toml",
        'pad_arm = "1.200 +/- 0.003"',
        "pad_arm = 30.5",
        ["30.5 in"],
    ),
    "boolean": ("setup.toml", "pad_width = 0.312", "pad_width = true", ["pad_width", "True"]),
    "unknown key": ("setup.toml", "pad_width = 0.312", "pad_widht = 0.312", ["pad_widht", "'pad_width'"]),
    "unknown section": ("setup.toml", "[pushrod]", "[pushrods]", ["pushrods", "'pushrod'"]),
    "unknown word": ("setup.toml", 'at = "valve"', 'at = "rocker"', ["[lash] at", "rocker", "'valve'"]),
    "no units": ("setup.toml", 'units = "inch"\n', "", ["units", "missing"]),
    "broken TOML": ("setup.toml", "[shaft]", "[shaft", ["TOML", "line"]),
    "limits turned round": ("setup.toml", "low = -0.030", "low = 0.060", ["installed_height_deviation"]),
    "no cylinders": ("setup.toml", "cylinders = 6\n", "", ["cylinders", "missing"]),
    "missing column": ("valves.csv", "valve,spring", "valves,spring", ["column 'valve' is missing"]),
    "unknown column": ("valves.csv", ",offset,", ",ofset,", ["ofset", "'offset'"]),
    "duplicate valve": ("valves.csv", "2I,S3", "1I,S3", ["1I", "twice"]),
    "unknown valve": ("valves.csv", "6E,S12", "7E,S12", ["7E", "6E"]),
    "unknown spring": ("valves.csv", "6E,S12", "6E,S13", ["S13"]),
    "spring on two valves": ("valves.csv", "6E,S12", "6E,S11", ["line 14", "S11", "6I and on 6E"]),
    "word for a number": ("valves.csv", "1I,S1,0.000", "1I,S1,none", ["line 3", "offset", "none"]),
    "NaN cell": ("valves.csv", "1I,S1,0.000", "1I,S1,NaN", ["line 3", "offset", "finite"]),
    "ragged row": ("valves.csv", "1I,S1,", "1I,S1,,,,,,,,,7,", ["line 3", "cells"]),
    "missing lift column": (
        "intake_lobe.csv",
        "tappet_lift [in]",
        "lift [in]",
        ["tappet_lift", "valve_lift"],
    ),
    "missing angle column": (
        "intake_lobe.csv",
        "cam_angle [deg]",
        "angle [deg]",
        ["cam_angle", "crank_angle"],
    ),
    "spike in a lift table": ("intake_lobe.csv", "\n180,0.2", "\n180,0.3", ["intake_lobe.csv line"]),
    "lift table in another unit": (
        "intake_lobe.csv",
        "tappet_lift [in]",
        "tappet_lift [mm]",
        ["[lobe.intake]"],
    ),
    "splay as long as the pushrod": (
        "setup.toml",
        'length = "9.620 +/- 0.005"',
        "length = 0.8\nsplay = 0.8",
        ["splay"],
    ),
    "shaft out of reach": ("setup.toml", 'height = "0.313', 'height = "-1.313', ["pad arm", "reach"]),
    "swapped columns": (
        "valves.csv",
        "stem_height,installed_height",
        "installed_height,stem_height",
        ["valve 1I", "installed height 1.8990 in", "stem height 1.5970 in", "swapped?"],
    ),
    "solid spring": ("valves.csv", ",1.165,", ",1.665,", ["solid height", "1I"]),
    "stand shim list": ("setup.toml", "stand_shims = [0.015, 0.030, 0.060]", "stand_shims = 0.015", ["list"]),
    "table that is not there": ("setup.toml", 'valves = "valves.csv"', 'valves = "valve.csv"', ["valve.csv"]),
}


@pytest.mark.parametrize("name", FAULTS)
def test_fault_of_a_sheet_is_named(name, sample, run, edited):
    folder = sample()
    file, old, new, words = FAULTS[name]
    edited(folder / file, (old, new))
    rejected(run("check", folder), *words)


def test_a_lobe_is_refused_once_in_the_sheets_own_units(sample, run, edited):
    folder = sample()
    card = """durations = [
    { checking_lift = 0.006, checked_at = "tappet", duration = 262 },
    { checking_lift = 0.050, checked_at = "tappet", duration = 290 },
]"""
    edited(folder / "setup.toml", ('table = "intake_lobe.csv"', card))
    result = run("check", folder)
    rejected(result, "1 fault", "290 crank degrees at 0.0500 in but 262 at 0.0060 in")
    assert "?." not in result.stderr
    assert ".." not in result.stderr


def test_a_lift_table_is_refused_in_the_sheets_own_units(sample, run, edited):
    folder = sample()
    edited(folder / "intake_lobe.csv", ("\n180,0.2", "\n180,0.3"))
    result = run("check", folder)
    rejected(result, "The lift of 0.3", " in stands out")
    assert " mm" not in result.stderr
    assert ".." not in result.stderr


def test_pushrod_that_cannot_reach(sample, run, edited):
    folder = sample()
    edited(
        folder / "setup.toml",
        ('length = "9.620 +/- 0.005"', "length = 0.81\nsplay = 0.80"),
        ('setback = "0.795 +/- 0.005"', "setback = 0.3"),
    )
    rejected(run("check", folder), "pushrod", "too short", "[pushrod]")


def test_linkage_that_locks_before_full_lift(sample, run, edited):
    folder = sample()
    edited(folder / "setup.toml", ('arm_angle = "172.0 +/- 0.4"', "arm_angle = 90"))
    rejected(run("check", folder), "valve 1I, rocker", "locks before full lift")


def test_pad_arm_that_is_too_short_is_refused_where_only_the_ratio_is_known(sample, run, edited):
    # Without the tappet's line the linkage is not known, and the lift comes from the nominal ratio: 1.5 times
    # 0.260 in less 0.019 in of lash. The pad's center is then far more than half an inch below the shaft.
    folder = sample()
    edited(
        folder / "setup.toml",
        ('setback = "0.795 +/- 0.005"', ""),
        ('pad_arm = "1.200 +/- 0.003"', "pad_arm = 0.5"),
        ("reference_stem_height = 1.900", ""),
    )
    text = (folder / "setup.toml").read_text()
    height = next(line for line in text.splitlines() if line.startswith("height = "))
    edited(folder / "setup.toml", (height, "height = 0.7"))
    rejected(
        run("rocker", folder), "valves 1I", "hangs straight down before full lift", "by the nominal ratio"
    )


def test_every_fault_is_listed_at_once(sample, run, edited):
    folder = sample()
    edited(folder / "setup.toml", ("pad_width = 0.312", "pad_width = nan"), ("stroke = 4.25", "strok = 4.25"))
    result = run("check", folder)
    rejected(result, "2 faults", "pad_width", "strok")


def test_every_fault_of_the_tables_is_listed_at_once(sample, run, edited):
    folder = sample()
    edited(folder / "valves.csv", ("1I,S1,0.000", "1I,S1,x"), ("6E,S12", "8E,S12"))
    edited(folder / "springs.csv", ("S1,1.700,58.6", "S1,1.700,"))
    rejected(run("check", folder), "3 faults", "offset", "8E", "springs.csv line")


def swapped(path, first, second):
    """Swap the headers of two columns, as a mixed-up spreadsheet does."""
    text = path.read_text().replace(first, "\0").replace(second, first).replace("\0", second)
    path.write_text(text)


@pytest.mark.parametrize(
    ("file", "first", "second"),
    [
        ("valves.csv", "offset", "installed_height"),
        ("valves.csv", "stem_height", "lash"),
        ("springs.csv", "height [in]", "load [lbf]"),
        ("intake_lobe.csv", "cam_angle [deg]", "tappet_lift [in]"),
    ],
)
def test_swapped_columns_are_refused(file, first, second, sample, run):
    folder = sample()
    swapped(folder / file, first, second)
    rejected(run("check", folder), file)


def test_heights_and_loads_swapped_without_units_are_refused(sample, run):
    folder = sample()
    rows = ["height,load", "58.6,1.7", "79.7,1.6"]
    (folder / "springs.csv").write_text("\n".join(rows))
    rejected(run("check", folder), "springs.csv line 2, column height")


def test_empty_table(sample, run):
    folder = sample()
    (folder / "valves.csv").write_text("")
    rejected(run("check", folder), "valves.csv", "empty")


def test_table_with_a_header_only(sample, run):
    folder = sample()
    (folder / "valves.csv").write_text("valve,offset\n")
    rejected(run("check", folder), "no rows")


def test_lift_table_that_does_not_close(sample, run):
    folder = sample()
    lines = (folder / "intake_lobe.csv").read_text().splitlines()
    shifted = [
        line if index < 2 or index < 120 else f"{line.split(',')[0]},{float(line.split(',')[1]) + 0.02:.4f}"
        for index, line in enumerate(lines)
    ]
    (folder / "intake_lobe.csv").write_text("\n".join(shifted))
    rejected(run("check", folder), "intake_lobe.csv")


def test_spring_with_one_height(sample, run):
    folder = sample()
    kept = [
        line for line in (folder / "springs.csv").read_text().splitlines() if not line.startswith("S4,1.")
    ]
    (folder / "springs.csv").write_text("\n".join([*kept, "S4,1.600,80.0"]))
    rejected(run("check", folder), "'S4'", "fewer than two heights")


def test_folder_without_a_sheet(tmp_path, run):
    rejected(run("check", tmp_path), "setup.toml")


def test_missing_folder(tmp_path, run):
    rejected(run("check", tmp_path / "nowhere"), "does not exist")


@pytest.mark.parametrize("command", ["check", "rocker", "center", "spring", "events"])
def test_output_file_that_exists_is_kept(command, sample, run):
    folder = sample()
    target = folder / "plot.png"
    target.write_text("mine")
    rejected(run(command, folder, "--plot", target), "exists already", "--force")
    assert target.read_text() == "mine"


def test_output_into_a_folder_that_is_not_there(sample, run):
    folder = sample()
    rejected(run("rocker", folder, "--plot", folder / "none" / "plot.png"), "does not exist")


def test_output_with_an_unknown_ending(sample, run):
    folder = sample()
    rejected(run("rocker", folder, "--plot", folder / "plot.bmp"), ".bmp", ".png")


def test_output_into_a_folder_that_cannot_be_written(sample, run, monkeypatch):
    # Root may write anywhere, so the refusal of the system is played.
    opened = os.open

    def refused(path, flags, *arguments, **options):
        if flags & os.O_CREAT and str(path).startswith(str(folder)):
            raise PermissionError(13, "Permission denied")
        return opened(path, flags, *arguments, **options)

    folder = sample()
    before = sorted(folder.iterdir())
    monkeypatch.setattr(os, "open", refused)
    rejected(run("rocker", folder, "--plot", folder / "plot.png"), "permission denied")
    assert sorted(folder.iterdir()) == before


@pytest.mark.parametrize(
    ("options", "words"),
    [
        (["--checking-lift", "0.020"], ["--at", "both or neither"]),
        (["--at", "valve"], ["both or neither"]),
        (["--checking-lift", "nan", "--at", "valve"], ["finite"]),
        (["--checking-lift", "-0.02", "--at", "valve"], ["outside the range"]),
        (["--checking-lift", "0", "--at", "tappet"], ["no event"]),
        (["--checking-lift", "0.02 lbf", "--at", "tappet"], ["lbf"]),
    ],
)
def test_checking_lift_is_never_assumed(options, words, sample, run):
    rejected(run("events", sample(), *options), *words)


def test_unknown_command_suggests_the_nearest(run):
    result = run("chek", "x")
    assert result.exit_code == 2
    assert "'check'" in result.stderr


def test_card_whose_durations_contradict_each_other(sample, run, edited):
    folder = sample("pump_twin")
    edited(folder / "setup.toml", ("duration = 206", "duration = 280"))
    rejected(run("check", folder), "[lobe.intake]", "shorter at the higher lift")
