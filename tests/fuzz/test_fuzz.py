"""Five hundred cases of the fuzzer; and that it sees every break that it is there to see."""

import json
import sys
import time
import warnings
from pathlib import Path

import pytest
from hypothesis import HealthCheck, Phase, given, seed, settings

from tests.fuzz import oracle
from tests.fuzz.cases import TAKEN, Case, cases, hold
from tests.fuzz.laws import LAWS, Pair
from tests.fuzz.oracle import Broken
from tests.fuzz.sheets import sample

SEEDS = range(4)
EACH = 105
OF_EACH_LAW = 20


def fixed(count, number):
    """Draw the same cases every time; shrink what breaks."""
    return lambda test: seed(number)(
        settings(
            max_examples=count,
            database=None,
            deadline=None,
            phases=[Phase.generate, Phase.shrink],
            suppress_health_check=list(HealthCheck),
        )(test)
    )


@pytest.mark.parametrize("number", SEEDS)
def test_nothing_breaks(number):
    @fixed(EACH, number)
    @given(cases())
    def asked(case):
        hold(case)

    asked()


@pytest.mark.parametrize("name", LAWS)
def test_law(name):
    strategy, law = LAWS[name]

    @fixed(OF_EACH_LAW, 0)
    @given(strategy())
    def asked(pair):
        law(pair)

    asked()


def test_they_are_five_hundred():
    assert EACH * len(SEEDS) + OF_EACH_LAW * len(LAWS) >= 500


CASE = Case(sample("pump_twin"), ("rocker", "{sheet}", "--json"))


def fails(monkeypatch, act, kind, case=CASE):
    """Let the command do `act` before it answers, and see that it is told."""
    monkeypatch.setattr("valvetrain_cli.running.read_sheet", act)
    with pytest.raises(Broken, match=kind):
        hold(case)


def test_a_traceback_is_seen(monkeypatch):
    def act(sheet):
        raise KeyError(sheet)

    fails(monkeypatch, act, "traceback KeyError")


def test_a_warning_is_seen(monkeypatch):
    fails(monkeypatch, lambda sheet: warnings.warn("odd", stacklevel=1), "warning UserWarning")


def test_a_hang_is_seen(monkeypatch):
    monkeypatch.setattr(oracle, "HUNG", 1)

    def act(sheet):
        while True:
            try:
                time.sleep(30)
            except Exception:
                return

    fails(monkeypatch, act, "hang")


def test_a_slow_answer_is_seen(monkeypatch):
    monkeypatch.setattr(oracle, "SOON", 0.1)

    def act(sheet):
        until = time.process_time() + 0.2
        while time.process_time() < until:
            pass
        sys.exit(0)

    fails(monkeypatch, act, "slow")


def test_a_changed_file_is_seen(monkeypatch):
    for target in ("setup.toml", "valves.csv", f"../out/{TAKEN}", "../outside.csv"):

        def act(sheet, target=target):
            with (Path(sheet) / target).open("a") as file:
                file.write("x")
            print("{}")
            sys.exit(0)

        fails(monkeypatch, act, "a file changed")


@pytest.mark.parametrize(
    ("said", "status", "kind"),
    [
        ('{"a": NaN}', 0, "invalid JSON"),
        ("none", 0, "invalid JSON"),
        ("", 3, "status"),
        ("\x1b[31m", 1, "raw control sign"),
        ("", 2, "refusal without a head"),
        ("secret-4711", 1, "invalid JSON"),
        (json.dumps("secret-4711"), 1, "a foreign line"),
    ],
)
def test_wrong_words_are_seen(monkeypatch, said, status, kind):
    def act(sheet):
        print(said)
        sys.exit(status)

    fails(monkeypatch, act, kind if status != 2 else "refusal")


@pytest.mark.parametrize(
    ("name", "first", "second"),
    [("less is never ok", "unmeasured", "ok"), ("wider is never out", "ok", "out")],
)
def test_a_broken_law_of_verdicts_is_seen(monkeypatch, name, first, second):
    verdicts = iter([first, second])

    def act(sheet):
        print(json.dumps({"checks": [{"id": "a", "valve": "1I", "verdict": next(verdicts)}]}))
        sys.exit(0)

    monkeypatch.setattr("valvetrain_cli.running.read_sheet", act)
    with pytest.raises(Broken, match="law"):
        LAWS[name][1](Pair(CASE.sheet, CASE.sheet, CASE.line))


@pytest.mark.parametrize("name", ["the same in other units", "order is nothing"])
def test_a_broken_law_of_numbers_is_seen(monkeypatch, name):
    values = iter([1.0, 1.00001])

    def act(sheet):
        print(json.dumps({"results": {"value": next(values)}}))
        sys.exit(0)

    monkeypatch.setattr("valvetrain_cli.running.read_sheet", act)
    with pytest.raises(Broken, match="law: differs"):
        LAWS[name][1](Pair(CASE.sheet, CASE.sheet, CASE.line))
