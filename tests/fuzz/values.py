"""Strategies for what a person, a spreadsheet or an enemy writes as a value."""

import math
from typing import Any

from hypothesis import strategies as st

from tests.fuzz.known import Key
from valvetrain.parts.spec import Spec
from valvetrain.setup.units import display_unit, from_si

# Texts that are no values, or values only by accident.
HOSTILE = (
    "",
    " ",
    "nan",
    "-inf",
    "1e999",
    "1/0",
    "1 1/2",
    "5/8 in",
    "1,234.5",
    "1.5 mm +/-",
    "1.5 +/- -1",
    "1.5 +/- 1e999",
    "1.5 m**9**9**9",
    "1.5 in*(9**9**9**9)",
    "1.5 m/0",
    "1.5 (m",
    "1.5 m'",
    "1.5 in #",
    "1.5 in**2/in",
    "1.5 " + "*".join(["in"] * 300),
    "9" * 400,
    "1/" + "3" * 400,
    "0x10",
    "1_000",
    "١٢٣",
    "½ in",
    "1.5\u00a0mm",
    "\u2212" + "1.5",
    "1.5 µm",
    "=1+1",
    "@cmd",
    "'; drop",
    "<script>alert(1)</script>",
    "$HOME",
    "${7*7}",
    "{0}",
    "%s%n",
    "\x00",
    "\x1b[31mred",
    "a\nb",
    "a\u2028b",
    "\ufeff1.5",
    "\ud83d\ude00".encode("utf-16", "surrogatepass").decode("utf-16"),
    "שלום",
    "x" * 3000,
    "None",
    "true",
    "__import__('os')",
)

OTHER_KINDS: tuple[Any, ...] = (True, [], [1.0, "a"], {}, {"a": 1}, [[[[1]]]], 10**400, -1, 0, 0.0, -0.0)
hostile = st.sampled_from(HOSTILE)


def number(spec: Spec) -> st.SearchStrategy[float]:
    """A number in SI, mostly one that the sheet takes; now and then an end of what it does, or another."""
    low, high = spec.low, spec.high
    if not math.isfinite(low):
        low = -0.05
    if not math.isfinite(high):
        high = max(1.0, 10 * abs(low))
    inside = st.floats(0.0, 1.0).map(lambda share: low + share * (high - low))
    if low > 0:
        inside = st.floats(0.0, 1.0).map(lambda share: low * (high / low) ** share)
    ends = st.sampled_from([low, high, math.nextafter(high, math.inf), 0.0, -high, 2 * high, 1e-300])
    return st.one_of(inside, inside, inside, inside, ends)


@st.composite
def quantity(draw: Any, spec: Spec, system: str, *, odd: float = 0.15) -> Any:
    """A written quantity: plain, with its unit, with an uncertainty; now and then none at all."""
    if draw(st.floats(0.0, 1.0)) < odd:
        return draw(st.one_of(hostile, st.sampled_from(OTHER_KINDS)))
    assert spec.dimension is not None
    own = system if draw(st.integers(0, 3)) else draw(st.sampled_from(["inch", "metric"]))
    value = float(f"{from_si(draw(number(spec)), spec.dimension, own):.5g}")
    form = draw(st.integers(0, 9))
    if form < 4 and own == system:
        return value
    unit = display_unit(spec.dimension, own)
    if form < 7:
        return f"{value!r} {unit}".strip()
    share = draw(st.sampled_from([0.0, 1e-4, 1e-3, 1e-2, 0.1, 0.5, 0.95, 1.0, 3.0, 50.0]))
    spread = f"{abs(value) * share:.4g}"
    mark = draw(st.sampled_from(["+/-", "±", " +/- "]))
    text = f"{value!r} {mark} {spread} {unit}".strip()
    return text.replace(".", ",") if form == 9 else text


def value(key: Key, system: str) -> st.SearchStrategy[Any]:
    """What may stand behind a key."""
    if key.kind == "quantity":
        return quantity(key.spec, system)
    if key.kind == "quantities":
        return st.one_of(st.lists(quantity(key.spec, system), max_size=5), hostile)
    if key.kind == "word":
        return st.one_of(st.sampled_from(key.spec.choices), st.sampled_from(key.spec.choices), hostile)
    if key.kind == "whole":
        return st.one_of(st.integers(1, 8), st.sampled_from([0, -1, 25, 10**30, 1.5, "2"]))
    if key.kind == "text":
        return st.one_of(file_names, hostile)
    return st.one_of(
        hostile,
        st.lists(st.sampled_from([0.01, 0.5, "0.010 in", {"thickness": 0.5, "count": 2}, {}]), max_size=4),
    )


file_names = st.sampled_from(
    [
        "valves.csv",
        "intake_lobe.csv",
        "springs.csv",
        "none.csv",
        ".",
        "..",
        "/dev/null",
        "/dev/zero",
        "../outside.csv",
        "valves.xlsx",
        "valves.xlsx#Sheet",
        "x" * 300,
    ]
)
