"""Reading a record, its faults by name, and adding to it without losing a line."""

import threading
from pathlib import Path

import numpy as np
import pytest

from valvetrain.setup.faults import SheetError
from valvetrain.setup.tables.log_file import LogRefusedError, appended
from valvetrain.setup.tables.wear_log import read_wear_log

VALVES = ("1I", "1E")
HEADER = "engine,date,hours,valve,lash_found,lash_left,state,lobe_lift,turned,remarks\n"
GOOD = (
    "a,2024-01-05,100,1I,0.019,,cold,0.2600,yes,\n"
    "a,2024-01-05,100,1E,0.021,0.020,cold,0.2601,no,dry\n"
    "a,2025-01-05,150,1I,0.020,,cold,0.2598,yes,\n"
)


def read(tmp_path: Path, text: str, **options):
    path = tmp_path / "log.csv"
    path.write_text(text)
    return read_wear_log(path, "log.csv", VALVES, system="inch", instruments={}, **options)


def test_columns_in_si(tmp_path):
    log = read(tmp_path, HEADER + GOOD)
    assert log.axis == "hours"
    np.testing.assert_allclose(log.time, np.array([100, 100, 150]) * 3600)
    np.testing.assert_allclose(log.lash_found, np.array([0.019, 0.021, 0.020]) * 0.0254)
    np.testing.assert_allclose(log.lash_left, [np.nan, 0.020 * 0.0254, np.nan])
    np.testing.assert_array_equal(log.turned, [1, 0, 1])
    np.testing.assert_array_equal(log.valve, [0, 1, 0])
    assert log.remarks == ("", "dry", "")
    assert log.lash_step == pytest.approx(0.001 * 0.0254)


def test_dates_on_request_and_units_of_a_header_or_a_cell(tmp_path):
    text = "date;valve;lash_found [mm];state\n2024-01-05;1I;0,48;cold\n2024-01-15;1I;0.02 in;cold\n"
    log = read(tmp_path, text, by="date")
    np.testing.assert_allclose(log.time, [0, 10 * 86400])
    np.testing.assert_allclose(log.lash_found, [0.48e-3, 0.02 * 0.0254])


FAULTS = {
    "out of order": (
        GOOD.replace("2025-01-05,150", "2023-01-05,150"),
        ["line 4, column date", "out of order"],
    ),
    "meter runs back": (GOOD.replace("150", "90"), ["line 4, column hours", "out of order"]),
    "duplicated": (GOOD + "a,2025-01-05,150,1I,0.020,,cold,,,\n", ["line 5", "1I stands twice", "line 4"]),
    "another engine's name": (GOOD.replace("a,2025", "b,2025"), ["line 4, column engine", "'b'", "'a'"]),
    "another engine's valve": (GOOD.replace("150,1I", "150,9I"), ["'9I' is not a valve", "1I, 1E"]),
    "negative lash": (GOOD.replace("0.021", "-0.021"), ["line 3, column lash_found", "range"]),
    "lash that cannot be": (GOOD.replace("0.021", "0.21"), ["line 3, column lash_found", "0.21 in", "range"]),
    "word for a lash": (GOOD.replace("0.021", "loose"), ["line 3, column lash_found", "loose"]),
    "NaN lash": (GOOD.replace("0.021", "nan"), ["line 3, column lash_found", "finite"]),
    "lift read at the valve": (GOOD.replace("0.2598", "0.3900"), ["line 4, column lobe_lift", "as made"]),
    "bad date": (GOOD.replace("2025-01-05", "5.1.2025"), ["line 4, column date", "year-month-day"]),
    "bad state": (GOOD.replace("0.020,,cold", "0.020,,warm"), ["line 4, column state", "cold or hot"]),
    "no state": (GOOD.replace("0.020,,cold", "0.020,,"), ["line 4, column state", "state"]),
    "bad turned": (GOOD.replace("no,dry", "maybe,dry"), ["line 3, column turned", "yes or no"]),
    "ragged": (GOOD.replace("dry", "dry,wet"), ["line 3", "cells"]),
}


@pytest.mark.parametrize(("rows", "words"), FAULTS.values(), ids=FAULTS.keys())
def test_faults_are_named(tmp_path, rows, words):
    with pytest.raises(SheetError) as caught:
        read(tmp_path, HEADER + rows, lobe_lifts=np.full(2, 0.26 * 0.0254))
    message = "\n".join(map(str, caught.value.faults))
    for word in words:
        assert word in message
    assert len(caught.value.faults) == 1


@pytest.mark.parametrize(("text", "word"), [
    ("valve,lash_found\n1I,0.02\n", "hours, distance or date"),
    ("date,valve,lsah_found\n2024-01-01,1I,0.02\n", "'lash_found'"),
    ("date,lash_found\n2024-01-01,0.02\n", "column 'valve' is missing"),
    ("date,valve,lash_found\n", "no rows"),
    ("date,valve,lobe_lift\n2024-01-01,1I,0.26\n,1E,0.26\n", "the cell is empty"),
])  # fmt: skip
def test_headers_and_time(tmp_path, text, word):
    with pytest.raises(SheetError, match=word):
        read(tmp_path, text)


def test_many_faults_of_a_kind_are_counted_and_not_listed(tmp_path):
    rows = "".join(f"a,2024-01-05,{100 + n},1I,0.9,,cold,,,\n" for n in range(40))
    with pytest.raises(SheetError) as caught:
        read(tmp_path, HEADER + rows)
    assert len(caught.value.faults) == 13
    assert "28 more rows" in str(caught.value.faults[-1])


def checked(path: Path) -> int:
    return len(read_wear_log(path, "log.csv", VALVES, system="inch", instruments={}).valve)


def add(path, system="inch", new=False, check=checked, **row):
    return appended(path, [row], system=system, new=new, check=check)


def test_old_bytes_stay_as_they_were(tmp_path):
    path = tmp_path / "log.csv"
    old = b"\xef\xbb\xbf# kept by hand\r\n"
    old += b"hours;valve;lash_found [mm];state;remarks\r\n\r\n10;1I;0,48;cold;\xc3\xa4"
    path.write_bytes(old)
    path.chmod(0o640)
    assert add(path, hours="20", valve="1E", lash_found="0.021", state="cold", remarks="a;b") == 2
    text = path.read_bytes()
    assert text.startswith(old)
    assert text[len(old) :] == b'\r\n20;1E;0.021 in;cold;"a;b"\r\n'
    assert path.stat().st_mode & 0o777 == 0o640
    log = read_wear_log(path, "log.csv", VALVES, system="metric", instruments={})
    assert log.lash_found[1] == pytest.approx(0.021 * 0.0254)


def test_refused_rows_leave_the_file_and_the_folder_alone(tmp_path):
    path = tmp_path / "log.csv"
    path.write_text(HEADER + GOOD)
    before = path.read_bytes()
    with pytest.raises(SheetError, match="out of order"):
        add(path, hours="90", valve="1I", lash_found="0.02", state="cold")
    with pytest.raises(LogRefusedError, match="line break"):
        add(path, hours="190", valve="1I", lash_found="0.02", state="cold", remarks="one\ntwo")
    with pytest.raises(LogRefusedError, match="no column 'distance'"):
        add(path, hours="190", valve="1I", distance="5")
    with pytest.raises(LogRefusedError, match="exists already"):
        add(path, new=True, hours="190", valve="1I")
    with pytest.raises(LogRefusedError, match="does not exist"):
        add(tmp_path / "lgo.csv", hours="190", valve="1I")
    assert path.read_bytes() == before
    assert [each.name for each in tmp_path.iterdir()] == ["log.csv"]


def test_a_crash_before_the_end_leaves_the_old_record(tmp_path):
    path = tmp_path / "log.csv"
    path.write_text(HEADER + GOOD)
    before = path.read_bytes()

    def dies(beside):
        assert beside.read_bytes().startswith(before)
        raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        add(path, check=dies, hours="190", valve="1I", lash_found="0.02", state="cold")
    assert path.read_bytes() == before
    assert [each.name for each in tmp_path.iterdir()] == ["log.csv"]


def test_two_at_once_lose_no_line(tmp_path):
    path = tmp_path / "log.csv"
    add(path, new=True, hours="1", valve="1I", lash_found="0.02", state="cold")
    count = 12
    threads = [
        threading.Thread(
            target=add,
            args=(path,),
            kwargs={
                "check": lambda beside: len(beside.read_text().splitlines()) - 1,
                "hours": str(n + 2), "valve": "1I", "lash_found": "0.02", "state": "cold",
            },
        )
        for n in range(count)
    ]  # fmt: skip
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    lines = path.read_text().splitlines()
    assert {line.split(",")[0] for line in lines[1:]} == {str(n + 1) for n in range(count + 1)}


def test_a_link_is_followed(tmp_path):
    real = tmp_path / "record.csv"
    real.write_text(HEADER + GOOD)
    link = tmp_path / "link.csv"
    link.symlink_to(real)
    add(link, hours="190", valve="1I", lash_found="0.02", state="cold")
    assert link.is_symlink()
    assert len(real.read_text().splitlines()) == 5


def faults(tmp_path: Path, text: str, **options) -> list[str]:
    with pytest.raises(SheetError) as refused:
        read(tmp_path, text, **options)
    return [str(fault) for fault in refused.value.faults]


def test_of_many_rows_only_those_out_of_place_are_named_and_each_once(tmp_path):
    hours = [10, 10, 400, 20, 20, 30, 30, 15, 40, 40]
    rows = "".join(f"{2000 + hour // 5}-01-01,{hour},{VALVES[n % 2]}\n" for n, hour in enumerate(hours))
    found = faults(tmp_path, "date,hours,valve\n" + rows)
    assert len(found) == 2
    assert "line 4, column hours: '400' is later than '20' below it, on line 5" in found[0]
    assert "line 9, column hours: '15' is earlier than '30' above it, on line 8" in found[1]


@pytest.mark.parametrize("seed", range(3))
def test_rows_named_as_out_of_place_are_the_fewest_that_mend_the_order(tmp_path, seed):
    random = np.random.default_rng(seed)
    hours = np.sort(random.integers(0, 40, 60)) * 10
    moved = random.choice(60, 5, replace=False)
    hours[moved] = random.integers(0, 40, 5) * 10
    text = "hours,valve\n" + "".join(f"{hour},1I\n" for hour in hours)
    found = [each for each in faults(tmp_path, text) if "out of order" in each]
    lines = [int(each.split("line ")[1].split(",")[0]) - 2 for each in found]
    assert len(lines) <= 5
    assert np.all(np.diff(np.delete(hours, lines)) >= 0)


def test_a_cell_that_cannot_be_read_is_named_once_and_a_lift_with_both_its_figures(tmp_path):
    text = "hours,valve,lobe_lift\nforty,1I,0.39\n"
    found = faults(tmp_path, text, lobe_lifts=np.array([0.0066, 0.0066]))
    assert len(found) == 2
    assert "forty" in found[0]
    assert "0.3900 in is more than the lobe has as made, 0.2598 in" in found[1]
