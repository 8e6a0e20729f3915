"""Spreadsheet files are read by the rules of CSV; what only their program knows is refused, not guessed."""

import datetime
import sys

import openpyxl
import pytest

from valvetrain.setup.faults import SheetError
from valvetrain.setup.tables.csv_file import read_table


def saved(tmp_path, *rows, more=(), formats=()):
    """Write rows into a workbook, further worksheets beside them."""
    book = openpyxl.Workbook()
    book.active.title = "valves"
    for row in rows:
        book.active.append(row)
    for place, form in formats:
        book.active[place].number_format = form
    for title, cells in more:
        sheet = book.create_sheet(title)
        for row in cells:
            sheet.append(row)
    path = tmp_path / "valves.xlsx"
    book.save(path)
    return path


def test_cells_are_those_of_the_csv_file(tmp_path):
    path = saved(
        tmp_path,
        ["# measured in May"],
        [],
        ["valve", "offset [mm]", "lash", "remarks"],
        ["1I", 0.125, 0.1 + 0.2, 'a 5/16" ball; quoted "so"'],
        ["1E", None, "0,30", "two\nlines"],
    )
    table = read_table(path, "valves.xlsx", required=("valve",))
    assert table.units == {"valve": None, "offset": "mm", "lash": None, "remarks": None}
    assert table.rows == (
        (4, {"valve": "1I", "offset": "0.125", "lash": "0.3", "remarks": 'a 5/16" ball; quoted "so"'}),
        (5, {"valve": "1E", "offset": "", "lash": "0,30", "remarks": "two lines"}),
    )


def test_dates_yes_and_percent(tmp_path):
    path = saved(
        tmp_path,
        ["date", "turned", "share"],
        [datetime.date(2024, 3, 1), True, 0.07],
        formats=[("C2", "0%")],
    )
    assert read_table(path, "t").rows[0][1] == {"date": "2024-03-01", "turned": "yes", "share": "7 %"}


def test_worksheet_by_name(tmp_path):
    path = saved(tmp_path, ["valve"], ["1I"], more=[("springs", [["spring"], ["S1"]])])
    named = path.with_name("valves.xlsx#springs")
    assert read_table(named, "valves.xlsx#springs").rows[0][1] == {"spring": "S1"}


@pytest.mark.parametrize(
    ("rows", "kwargs", "name", "words"),
    [
        ([["valve"], ["1I"]], {"more": [("old", [["valve"]])]}, "valves.xlsx", ["2 worksheets", "#valves"]),
        ([["valve"], ["1I"]], {}, "valves.xlsx#lash", ["no worksheet 'lash'", "valves"]),
        ([["valve", "lash"], ["1I", "=0.01+0.002"]], {}, "valves.xlsx", ["cell B2", "formula"]),
        ([["valve", "lash"], ["1I", "#DIV/0!"]], {}, "valves.xlsx", ["cell B2", "#DIV/0!"]),
        (
            [["valve", "lash"], ["1I", 0.3]],
            {"formats": [("B2", '0.00" mm"')]},
            "valves.xlsx",
            ["cell B2", "'mm'", "header"],
        ),
        ([], {}, "valves.xlsx", ["empty"]),
        ([["valve", "valve"]], {}, "valves.xlsx", ["twice"]),
    ],
    ids=["two worksheets", "unknown worksheet", "formula", "error", "unit by format", "empty", "doubled"],
)
def test_refused(tmp_path, rows, kwargs, name, words):
    path = saved(tmp_path, *rows, **kwargs).with_name(name)
    with pytest.raises(SheetError) as error:
        read_table(path, name)
    for word in words:
        assert word in str(error.value)


@pytest.mark.parametrize(
    ("content", "words"), [(b"valve\n1I\n", "not a spreadsheet"), (None, "cannot be read")]
)
def test_no_workbook(tmp_path, content, words):
    path = tmp_path / "valves.xlsx"
    if content is not None:
        path.write_bytes(content)
    with pytest.raises(SheetError, match=words):
        read_table(path, "valves.xlsx")


def test_without_openpyxl(tmp_path, monkeypatch):
    path = saved(tmp_path, ["valve"], ["1I"])
    monkeypatch.setitem(sys.modules, "openpyxl", None)
    with pytest.raises(SheetError, match=r"valvetrain\[xlsx\]"):
        read_table(path, "valves.xlsx")
