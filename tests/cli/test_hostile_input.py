"""Odd, huge and hostile input: one clear refusal each, and soon."""

import os
import time
import tracemalloc

import pytest

from tests.cli.test_bad_input import rejected

PAD_WIDTH = "pad_width = 0.312"


@pytest.fixture
def with_value(sample, edited, run):
    """Ask a sheet whose pad width is written so."""

    def asked(written):
        folder = sample()
        edited(folder / "setup.toml", (PAD_WIDTH, f"pad_width = {written}"))
        begun = time.monotonic()
        result = run("rocker", folder)
        assert time.monotonic() - begun < 10.0
        assert len(result.stderr.splitlines()) == 2, result.stderr
        assert max(map(len, result.stderr.splitlines())) < 1000
        return result

    return asked


UNITS = [
    "m**9**9**9",
    "in*(9**9**9**9)",
    "m/0",
    "(m",
    "*".join(["in"] * 3000),
    "m'",
    "in #",
    "in**2/in",
    "in in",
    "__class__",
    "m.real",
    "in;in",
]


@pytest.mark.parametrize("unit", UNITS, ids=lambda unit: unit[:15])
def test_a_unit_is_written_by_its_grammar(unit, with_value):
    rejected(with_value(f'"0.312 {unit}"'), "[rocker] pad_width", "unit", unit[:4])


@pytest.mark.parametrize("unit", [*UNITS, "in\x00", "in\x1b[31m"], ids=lambda unit: unit[:15])
def test_a_unit_of_a_header_is_written_by_its_grammar(unit, sample, run, edited):
    folder = sample()
    edited(folder / "intake_lobe.csv", ("tappet_lift [in]", f"tappet_lift [{unit}]"))
    result = run("rocker", folder)
    rejected(result, "intake_lobe.csv")
    assert "\x1b" not in result.stderr
    assert "\x00" not in result.stderr


@pytest.mark.parametrize(
    ("written", "words"),
    [
        ("1" * 400, ["about 400 digits", "finite"]),
        ("1" * 5000, ["too long"]),
        ("0x" + "f" * 5000, ["digits", "finite"]),
        (f'"{"1" * 400}/{"3" * 400}"', ["value"]),
        ('"1/0"', ["unit"]),
        ("[" * 50 + "1" + "]" * 50, ["too deep"]),
        ('"1e-297 mm"', ["nearer to zero"]),
        ("[" * 5000 + "1" + "]" * 5000, ["too deep"]),
        (r'"0.312\u0000 in"', ["line break or another sign"]),
        (r'"0.312\u001b[31m in"', ["line break or another sign"]),
        ('"0.312 +/- 0.4"', ["thousandths"]),
        ('"1.200 +/- 3"', ["thousandths"]),
        ('"1.200 in +/- 250 %"', ["thousandths"]),
        ('"1.2 +/- 1e999"', ["uncertainty"]),
    ],
    ids=lambda value: str(value)[:20],
)
def test_numbers_that_are_none(written, words, with_value):
    rejected(with_value(written), *words)


def test_an_uncertainty_wider_than_all_that_is_allowed(sample, run, edited):
    folder = sample()
    edited(folder / "valves.csv", ("1I,S1,0.000", "1I,S1,0.000 +/- 500"))
    rejected(run("center", folder), "line 3", "thousandths")


@pytest.mark.parametrize(
    "name", ["a\\u0000b.csv", "a\\nb.csv", "\\u001b[31m.csv", "x" * 300 + ".csv", "x" * 5000, ""]
)
def test_names_of_tables_that_are_none(name, sample, run, edited):
    folder = sample()
    edited(folder / "setup.toml", ('valves = "valves.csv"', f'valves = "{name}"'))
    result = run("rocker", folder)
    rejected(result, "setup.toml")
    assert len(result.stderr.splitlines()) == 2
    assert "\x1b" not in result.stderr


@pytest.mark.parametrize(
    ("place", "words"),
    [
        ("/dev/zero", "a device"),
        (".", "a folder"),
        ("fifo.csv", "a pipe"),
        ("/proc/self/mem", "cannot be read"),
    ],
)
def test_a_table_is_a_regular_file(place, words, sample, run, edited):
    folder = sample()
    os.mkfifo(folder / "fifo.csv")
    edited(folder / "setup.toml", ('valves = "valves.csv"', f'valves = "{place}"'))
    rejected(run("rocker", folder), words)


def test_a_sheet_is_a_regular_file(sample, run):
    folder = sample()
    (folder / "setup.toml").unlink()
    os.mkfifo(folder / "setup.toml")
    rejected(run("rocker", folder), "setup.toml", "a pipe")


def test_no_line_of_a_file_outside_the_sheets_folder_is_shown(sample, run, edited, tmp_path):
    folder = sample()
    (tmp_path / "secret.txt").write_text("valve,token-4711\n1I,password-0815\n")
    for name in ("../secret.txt", str(tmp_path / "secret.txt"), "link.csv"):
        (folder / "link.csv").unlink(missing_ok=True)
        (folder / "link.csv").symlink_to(tmp_path / "secret.txt")
        text = (folder / "setup.toml").read_text()
        (folder / "setup.toml").write_text(text.replace('valves = "valves.csv"', f'valves = "{name}"'))
        result = run("rocker", folder)
        rejected(result, "outside the sheet's folder")
        assert "4711" not in result.stderr
        assert "0815" not in result.stderr
        (folder / "setup.toml").write_text(text)


def test_a_table_outside_is_read_and_told(sample, run, edited, tmp_path):
    folder = sample()
    (folder / "valves.csv").rename(tmp_path / "valves.csv")
    edited(folder / "setup.toml", ('valves = "valves.csv"', 'valves = "../valves.csv"'))
    result = run("rocker", folder)
    assert result.exit_code in (0, 1)
    assert f"reads {tmp_path / 'valves.csv'}, which lies outside" in result.stderr


@pytest.mark.parametrize("title", [r"a\nb", r"\u001b[2Jgone", r"a\u2028b", r"a\u009b31m"])
@pytest.mark.parametrize("command", [("rocker",), ("lobe", "--role", "intake", "-o", "out.csv")])
def test_orders_to_a_terminal_in_a_title(title, command, sample, run, edited, tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    folder = sample()
    text = (folder / "setup.toml").read_text().splitlines()
    lines = [f'title = "{title}"' if line.startswith("title") else line for line in text]
    (folder / "setup.toml").write_text("\n".join(lines))
    result = run(command[0], folder, *command[1:])
    rejected(result, "[sheet] title", "one line")
    assert not set(result.stderr) & set("\x1b\x9b\u2028")
    assert not (tmp_path / "out.csv").exists()


def test_a_title_of_a_new_sheet_is_one_line(run, tmp_path):
    for title in ("a\nb = 3", "a\x1b[31m", "a\u2028b"):
        rejected(
            run("new", tmp_path / "new", "--cylinders", 4, "--units", "inch", "--title", title), "--title"
        )
    assert list(tmp_path.iterdir()) == []


@pytest.mark.parametrize("name", ["a\x00b", "a\nb", "a\x1bb", "x" * 300, "x/" * 3000])
@pytest.mark.parametrize("place", ["sheet", "plot"])
def test_paths_that_are_none(name, place, sample, run):
    folder = sample()
    result = run("rocker", name) if place == "sheet" else run("rocker", folder, "--plot", f"{name}.png")
    assert result.exit_code == 2
    assert "\x1b" not in result.stderr
    assert "Traceback" not in result.stderr
    assert len(result.stderr) < 1500


def bounded(run, *arguments):
    """Run within 10 s and 500 MB of what this process takes up."""
    tracemalloc.start()
    begun = time.monotonic()
    result = run(*arguments)
    took, (_, most) = time.monotonic() - begun, tracemalloc.get_traced_memory()
    tracemalloc.stop()
    assert most < 500e6
    return result, took


def test_a_hundred_thousand_bad_rows(sample, run):
    folder = sample()
    head = (folder / "valves.csv").read_text().splitlines()[1]
    (folder / "valves.csv").write_text("\n".join([head, *(f"X{row},S1,bad" for row in range(100_000))]))
    begun = time.monotonic()
    result = run("rocker", folder)
    assert time.monotonic() - begun < 10.0
    rejected(result, "100000 faults", "and 99980 more")
    assert len(result.stderr.splitlines()) == 22


@pytest.mark.parametrize("content", [b"1I,0.1\n" * 15_000_000, b"\n" * 5_000_000, b"a" * 15_000_000])
def test_a_huge_table(content, sample, run):
    folder = sample()
    (folder / "valves.csv").write_bytes(b"valve,offset\n" + content)
    result, took = bounded(run, "rocker", folder)
    assert took < 10.0
    rejected(result, "valves.csv", "more than the", "Is it the right file?")


def test_a_sheet_of_twenty_thousand_keys(sample, run):
    folder = sample()
    text = (folder / "setup.toml").read_text()
    keys = "\n".join(f"strange_key_{number} = {number}" for number in range(20_000))
    (folder / "setup.toml").write_text(f"{text}\n[strange]\n{keys}\n")
    (folder / "setup.toml").write_text(text.replace("[shaft]", f"{keys}\n[shaft]", 1))
    begun = time.monotonic()
    result = run("rocker", folder)
    assert time.monotonic() - begun < 10.0
    rejected(result, "more: mend these first")
    assert len(result.stderr.splitlines()) == 22


def test_sections_within_sections_without_end(sample, run):
    folder = sample()
    with (folder / "setup.toml").open("a") as file:
        file.write("\n[" + ".".join(["a"] * 3000) + "]\nb = 1\n")
    rejected(run("rocker", folder), "too deep")


@pytest.mark.parametrize("cell", ["A1048576", "XFD20"])
def test_a_stray_cell_at_the_end_of_a_worksheet(cell, sample, run, edited):
    import openpyxl

    folder = sample()
    book = openpyxl.Workbook()
    for line in (folder / "valves.csv").read_text().splitlines():
        if not line.startswith("#"):
            book.active.append(line.split(","))
    book.active[cell] = "x"
    book.save(folder / "valves.xlsx")
    edited(folder / "setup.toml", ('valves = "valves.csv"', 'valves = "valves.xlsx"'))
    result, took = bounded(run, "rocker", folder)
    assert took < 10.0
    rejected(result, f"valves.xlsx cell {cell}", "stands alone")


@pytest.mark.parametrize("cell", ["A1048576", "XFD20"])
def test_a_cell_that_is_only_formatted_is_no_cell(cell, sample, run, edited):
    import openpyxl

    folder = sample()
    plain = run("rocker", folder, "--json").stdout
    book = openpyxl.Workbook()
    for line in (folder / "valves.csv").read_text().splitlines():
        if not line.startswith("#"):
            book.active.append(line.split(","))
    book.active[cell].font = openpyxl.styles.Font(bold=True)
    book.save(folder / "valves.xlsx")
    edited(folder / "setup.toml", ('valves = "valves.csv"', 'valves = "valves.xlsx"'))
    result, took = bounded(run, "rocker", folder, "--json")
    assert took < 10.0
    assert result.exit_code in (0, 1), result.stderr
    assert result.stdout == plain


def test_thousands_of_speeds(sample, run):
    rejected(run("wear", sample(), "--rpm", ",".join(["3000"] * 5000)), "5000 speeds", "at most 40")


def test_a_record_in_utf16_is_named_as_such(sample, run):
    folder = sample()
    record = folder / "record.csv"
    content = "hours,valve,lash_found,state\n1,1I,0.019,cold\n".encode("utf-16")
    record.write_bytes(content)
    rejected(run("log", folder, "--log", record, "--valve", "1E", "--hours", "2"), "UTF-16")
    assert record.read_bytes() == content


@pytest.mark.parametrize("remark", ["=cmd()", "+cmd", "-cmd", "@cmd", "-1", "-0.5 mm"])
def test_a_cell_is_no_formula_to_a_spreadsheet_and_is_read_again_as_it_was(remark, sample, run, document):
    import csv

    folder = sample()
    record = folder / "record.csv"
    row = ("--hours", "1", "--lash-found", "0.019", "--state", "cold", "--remarks", remark)
    assert run("log", folder, "--log", record, "--new", "--valve", "1I", *row).exit_code == 0
    (written,) = csv.DictReader(record.read_text().splitlines())
    assert written["remarks"] == (f"'{remark}" if "cmd" in remark else remark)
    from valvetrain.setup.tables.wear_log import read_wear_log

    valves = tuple(f"{cylinder}{role}" for cylinder in range(1, 7) for role in "IE")
    assert read_wear_log(record, "record.csv", valves, system="inch", instruments={}).remarks == (remark,)


def test_a_lobe_lift_of_nothing_beside_a_table(sample, run, edited):
    folder = sample()
    text = (folder / "valves.csv").read_text()
    (folder / "valves.csv").write_text(text.replace(",0.2596,", ",0.0,", 1))
    rejected(run("rocker", folder), "is not the lobe lift found at 1I, 0.0000 in")


@pytest.mark.parametrize("key", ['setback = "35.90 +/- 0.08"', 'pad_arm = "36.00 +/- 0.08"'])
@pytest.mark.parametrize("command", ["center", "check", "rocker"])
def test_a_huge_doubt_is_carried_as_far_as_can_be(key, command, sample, document, edited):
    folder = sample("pump_twin")
    edited(folder / "setup.toml", (key, key.replace("0.08", "21.5")))
    answer = document(command, folder)
    verdicts = {
        check["id"]: check["verdict"] for check in answer["checks"] if check["id"].startswith("contact")
    }
    assert verdicts
    assert set(verdicts.values()) <= {"unsure", "unmeasured"}


@pytest.mark.parametrize("depth", ["0.0", '"0.001 in"', '"0.04 in"'])
def test_a_rocker_too_thin_to_be_drawn(depth, sample, run, edited):
    folder = sample()
    edited(folder / "setup.toml", ("rocker_depth = 0.14", f"rocker_depth = {depth}"))
    for command in ("interference", "check"):
        rejected(run(command, folder), "[shapes] rocker_depth, valves 1I", "too thin", "rocker_outline")


def test_what_a_study_refuses_ends_a_report_as_it_ends_a_question(sample, run, edited, tmp_path):
    folder = sample()
    edited(folder / "setup.toml", ("rocker_depth = 0.14", "rocker_depth = 0.01"))
    for line in (("report", "-o", tmp_path / "page.html"), ("next",), ("explain", "rocker_to_retainer")):
        result = run(line[0], folder, *line[1:])
        assert result.exit_code == 2, line
        assert "too thin" in result.stderr
