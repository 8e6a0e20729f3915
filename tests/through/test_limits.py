"""Every default limit through `check`: range, basis and words, the quantity it judges, and each verdict.

Valves of one engine carry the quantity from inside its limit over it to outside; one is not measured. The
rule is ISO 14253-1's with twice the standard uncertainty (as named in secondary sources), written here again.
"""

import numpy as np
import pytest

from .answers import FACTORS, Node, document
from .engine import engine
from .limit_cases import CASES, Case
from .sheets import merged, written

VALVES = 7
BLANK = 5
"""Index of the valve that is not measured."""
UNIT = {**FACTORS, "HRC": 1.0}


def verdict(quantity, low, high):
    """ISO 14253-1: inside by the expanded uncertainty, outside by it, else undecided; as a set.

    Where draws took the place of the first order their 95 % interval is judged by and not told; of even draws
    it reaches 1.96 standard uncertainties and not 2, so that between the two either verdict may stand.
    """
    value, u = si(quantity)
    if np.isnan(value):
        return {"unmeasured"}
    found = set()
    for k in (1.96, 2.0):
        least, most = value - k * u, value + k * u
        inside, outside = least >= low and most <= high, most < low or least > high
        found.add("ok" if inside else "out" if outside else "unsure")
    return found


def si(quantity):
    """Value and standard uncertainty of a check's quantity [SI]; NaN and 0 where there is none."""
    factor = UNIT[quantity["unit"]]
    value = quantity["value"]
    return np.nan if value is None else value * factor, (quantity.get("u") or 0.0) * factor


class Bench:
    """A case's engine with a knob at each valve."""

    def __init__(self, case: Case, folder):
        self.case, self.folder, self.runs = case, folder, 0
        sheet = merged(engine(1), engine={"cylinders": VALVES + case.anchors}, rocker={"hub_width": 24.0})
        for section, keys in case.changes.items():
            sheet = merged(sheet, **{section: keys})
        self.usual, self.given = np.mean(case.knob_range), None
        for name in filter(None, (case.knob, case.blank)):
            section, _, key = name.rpartition(".")
            kept = sheet[section].pop(key, None) if section else None
            if name == case.knob and kept is not None:
                self.usual = kept
            elif name == case.blank:
                self.given = kept
        self.sheet = sheet

    def written(self, knobs):
        """Sheet with the knobs [per valve of the role; None: not measured]; other valves have the usual."""
        self.runs += 1
        role, rows = self.case.role[0].upper(), []
        # Anchors apart from one another, so that the middle of a set hangs on one of them alone.
        anchors = [self.usual + 0.06 * k for k in range(self.case.anchors)]
        for number, knob in enumerate([*knobs, *anchors], start=1):
            for each in "IE":
                own = knob if each == role else self.usual
                row = {"valve": f"{number}{each}"}
                if self.case.blank:
                    row[self.case.blank] = "" if own is None else self.given
                    own = self.usual if own is None else own
                told = f"{own:.9g} {self.case.known}".strip() if own is not None else ""
                rows.append({**row, self.case.knob: told})
        return written(self.folder / f"run{self.runs}", self.sheet, valves=rows)

    def judged(self, command, folder):
        """The document, and the case's check at each valve of the role."""
        found = document(command, folder)
        by_valve = {each["valve"]: each for each in found["checks"] if each["id"] == self.case.id}
        role = self.case.role[0].upper()
        return found, [by_valve.get(f"{k}{role}") for k in range(1, VALVES + 1)]


def about(bench, command, limit):
    """Knobs that lead the quantity over its limit, with its doubt there and the step between two of them."""
    case = bench.case
    knobs = np.linspace(*case.knob_range, VALVES)
    for _ in range(4 if case.anchors else 3):
        checks = bench.judged(command, bench.written(knobs))[1]
        values, doubts = np.array([si(each["quantity"]) for each in checks]).T
        known = np.isfinite(values)
        values, doubts, at = values[known], doubts[known], knobs[known]
        assert len(at) >= 3, "the quantity is hardly known over the knob's range"
        order = np.argsort(values)
        place = float(np.interp(limit, values[order], at[order]))
        near = int(np.argmin(np.abs(at - place)))
        slope = (
            np.gradient(values, at)[near]
            if len(set(at)) == len(at)
            else (values[-1] - values[0]) / np.ptp(at)
        )
        step = max(3.0 * doubts[near], 0.002 * np.ptp(case.knob_range) * abs(slope)) / slope
        knobs = np.clip(place + step * np.linspace(-2, 2, VALVES), *case.knob_range)
        knobs = knobs + np.linspace(0, 1e-9, VALVES)  # no two alike
    # At two, 0.77 and 0.58 steps to either side: 6, 2.3 and 1.75 uncertainties.
    six = np.clip(place + step * np.array([-2.0, -0.77, -0.58, 0.58, 0.77, 2.0]), *case.knob_range)
    return [*six[:BLANK], None, six[BLANK]], float(doubts[near]), abs(step * slope)


ENDS = [(case, end) for case in CASES for end in ("low", "high") if np.isfinite(getattr(case, end))]


@pytest.mark.parametrize(("case", "end"), ENDS, ids=[f"{case.id}-{end}" for case, end in ENDS])
def test_default_limit(tmp_path, case, end):
    bench = Bench(case, tmp_path)
    low, high = case.low * UNIT[case.unit], case.high * UNIT[case.unit]
    limit = {"low": low, "high": high}[end]
    command = case.question or "check"
    knobs, doubt, step = about(bench, command, limit)
    folder = bench.written(knobs)
    for asked in dict.fromkeys([command, *(["check"] if case.in_check else [])]):
        found, checks = bench.judged(asked, folder)
        if case.silent:
            assert checks.pop(BLANK) is None
        seen = []
        for check in checks:
            for name, at in (("low", low), ("high", high)):
                told = si(check["limit"][name])[0]
                assert told == pytest.approx(at, rel=1e-9, abs=1e-12) if np.isfinite(at) else np.isnan(told)
            assert check["basis"].startswith(case.basis), check["basis"]
            assert check["verdict"] in verdict(check["quantity"], low, high), check
            seen.append(check["verdict"])
        if not case.silent:
            assert seen[BLANK] == "unmeasured"
            assert checks[BLANK]["advice"]
        assert {"ok", "out"} <= set(seen), seen
        # Across the limit, unless the quantity has no doubt at all.
        assert "unsure" in seen or not doubt, seen
        sure = [abs(si(each["quantity"])[0] - limit) for each in checks if each["verdict"] in ("ok", "out")]
        assert min(sure) <= max(6 * doubt, 1.5 * step), "nothing was judged near the limit"
        if asked == case.question:
            wired(case, found, checks)


def wired(case, found, checks):
    """The check judges the very quantity that the question reports, at the same valve."""
    rows = Node(found["results"], found["command"])
    path, _, name = case.result.rpartition("/")
    rows = rows[path or "valves"]
    for check in checks:
        told, value = rows.of(valve=check["valve"]).si(name), si(check["quantity"])[0]
        assert told == pytest.approx(value, rel=1e-9, abs=1e-15, nan_ok=True)
