"""Formulas as text: values, what is missing, alternatives."""

import math

import pytest

from valvetrain.answers.formula import evaluated, substituted

KNOWN = {"a": 3.0, "b": -4.0, "gone": math.nan, "lost": math.nan}


@pytest.mark.parametrize(
    ("expression", "value"),
    [
        ("a + b*2", -5.0),
        ("-a^2", -9.0),
        ("2*a^2/3", 6.0),
        ("hypot(a, b)", 5.0),
        ("sqrt(a^2 + b^2)", 5.0),
        ("sin(pi/6)", 0.5),
        ("where(0 <= a <= 3, a, gone)", 3.0),
        ("where(a < b, gone, b)", -4.0),
        ("where(known(gone), gone, a)", 3.0),
        ("either(gone, a, b)", 3.0),
        ("either(gone + a, b)", -4.0),
        ("either(a, gone)", 3.0),
    ],
)
def test_value(expression, value):
    assert evaluated(expression, KNOWN) == (pytest.approx(value), ())


@pytest.mark.parametrize(
    ("expression", "missing"),
    [
        ("a + gone", ("gone",)),
        ("lost*gone + lost", ("lost", "gone")),
        ("max(a, gone)", ("gone",)),
        ("where(gone > 0, a, b)", ("gone",)),
        ("where(a > 0, gone, b)", ("gone",)),
        ("either(gone, lost + a)", ("gone", "lost")),
        ("a/0 + gone", ()),
    ],
)
def test_what_is_missing_is_named(expression, missing):
    value, found = evaluated(expression, KNOWN)
    assert math.isnan(value)
    assert found == missing


@pytest.mark.parametrize("expression", ["sqrt(b)", "b^0.5", "a/(b + 4)", "asin(a)", "log(0)"])
def test_not_defined_is_not_missing(expression):
    value, missing = evaluated(expression, KNOWN)
    assert math.isnan(value)
    assert missing == ()


@pytest.mark.parametrize(
    "expression", ["c + 1", "either(a, b)[0]", "open(a)", "a.real", "'a'", "a if b else a"]
)
def test_anything_else_is_refused(expression):
    with pytest.raises(ValueError, match=r"formula"):
        evaluated(expression, KNOWN)


def test_numbers_are_put_in():
    written = {"a": "3.0 in", "b": "-4.0 in"}
    assert substituted("a + sin(b) - aa", written) == "3.0 in + sin((-4.0 in)) - aa"
    assert substituted("a^2 + c^2", written) == "(3.0 in)^2 + c^2"
