"""Stated doubt against many draws of our own, at sheets as they are and at their own best heights."""

from dataclasses import replace

import numpy as np
import pytest

from tests.engine_folders import engine_folder
from valvetrain.answers.over_valves import over_valves, summed
from valvetrain.answers.quantity import Quantity, computed
from valvetrain.answers.verdict import decided, judged
from valvetrain.questions.events.study import events_study
from valvetrain.questions.rocker import study as rocker
from valvetrain.questions.rocker.study import rocker_quantities, rocker_study
from valvetrain.setup.read import read_setup
from valvetrain.setup.setup import Column

DRAWS = 20_000


def at_best_height(setup, seed):
    """The sheet with every shaft within 0.05 mm of the height of its least sweep."""
    change = rocker_study(setup).stand_shim_change_for_least_sweep.value
    miss = 5e-5 * np.random.default_rng(seed).uniform(-1, 1, change.size)
    trains = []
    for train, shim in zip(setup.trains, change + miss, strict=True):
        lean = train.shaft.stand_angle.value if train.shaft.stand_angle else 0.0
        height, back = train.shaft.height, train.shaft.setback
        shaft = replace(
            train.shaft,
            height=replace(height, value=height.value + shim * np.cos(lean)),
            setback=replace(back, value=back.value - shim * np.sin(lean)),
        )
        trains.append(replace(train, shaft=shaft))
    return replace(setup, trains=tuple(trains))


@pytest.fixture(params=["plain_six", "pump_twin", "faulted_six"])
def sample(request):
    return read_setup(engine_folder(request.param))


@pytest.mark.parametrize("best", [False, True], ids=["as it is", "at its best"])
def test_stated_doubt_is_that_of_many_draws(sample, best, monkeypatch):
    setup = at_best_height(sample, 3) if best else sample
    asked = {}

    def watched(function, inputs, *rest, **options):
        asked.update(inputs=inputs)
        return computed(function, inputs, *rest, **options)

    monkeypatch.setattr(rocker, "computed", watched)
    study = rocker_study(setup)
    generator = np.random.default_rng(11)
    rows = {}
    for key, column in asked["inputs"].items():
        spread = np.nan_to_num(column.uncertainty)
        rows[key] = column.value + spread * generator.standard_normal((DRAWS, spread.size))
    with np.errstate(invalid="ignore"):
        drawn = rocker_quantities(rows, np.zeros(len(setup.valves), dtype=bool))
    told = 0
    for name, table in drawn.items():
        quantity = getattr(study, name)
        for place, value in enumerate(quantity.value):
            own = table[:, place]
            own = own[np.isfinite(own)]
            if not np.isfinite(value) or own.size < 0.9 * DRAWS or np.ptp(own) < 1e-12:
                continue
            true = np.sqrt(np.mean((own - value) ** 2))
            ends = quantity.ends(place)
            told += ends is not None
            low, high = ends or (value + way * 1.96 * quantity.uncertainty[place] for way in (-1, 1))
            beyond = max(np.mean(own < low - 1e-9 * abs(value)), np.mean(own > high + 1e-9 * abs(value)))
            assert beyond <= 0.04, (name, place)
            if own.size == DRAWS:
                assert 0.9 <= quantity.uncertainty[place] / true <= 1.25, (name, place)
    assert told >= len(setup.valves)  # of the sweep's width, at least


def test_what_bends_has_a_budget_that_adds_up():
    study = rocker_study(at_best_height(read_setup(engine_folder("plain_six")), 3))
    width = study.sweep_width
    assert np.all(np.isfinite(width.high))
    squares = sum(part**2 for part in width.contributions.values())
    assert np.sqrt(squares) == pytest.approx(width.uncertainty, rel=1e-9)
    # To first order the height would have no part at all: at the least it moves nothing.
    most = max(width.contributions, key=lambda key: np.abs(width.contributions[key]).max())
    assert most in ("shaft.height", "rocker.pad_radius")


def test_verdict_is_on_the_interval():
    assert decided(1.0, 1.0, -0.5, 2.6) == "unsure"
    assert decided(1.0, 1.0, -0.5, 2.6, (0.9, 2.5)) == "ok"
    assert decided(1.0, 0.1, 0.0, 1.5, (0.9, 1.6)) == "unsure"
    assert decided(1.0, 1.0, 2.0, 5.0, (0.5, 1.9)) == "out"
    setup = read_setup(engine_folder("plain_six"))
    shares = rocker_study(setup).sweep_share
    edge = float(shares.high[0])

    def verdict(high):
        limit = replace(setup.limits["sweep_width"], low=-np.inf, high=high)
        narrowed = replace(setup, limits={**setup.limits, "sweep_width": limit})
        return judged(narrowed, "sweep_width", shares, needs=())[0]

    assert verdict(edge * (1 + 1e-9)).verdict == "ok"
    across = verdict(edge * (1 - 1e-6))
    assert across.verdict == "unsure"
    assert "95 % of draws" in across.advice


def column(spread, *sources):
    return Column(np.zeros(len(sources)), np.full(len(sources), spread), sources)


def test_valves_share_what_was_measured_once():
    one = Quantity(
        "length",
        np.array([1.0, 2.0]),
        np.full(2, np.sqrt(2.0)),
        {"shaft.height": np.ones(2), "lash.lash": np.ones(2)},
    )
    inputs = {"shaft.height": column(1.0, "toml", "toml"), "lash.lash": column(1.0, "csv 1", "csv 2")}
    total = Quantity("length", np.array([3.0, -1.0]), np.zeros(2), {})
    found = summed(total, ((one, np.array([[1.0, 1.0], [1.0, -1.0]])),), inputs)
    # 2 from the height and sqrt(2) from the two lashes; in the difference the height falls out.
    assert found.uncertainty == pytest.approx([np.sqrt(6.0), np.sqrt(2.0)])


def test_overlap_counts_its_two_lashes_apart():
    setup = read_setup(engine_folder("plain_six"))
    found = events_study(setup, 0.0, "valve")
    opens, closes = found.opens.contributions, found.closes.contributions
    for row, (into, out) in enumerate(zip(range(0, 12, 2), range(1, 12, 2), strict=True)):
        lash = np.hypot(opens["lash.lash"][into], closes["lash.lash"][out])
        assert abs(found.overlap.contributions["lash.lash"][row]) == pytest.approx(lash)


def test_deviation_from_the_middle_holds_the_middles_own_doubt():
    spread = 0.1
    value = np.array([1.0, 1.05, 0.95, 1.02])
    quantity = Quantity("length", value, np.full(4, spread), {"spring.installed_height": np.full(4, spread)})

    def from_middle(table):
        return table - np.median(table, axis=-1, keepdims=True)

    found = over_valves(from_middle, quantity, ("1", "2", "3", "4"))
    draws = value + spread * np.random.default_rng(2).standard_normal((50_000, 4))
    true = np.sqrt(np.mean((from_middle(draws) - from_middle(value)) ** 2, axis=0))
    assert found.uncertainty == pytest.approx(true, rel=0.12)
    # Measured once for all of them, they stand as they stand.
    once = over_valves(from_middle, quantity, ("toml",) * 4)
    assert once.uncertainty == pytest.approx(np.zeros(4), abs=1e-12)
