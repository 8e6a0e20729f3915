"""Values written and taken back: whole files, a journal that survives kills, edits made elsewhere kept."""

import json
import os
import signal
import subprocess
import sys
import time

import pytest

from valvetrain.setup.editing.journal import JOURNAL, Journal
from valvetrain.setup.editing.writing import made_again, taken_back, written
from valvetrain.setup.faults import SheetError
from valvetrain.setup.read import read_setup

IN = 0.0254


def files_of(folder):
    return {path.name: path.read_bytes() for path in folder.iterdir() if path.name != JOURNAL}


def test_written_and_taken_back_to_the_letter(sample):
    folder = sample()
    files = files_of(folder)
    setup, record = written(folder, {"3E.installed_height": "1.647"})
    assert record.edits[0].before == "1.603"
    assert setup.trains[5].spring.installed_height.value == pytest.approx(1.647 * IN)
    changed = {name for name, content in files_of(folder).items() if content != files[name]}
    assert changed == {"valves.csv"}
    setup, _ = taken_back(folder)
    assert files_of(folder) == files
    setup, _ = made_again(folder)
    assert setup.trains[5].spring.installed_height.value == pytest.approx(1.647 * IN)


def test_nothing_is_written_where_nothing_changes_or_something_is_wrong(sample):
    folder = sample()
    files = files_of(folder)
    assert written(folder, {"3E.lash": "0.0205"})[1] is None
    for values in (
        {"3E.lash": "0.022", "9E.lash": "0.02"},
        {"3E.installed_height": "1.1"},
        {"spring.installed_height": "1.5"},
    ):
        with pytest.raises(SheetError):
            written(folder, values)
    with pytest.raises(SheetError, match="no change stands"):
        taken_back(folder)
    with pytest.raises(SheetError, match="nothing was taken back"):
        made_again(folder)
    assert files_of(folder) == files
    assert not (folder / JOURNAL).exists()


def test_several_steps_back_and_forth(sample):
    folder = sample()
    states = [files_of(folder)]
    for values in (
        {"3E.lash": "0.022"},
        {"shaft.stand_shim": "0.015", "1I.lash": None},
        {"2I.rocker.pad_arm": "1.21"},
        {"thermal.exhaust.seat_to_tip": "4.6"},
    ):
        written(folder, values)
        states.append(files_of(folder))
    for state in states[-2::-1]:
        taken_back(folder)
        assert files_of(folder) == state
    for state in states[1:]:
        made_again(folder)
        assert files_of(folder) == state
    taken_back(folder)
    written(folder, {"3E.lash": "0.023"})
    with pytest.raises(SheetError, match="nothing was taken back"):
        made_again(folder)


def test_an_edit_made_elsewhere_stays(sample, edited):
    folder = sample()
    written(folder, {"3E.installed_height": "1.647"})
    edited(folder / "valves.csv", ("0.0210,0.2598,0.205", "0.0225,0.2598,0.205"), ("3E,S6", "# mine\n3E,S6"))
    taken_back(folder)
    text = (folder / "valves.csv").read_text()
    assert "0.0225" in text
    assert "# mine\n3E,S6,-0.007,0.0041,1.900,1.603" in text
    # in the same line: value by value
    written(folder, {"3E.installed_height": "1.647"})
    edited(folder / "valves.csv", ("1.647,1.164,0.0205", "1.647,1.164,0.0230"))
    taken_back(folder)
    assert "1.603,1.164,0.0230" in (folder / "valves.csv").read_text()
    # the same value: refused
    written(folder, {"3E.installed_height": "1.647"})
    edited(folder / "valves.csv", ("1.647,1.164", "1.650,1.164"))
    files = files_of(folder)
    with pytest.raises(SheetError, match=r"is 1.650 now, not 1.647"):
        taken_back(folder)
    assert files_of(folder) == files


def test_a_table_made_for_a_value_goes_with_it(sample):
    folder = sample()
    sheet = folder / "setup.toml"
    text = sheet.read_text().replace('valves = "valves.csv"\n', "").replace('tests = "springs.csv"\n', "")
    sheet.write_text(text)
    (folder / "valves.csv").unlink()
    files = files_of(folder)
    written(folder, {"3E.lash": "0.022"})
    assert read_setup(folder).trains[5].lash.lash.value == pytest.approx(0.022 * IN)
    taken_back(folder)
    assert files_of(folder) == files


def test_nothing_outside_the_folder_is_written(sample, edited):
    folder = sample()
    (folder / "valves.csv").rename(folder.parent / "elsewhere.csv")
    edited(folder / "setup.toml", ('"valves.csv"', '"../elsewhere.csv"'))
    read_setup(folder)
    before = (folder.parent / "elsewhere.csv").read_bytes()
    with pytest.raises(SheetError, match="outside the sheet's folder: it is not written"):
        written(folder, {"3E.lash": "0.022"})
    assert (folder.parent / "elsewhere.csv").read_bytes() == before
    assert not (folder / JOURNAL).exists()


def test_what_a_spreadsheet_would_work_out_is_written_as_text(sample):
    folder = sample()
    written(folder, {"3E.remarks": "=1+1", "3I.offset": "-0.004"})
    text = (folder / "valves.csv").read_text()
    assert ",'=1+1" in text
    assert ",-0.004," in text


def test_journal_of_another_sheet_is_refused(sample):
    six, twin = sample(), sample("pump_twin")
    written(six, {"3E.lash": "0.022"})
    (twin / JOURNAL).write_bytes((six / JOURNAL).read_bytes())
    files = files_of(twin)
    for change in (lambda: written(twin, {"1I.offset": "0,02"}), lambda: taken_back(twin)):
        with pytest.raises(SheetError, match="is the journal of 'Plain six"):
            change()
    (twin / JOURNAL).write_text("shopping list\n")
    with pytest.raises(SheetError, match="is not a journal"):
        written(twin, {"1I.offset": "0,02"})
    assert files_of(twin) == files


def test_a_cut_off_line_of_the_journal_counts_for_nothing(sample):
    folder = sample()
    written(folder, {"3E.lash": "0.022"})
    whole = (folder / JOURNAL).read_bytes()
    (folder / JOURNAL).write_bytes(whole + b'{"number": 2, "wh')
    written(folder, {"3E.lash": "0.023"})
    numbers = [json.loads(line).get("number") for line in (folder / JOURNAL).read_text().splitlines()]
    assert numbers == [None, 1, 2]


def test_a_change_cut_off_between_two_files_is_finished_and_one_before_both_forgotten(sample):
    folder = sample()
    old = files_of(folder)
    written(folder, {"3E.lash": "0.022", "shaft.stand_shim": "0.015"})
    new = files_of(folder)
    (folder / "setup.toml").write_bytes(old["setup.toml"])
    taken_back(folder)  # finishes it first
    assert files_of(folder) == old
    made_again(folder)
    assert files_of(folder) == new
    written(folder, {"1E.lash": "0.022", "shaft.stand_shim": "0.03"})
    for name in ("setup.toml", "valves.csv"):
        (folder / name).write_bytes(new[name])
    taken_back(folder)  # forgets that one, takes the one before it back
    assert files_of(folder) == old


def test_the_journal_kept_open_is_the_one_read_anew(sample):
    folder = sample()
    kept = Journal(folder)
    written(folder, {"3E.lash": "0.022"}, kept)
    written(folder, {"3E.lash": "0.023"})
    taken_back(folder)
    written(folder, {"3E.lash": "0.024"}, kept)
    fresh = Journal(folder)
    fresh.refresh(read_setup(folder).title)
    assert (kept.done, kept.undone, kept.count) == (fresh.done, fresh.undone, fresh.count)
    assert [each.number for each in kept.latest(2)] == [4, 3]


WRITER = """
import sys
from valvetrain.setup.editing.writing import written
for number in range(200):
    lash, shim = f"{0.0200 + number * 1e-5:.5f}", f"{number * 1e-4:.4f}"
    written(sys.argv[1], {"3E.lash": lash, "shaft.stand_shim": shim})
    print(number, flush=True)
"""


@pytest.mark.parametrize("after", [0, 1, 2, 4])
def test_killed_while_writing(sample, after):
    folder = sample()
    start = files_of(folder)
    program = subprocess.Popen(
        [sys.executable, "-c", WRITER, str(folder)], stdout=subprocess.PIPE, text=True, env=os.environ.copy()
    )
    for _ in range(after):
        program.stdout.readline()
    time.sleep(0.03 * after)
    program.send_signal(signal.SIGKILL)
    told = after + len(program.stdout.read().split())
    program.stdout.close()
    program.wait()
    read_setup(folder)  # both files are whole
    _, record = written(folder, {"6E.lash": "0.0222"})  # and the journal goes on
    assert record.number >= told + 1
    setup = read_setup(folder)
    lash = setup.trains[5].lash.lash.value / IN
    shim = setup.trains[5].shaft.stand_shim.value / IN
    if told:
        assert lash == pytest.approx(0.02 + shim / 10, abs=1e-9)  # the two files are of one change
        assert shim >= (told - 1) * 1e-4 - 1e-12  # every answered one is there
    journal = Journal(folder)
    journal.refresh(setup.title)
    for _ in tuple(journal.done):
        taken_back(folder)
    left = files_of(folder)
    assert {name: left[name] for name in start} == start
