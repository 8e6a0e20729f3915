"""One value put into a text: read back it is there, and nothing else has changed."""

import csv
import io
import tomllib

import pytest
from hypothesis import given
from hypothesis import strategies as st

from valvetrain.setup.editing.cell_text import cell_in, with_cell
from valvetrain.setup.editing.hunks import hunks, turned
from valvetrain.setup.editing.toml_text import value_in, with_value
from valvetrain.setup.starter import Described, starter_files
from valvetrain.setup.tables.csv_file import plain_cell, unguarded

words = st.text(st.characters(codec="utf-8", exclude_categories=["C", "Zl", "Zp"]), max_size=12).map(
    str.strip
)


@pytest.mark.parametrize(
    ("written", "value"),
    [
        ("1.650", 1.65),
        ("1,650", 1.65),
        (".5", 0.5),
        ("5.", 5.0),
        ("-007", -7),
        ("+.5e-3", 0.0005),
        ("1 5/8", "1 5/8"),
        ("36.8 mm", "36.8 mm"),
        ("1.450 +/- 0.003", "1.450 +/- 0.003"),
        ('quote " and \\ slash', 'quote " and \\ slash'),
        ("[0.1, 0.2]", [0.1, 0.2]),
    ],
)
def test_toml_value_as_a_person_writes_it(written, value):
    text = "# head\n[a]\nx = 1 # one\n\n[b]  # here\ny = 2\n"
    for path in (("a", "x"), ("a", "new"), ("c", "new"), ("a", "b", "new")):
        found = with_value(text, path, written)
        place = tomllib.loads(found)
        for step in path:
            place = place[step]
        assert place == value
        kept = [line for line in text.splitlines() if line.strip() and not line.startswith("x")]
        assert [line for line in found.splitlines() if line in kept] == kept
    assert "# one" in with_value(text, ("a", "x"), written)


def test_digits_stay_as_written():
    assert "x = 1.650 # one" in with_value("[a]\nx = 1 # one\n", ("a", "x"), "1.650")
    assert value_in("[a]\nx = 1.650\n", ("a", "x")) == "1.65"


def test_words_stay_words():
    assert tomllib.loads(with_value("[a]\n", ("a", "x"), "12", word=True)) == {"a": {"x": "12"}}


def test_a_starters_own_line_takes_the_value_and_gives_it_back():
    text = starter_files(Described("x", 8, 2, "inch"))["setup.toml"]
    there = with_value(text, ("shaft", "setback"), "1.192")
    changes = [(a, b) for a, b in zip(text.splitlines(), there.splitlines(), strict=True) if a != b]
    assert changes == [("#setback =                       # in", "setback = 1.192                  # in")]
    gone = with_value(there, ("shaft", "setback"), None)
    assert "#setback = 1.192 " in gone
    assert tomllib.loads(gone) == tomllib.loads(text)


def test_windows_line_ends_stay():
    text = "[a]\r\nx = 1\r\n[b]\r\ny = 2\r\n"
    for path in (("a", "x"), ("a", "z"), ("c", "z")):
        assert "\n" not in with_value(text, path, "3").replace("\r\n", "")


@given(
    rows=st.lists(st.tuples(words, words), min_size=1, max_size=4),
    value=words,
    at=st.integers(0, 3),
    column=st.sampled_from(["lash", "offset", "remarks"]),
    delimiter=st.sampled_from([",", ";", "\t"]),
    end=st.sampled_from(["\n", "\r\n"]),
)
def test_only_that_cell_changes(rows, value, at, column, delimiter, end):
    out = io.StringIO()
    writer = csv.writer(out, delimiter=delimiter, lineterminator=end)
    writer.writerow(["valve", "lash", "remarks"])
    names = [f"{1 + place // 2}{'IE'[place % 2]}" for place in range(len(rows))]
    writer.writerows([name, *cells] for name, cells in zip(names, rows, strict=True))
    text = out.getvalue()
    valve = names[min(at, len(names) - 1)]
    found = with_cell(text, "valves.csv", valve, column, value or None)

    def read(text):
        head, *lines = csv.reader(io.StringIO(text, newline=""), delimiter=delimiter)
        return {
            (line[0], name): cell.strip()
            for line in lines
            for name, cell in zip(head[1:], line[1:], strict=False)
            if cell.strip()
        }

    wanted = read(text)
    wanted.pop((valve, column), None)
    if value:
        wanted[(valve, column)] = plain_cell(value)
    assert read(found) == wanted
    assert cell_in(found, "valves.csv", valve, column) == (unguarded(plain_cell(value)) or None)
    untouched = [line for line in text.splitlines()[1:] if not line.startswith(valve)]
    assert [line for line in found.splitlines()[1:] if not line.startswith(valve)] == untouched


def test_comments_and_blank_lines_stay():
    text = "# mine\n\nvalve , lash\n# a remark\n1I , 0.019\n\n1E , 0.021\n"
    assert with_cell(text, "v.csv", "1E", "lash", "0.022") == text.replace("0.021", "0.022")


@given(st.lists(st.sampled_from("abc"), max_size=6), st.lists(st.sampled_from("abc"), max_size=6))
def test_hunks_lead_there_and_back(one, other):
    before, after = ("".join(f"{line}\n" for line in lines) for lines in (one, other))
    there = hunks(before, after)
    assert turned(before, there) == after
    assert turned(after, [each.back for each in there]) == before


def test_a_hunk_finds_its_line_where_lines_were_added_before_it():
    there = hunks("a\nb\nc\n", "a\nB\nc\n")
    assert turned("new\na\nB\nc\n", [each.back for each in there]) == "new\na\nb\nc\n"
    assert turned("a\nother\nc\n", [each.back for each in there]) is None
