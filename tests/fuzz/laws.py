"""Laws between two runs of sheets that say nearly the same.

A sheet in millimeters equals the same in inches. A value taken out never turns "not measured" into "ok". A
widened limit never turns what is ok into out. The order of rows and of keys changes nothing.
"""

import copy
import math
import re
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

from hypothesis import strategies as st

from tests.fuzz.asked import QUICK
from tests.fuzz.cases import Case, places
from tests.fuzz.changes import mild, present, put, system, written_at
from tests.fuzz.known import spec_of_column
from tests.fuzz.oracle import Answer, Broken, hold_words, run
from tests.fuzz.sheets import Sheet
from valvetrain.parts.limits.defaults import DEFAULT_LIMITS
from valvetrain.setup.units import display_unit, from_si

_EQUAL = 1e-6
"""Share by which a number may differ between the two units: conversions round, searches end somewhere."""


@dataclass
class Pair:
    """A sheet, another that is to agree with it, and what both are asked."""

    first: Sheet
    second: Sheet
    line: tuple[str, ...]

    def told(self) -> str:
        """Say what was asked, and how the two differ from their sample."""
        return f"{Case(self.first, self.line).told()}\n  AGAINST\n  {Case(self.second, self.line).told()}"


@st.composite
def _bases(draw: Any) -> tuple[Sheet, tuple[str, ...]]:
    sheet = draw(mild())
    return sheet, (draw(st.sampled_from([*QUICK, "check"])), "{sheet}", "--json")


@st.composite
def in_other_units(draw: Any) -> Pair:
    """The same sheet in the other system, every number with the unit that it had."""
    sheet, line = draw(_bases())
    own = system(sheet)
    other = "metric" if own == "inch" else "inch"
    second = copy.deepcopy(sheet)
    for key in present(sheet):
        if key.kind in ("quantity", "quantities"):
            put(second.toml, key.path, _with_unit(written_at(sheet.toml, key.path), key.spec.dimension, own))
    stock = second.toml.get("stock", {})
    for name in ("spring_shims", "rocker_shims"):
        if name in stock:
            stock[name] = [_shim_with_unit(each, own) for each in stock[name]]
    for row in second.toml.get("row", []):
        for name, value in row.items():
            row[name] = _row_with_unit(name, value, own)
    for place in _lobes(second):
        for card in [*place.get("durations", []), *place.get("events", [])]:
            for name, value in card.items():
                if name in ("checking_lift",):
                    card[name] = _with_unit(value, "length", own)
    for table in second.tables.values():
        for column, head in enumerate(table.header):
            spec = spec_of_column(head)
            if "[" not in head and spec is not None and spec.dimension is not None:
                unit = display_unit(spec.dimension, own)
                table.header[column] = f"{head} [{unit}]" if unit else head
    layouts = second.tables.get("oil_layouts.csv")
    if layouts is not None and "value" in layouts.header:
        change, value = layouts.header.index("change"), layouts.header.index("value")
        for row in layouts.rows:
            if len(row) > max(change, value) and row[change] in ("diameter", "length", "clearance"):
                row[value] = str(_with_unit(row[value], "length", own)) if row[value] else ""
    second.toml["sheet"]["units"] = other
    return Pair(sheet, second, (*line, "--units", own))


def _lobes(sheet: Sheet) -> list[dict[str, Any]]:
    lobe = sheet.toml.get("lobe", {})
    return [each for each in (lobe, lobe.get("intake"), lobe.get("exhaust")) if isinstance(each, dict)]


def _with_unit(value: Any, dimension: str, own: str) -> Any:
    if isinstance(value, list):
        return [_with_unit(each, dimension, own) for each in value]
    unit = display_unit(dimension, own)
    if not unit or isinstance(value, bool) or not isinstance(value, int | float | str):
        return value
    return value if re.search(r"[A-DF-Za-df-z%°µ]", str(value)) else f"{value} {unit}"


def _shim_with_unit(shim: Any, own: str) -> Any:
    if isinstance(shim, dict):
        return shim | {"thickness": _with_unit(shim["thickness"], "length", own)}
    return _with_unit(shim, "length", own)


def _row_with_unit(name: str, value: Any, own: str) -> Any:
    from valvetrain.parts.row import RowText
    from valvetrain.parts.spec import spec_of

    dimension = spec_of(RowText, name).dimension
    if dimension is not None:
        return _with_unit(value, dimension, own)
    unit = display_unit("length", own)
    if isinstance(value, list):
        return [
            re.sub(r"^((?:cut )?(?:shim|spacer)) ([0-9.]+)$", rf"\1 \2 {unit}", str(each)) for each in value
        ]
    return value


@st.composite
def with_less(draw: Any) -> Pair:
    """The same sheet with a value taken out: a key, or a cell of the table of valves."""
    sheet, line = draw(_bases())
    second = copy.deepcopy(sheet)
    there = [
        key for key in present(sheet) if key.path[0] not in ("limits", "engine", "instruments", "tables")
    ]
    table = second.tables.get("valves.csv")
    if draw(st.booleans()) and table is not None and table.rows:
        row = draw(st.sampled_from(table.rows))
        row[draw(st.integers(1, len(row) - 1))] = ""
    elif there:
        path = draw(st.sampled_from(there)).path
        place = second.toml
        for step in path[:-1]:
            place = place[step]
        del place[path[-1]]
    return Pair(sheet, second, line)


@st.composite
def with_wider_limit(draw: Any) -> Pair:
    """The same sheet with one limit farther out."""
    sheet, line = draw(_bases())
    second = copy.deepcopy(sheet)
    limit = draw(st.sampled_from(sorted(DEFAULT_LIMITS.values(), key=lambda each: each.id)))
    given = sheet.toml.get("limits", {}).get(limit.id, {})
    ends = {}
    for end, sign in (("low", -1.0), ("high", 1.0)):
        size = getattr(limit, end)
        if end in given:
            continue  # a limit of the sheet's own is written in many ways; the default is enough
        if math.isfinite(size):
            by = draw(st.sampled_from([0.001, 0.1, 1.0, 10.0])) * max(abs(size), 1e-6)
            ends[end] = from_si(size + sign * by, limit.dimension, system(sheet))
    if ends:
        second.toml.setdefault("limits", {}).setdefault(limit.id, {}).update(ends)
    return Pair(sheet, second, line)


@st.composite
def in_other_order(draw: Any) -> Pair:
    """The same sheet with rows, columns and keys in another order."""
    sheet, line = draw(_bases())
    second = copy.deepcopy(sheet)
    table = second.tables["valves.csv"]
    table.rows = draw(st.permutations(table.rows))
    order = draw(st.permutations(range(len(table.header))))
    table.header = [table.header[place] for place in order]
    table.rows = [[(row[place] if place < len(row) else "") for place in order] for row in table.rows]
    second.toml = _turned(second.toml)
    return Pair(sheet, second, line)


def _turned(section: dict[str, Any]) -> dict[str, Any]:
    return {
        name: _turned(each) if isinstance(each, dict) else each for name, each in reversed(section.items())
    }


def both(pair: Pair) -> tuple[Answer, Answer]:
    """Ask both sheets."""
    answers = []
    for sheet in (pair.first, pair.second):
        with places() as (folder, _):
            sheet.write(folder)
            line = tuple(each.replace("{sheet}", str(folder)) for each in pair.line)
            answers.append(run(line))
            hold_words(line, answers[-1])
    return answers[0], answers[1]


def same(pair: Pair, equal: float) -> str:
    """Both say the same."""
    first, second = both(pair)
    if (first.status == 2) != (second.status == 2):
        raise Broken("law: one is refused", f"{pair.line[0]}: {(first.err + second.err)[:600]}")
    if first.status == 2:
        return "refused"
    one, other = ({**each.document, "sheet": ""} for each in (first, second))
    if (told := _difference(one, other, equal)) is not None:
        raise Broken(f"law: differs in {pair.line[0]}", told)
    return "held"


def _difference(one: Any, other: Any, equal: float, path: str = "") -> str | None:
    """Say where two documents differ; in sentences numbers of lines and of digits cut elsewhere may."""
    if isinstance(one, dict) and isinstance(other, dict):
        if set(one) != set(other):
            return f"{path}: keys {sorted(set(one) ^ set(other))}"
        pieces = [(f"{path}.{name}", one[name], other[name]) for name in one]
    elif isinstance(one, list) and isinstance(other, list):
        if len(one) != len(other):
            return f"{path}: {len(one)} and {len(other)}"
        pieces = [(f"{path}[{place}]", *each) for place, each in enumerate(zip(one, other, strict=True))]
    elif isinstance(one, float | int) and isinstance(other, float | int) and not isinstance(one, bool):
        near = math.isclose(one, other, rel_tol=equal, abs_tol=equal)
        return None if near else f"{path}: {one!r} and {other!r}"
    elif isinstance(one, str) and isinstance(other, str):
        plain = [re.sub(r"[-+]?\d[\d.,]*", "#", each) for each in (one, other)]
        return None if plain[0] == plain[1] else f"{path}: {one!r} and {other!r}"
    else:
        return None if one == other else f"{path}: {one!r} and {other!r}"
    for each in pieces:
        if (told := _difference(each[1], each[2], equal, each[0])) is not None:
            return told
    return None


def _verdicts(answer: Answer) -> dict[tuple[str, str], list[str]]:
    found: dict[tuple[str, str], list[str]] = {}
    for check in answer.document["checks"]:
        found.setdefault((check["id"], check["valve"] or ""), []).append(check["verdict"])
    return found


def no_ok_from_less(pair: Pair) -> str:
    """What was not measured is not ok with less measured."""
    first, second = both(pair)
    if 2 in (first.status, second.status):
        return "refused"
    before, after = _verdicts(first), _verdicts(second)
    for key, verdicts in before.items():
        if set(verdicts) == {"unmeasured"} and "ok" in after.get(key, []):
            raise Broken(f"law: ok from less, {key[0]}", f"{pair.line[0]} {key}")
    return "held"


def no_out_from_wider(pair: Pair) -> str:
    """What is ok is not out within a wider limit."""
    first, second = both(pair)
    if 2 in (first.status, second.status):
        return "refused"
    before, after = _verdicts(first), _verdicts(second)
    for key, verdicts in before.items():
        if set(verdicts) == {"ok"} and "out" in after.get(key, []):
            raise Broken(f"law: out from wider, {key[0]}", f"{pair.line[0]} {key}")
    return "held"


Law = tuple[Callable[[], st.SearchStrategy[Pair]], Callable[[Pair], str]]

LAWS: dict[str, Law] = {
    "the same in other units": (in_other_units, lambda pair: same(pair, _EQUAL)),
    "less is never ok": (with_less, no_ok_from_less),
    "wider is never out": (with_wider_limit, no_out_from_wider),
    "order is nothing": (in_other_order, lambda pair: same(pair, 1e-12)),
}
