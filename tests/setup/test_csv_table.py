"""CSV as spreadsheets write it."""

import pytest

from valvetrain.setup.faults import SheetError
from valvetrain.setup.tables.csv_file import read_table

CELLS = [(2, {"valve": "1I", "offset": "0,5"}), (3, {"valve": "1E", "offset": ""})]


def written(tmp_path, content, encoding="utf-8"):
    path = tmp_path / "table.csv"
    path.write_bytes(content.encode(encoding))
    return read_table(path, "table.csv")


@pytest.mark.parametrize(
    "content",
    [
        "valve;offset\n1I;0,5\n1E;\n",
        "valve\toffset\n1I\t0,5\n1E\t\n",
        'valve,offset\n1I,"0,5"\n1E,\n',
        "valve;offset\r\n1I;0,5\r\n1E;\r\n",
        "valve;offset;;\n1I;0,5;;\n1E;;;\n",
        " valve ; offset\n 1I ; 0,5 \n1E",
    ],
    ids=["semicolon", "tab", "quoted comma", "windows", "empty columns", "spaces and a short row"],
)
def test_separators(tmp_path, content):
    assert list(written(tmp_path, content).rows) == CELLS


def test_byte_order_mark_comments_and_blank_lines_keep_line_numbers(tmp_path):
    table = written(tmp_path, "\ufeff# made up\n\nvalve;offset\n;;\n# more\n1I;0,5\n")
    assert list(table.rows) == [(6, {"valve": "1I", "offset": "0,5"})]


def test_units_in_the_header(tmp_path):
    table = written(tmp_path, "valve,offset [mm],height[in]\n1I,1,2\n")
    assert table.units == {"valve": None, "offset": "mm", "height": "in"}


@pytest.mark.parametrize(
    ("content", "words"),
    [
        ("", "empty"),
        ("\n# only words\n\n", "empty"),
        ("valve,offset\n", "no rows"),
        ("valve,valve\n1,2\n", "twice"),
        ("valve,offset\n1I,0,5\n", "decimal comma"),
    ],
)
def test_refused(tmp_path, content, words):
    with pytest.raises(SheetError, match=words):
        written(tmp_path, content)


def test_not_text(tmp_path):
    with pytest.raises(SheetError, match="UTF-8"):
        written(tmp_path, "valve,höhe\n1,2\n", encoding="latin-1")


def test_utf_16_and_a_line_that_names_the_separator(tmp_path):
    assert list(written(tmp_path, "valve\toffset\n1I\t0,5\n1E\t\n", "utf-16").rows) == CELLS
    table = written(tmp_path, "sep=;\nvalve;a,b\n1I;0,5\n")
    assert list(table.rows) == [(3, {"valve": "1I", "a,b": "0,5"})]


def test_typographic_minus_and_fixed_space(tmp_path):
    assert written(tmp_path, "valve;offset\n1I;\u22120,5\u00a0mm\n").rows[0][1]["offset"] == "-0,5 mm"


def test_a_stray_quote_is_a_fault_and_inch_marks_are_not(tmp_path):
    with pytest.raises(SheetError, match=r"line 2.*quoted cell"):
        written(tmp_path, 'valve,remarks\n1I,"two\nlines"\n1E,\n')
    assert written(tmp_path, 'valve,remarks\n1I,5/16" ball\n').rows[0][1]["remarks"] == '5/16" ball'
