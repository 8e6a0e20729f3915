"""Fit of the linkage: recovery, what cannot be known, two answers, and the next reading."""

from dataclasses import replace

import numpy as np
import pytest

from tests.laws.invented_engines import (
    DEVIATION,
    LOBE_LIFT,
    MEAN,
    dial,
    invented,
    outputs_of,
    plan,
    priors,
    wide,
    with_calipers,
    without,
)
from valvetrain.mechanics.fit.layout import PER_VALVE, SHARED, Layout
from valvetrain.mechanics.fit.linkage import fitted
from valvetrain.mechanics.fit.model import ReadingModel
from valvetrain.mechanics.fit.modes import drawn_from
from valvetrain.mechanics.fit.next_reading import uncertainty_after_readings
from valvetrain.mechanics.rocker.linkage import closed_position, pushrod_planar_length_for, swung


@pytest.fixture(scope="module")
def engine():
    truth, readings, outputs = invented(5)
    return truth, readings, outputs


def test_predictions_are_those_of_the_linkage(engine):
    truth, readings, _ = engine
    layout = Layout(priors(3))
    column = {name: one[0] for name, one in layout.columns(truth[np.newaxis]).items()}
    geometry = {
        name: column[name] for name in ("pad_arm", "pad_radius", "socket_arm", "arm_angle", "tappet_setback")
    }
    geometry |= {
        "tappet_angle": column["tappet_angle"],
        "height": column["height"] - column["tip_height"][1],
        "lash": column["lash"][1],
    }
    rod = pushrod_planar_length_for(**geometry, tappet_position=column["tappet_position"])
    closed = closed_position(**geometry, setback=column["setback"], pushrod_planar_length=rod)
    rows = dial(readings)
    drop = swung(closed, readings.at[rows]).pad_drop[0]
    expected = np.maximum(drop - column["lash"][1], 0.0) + column["dial_zero"][1]
    predicted = ReadingModel(readings, layout).predicted(truth[np.newaxis])[0]
    assert predicted[rows] == pytest.approx(expected, abs=1e-12)

    # The marks: where the pad touches from the lash just taken up to full lift, by small steps.
    fine = swung(closed, np.linspace(0.0, LOBE_LIFT, 20_001))
    touching = fine.pad_drop[0] >= column["lash"][1]
    contact = fine.contact_x[0][touching] + column["ink_zero"][1]
    margin = column["ink_margin"][0]
    marks = {
        "near_edge": contact.min() - margin,
        "far_edge": contact.max() + margin,
        "closed_mark": contact[0],
    }
    marks |= {
        "exposure": rod[0] - column["pushrod_length"][0],
        "mean_ratio": fine.pad_drop[0, -1] / LOBE_LIFT,
    }
    without_lash = closed_position(
        **(geometry | {"lash": 0.0}),
        setback=column["setback"],
        pushrod_planar_length=pushrod_planar_length_for(
            **(geometry | {"lash": 0.0}), tappet_position=column["tappet_position"]
        ),
    )
    gross = swung(without_lash, np.array([LOBE_LIFT])).pad_drop[0, 0]
    marks["gross_lift"] = gross + column["dial_zero"][1]
    count = len(marks)
    asked = replace(
        readings,
        kind=tuple(marks),
        parameter=("",) * count,
        valve=np.full(count, 1),
        at=np.full(count, LOBE_LIFT),
        value=np.zeros(count),
        uncertainty=np.ones(count),
        resolution=None,
    )
    predicted = ReadingModel(asked, layout).predicted(truth[np.newaxis])[0]
    assert predicted == pytest.approx(list(marks.values()), abs=1e-7)


def test_a_turn_of_the_adjuster_moves_the_pad_by_about_the_ratio_at_opening(engine):
    truth, readings, _ = engine
    layout = Layout(priors(3))
    predicted = ReadingModel(readings, layout).predicted(truth[np.newaxis])[0]
    turn = readings.kind.index("turns")
    # The pushrod stands nearly along the tappet's travel, so screwing out and lifting are nearly the same.
    lifts = ReadingModel(
        replace(readings, kind=tuple("gross_lift" if kind == "turns" else kind for kind in readings.kind)),
        layout,
    ).predicted(truth[np.newaxis])[0]
    assert predicted[turn] == pytest.approx(lifts[turn], rel=0.03)


def test_derivatives_against_one_at_a_time(engine):
    truth, readings, _ = engine
    model = ReadingModel(readings, Layout(priors(3)))
    _, slopes = model.derivatives(truth)
    for place in range(truth.size):
        step = np.zeros(truth.size)
        step[place] = 1e-6
        pair = model.predicted(np.stack([truth + step, truth - step]))
        assert slopes[:, place] == pytest.approx((pair[0] - pair[1]) / 2e-6, rel=1e-4, abs=1e-6)


def test_sharp_readings_without_noise_return_the_outputs():
    truth, readings, outputs = invented(11)
    layout = Layout(priors(3))
    exact = ReadingModel(readings, layout).predicted(truth[np.newaxis])[0]
    fit = fitted(replace(readings, value=exact, uncertainty=readings.uncertainty * 1e-3), priors(3))
    found = fit.sampled(outputs_of(3))
    # A zero error of the dial cannot be told from lift; their sum is what the readings hold.
    true_zero = truth[layout.place("dial_zero")]
    assert found["net_lift"].value + fit.value("dial_zero") == pytest.approx(
        outputs["net_lift"] + true_zero, abs=1e-6
    )
    assert found["net_lift"].value == pytest.approx(outputs["net_lift"], abs=4 * DEVIATION["dial_zero"])
    assert np.max(np.abs(fit.residual / readings.uncertainty)) < 0.1
    assert not fit.flagged


@pytest.mark.parametrize("seed", range(6))
def test_a_reading_held_out_is_predicted_within_its_uncertainty(seed):
    _, readings, _ = invented(100 + seed)
    index = int(np.random.default_rng(seed).integers(36))
    fit = fitted(without(readings, index), priors(3))
    model = ReadingModel(readings, fit.layout)
    draws = model.predicted(fit.drawn(4000, 1))[:, index]
    expected = np.hypot(np.std(draws), readings.uncertainty[index])
    assert abs(readings.value[index] - np.mean(draws)) < 3.5 * expected


def test_what_moves_together_is_named():
    _, readings, _ = invented(5)
    # Without a prior on the stem heights the readings see the difference to the shaft's height only.
    fit = fitted(readings, wide(tip_height=3e-3, height=3e-3, ink_zero=0.0, pushrod_length=0.0))
    (found,) = [one for one in fit.weak if "stem height" in one.names]
    assert "shaft height" in found.names
    assert found.sentence in (
        "shaft height and stem height move together: only their difference is known",
        "stem height and shaft height move together: only their difference is known",
    )
    # The named direction really leaves every reading as it was.
    model = ReadingModel(readings, fit.layout)
    step = 0.2e-3 * found.direction
    change = model.predicted(np.stack([fit.mean + step, fit.mean]))
    assert np.max(np.abs(change[0] - change[1]) / readings.uncertainty) < 0.5
    assert fit.uncertainty("height")[0] > 1e-3
    assert fit.sampled(outputs_of(3))["height"].uncertainty[0] < 1e-3


def test_a_mirrored_answer_is_kept_and_a_closed_mark_decides():
    # The arm is square to the stem at 0.39 of the lift; 0.61 leaves nearly the same pattern.
    truth, readings, outputs = invented(30)
    fit = fitted(readings, priors(3))
    assert len(fit.modes) == 2
    assert sum(mode.weight for mode in fit.modes) == pytest.approx(1.0)
    assert fit.weight_of(0) == tuple(mode.weight for mode in fit.modes)
    found = fit.sampled(outputs_of(3))["height"]
    assert found.low[0] <= outputs["height"][0] <= found.high[0]
    marked = replace(
        readings,
        kind=readings.kind + ("closed_mark",) * 3,
        parameter=readings.parameter + ("",) * 3,
        valve=np.append(readings.valve, range(3)),
        at=np.append(readings.at, [np.nan] * 3),
        value=np.append(readings.value, [0.0] * 3),
        uncertainty=np.append(readings.uncertainty, [5e-5] * 3),
        resolution=np.append(readings.resolution, [1e-5] * 3),
    )
    marked.value[-3:] = ReadingModel(marked, fit.layout).predicted(truth[np.newaxis])[0, -3:]
    sharper = fitted(marked, priors(3)).sampled(outputs_of(3))["height"]
    assert sharper.high[0] - sharper.low[0] < 0.75 * (found.high[0] - found.low[0])
    assert sharper.low[0] <= outputs["height"][0] <= sharper.high[0]


def test_the_next_reading_is_foretold():
    _, readings, _ = invented(7)
    index = readings.kind.index("near_edge")
    fit = fitted(without(readings, index), priors(3))
    candidates = replace(
        readings,
        kind=("near_edge", "net_lift"),
        valve=np.array([0, 0]),
        at=np.full(2, LOBE_LIFT),
        value=np.zeros(2),
        uncertainty=np.array([1.2e-4, 2e-5]),
        parameter=("", ""),
        resolution=None,
    )
    foretold = uncertainty_after_readings(fit, candidates, ((0,), (1,)), outputs_of(3))["sweep_middle"]
    now = fit.sampled(outputs_of(3))["sweep_middle"].uncertainty
    then = fitted(readings, priors(3)).sampled(outputs_of(3))["sweep_middle"].uncertainty
    assert np.all(foretold <= now + 1e-12)
    assert foretold[0, 0] < foretold[1, 0]
    assert foretold[0] == pytest.approx(then, rel=0.25)


def test_a_telling_reading_is_foretold():
    _, readings, _ = invented(7)
    fit = fitted(readings, priors(3))
    candidate = replace(
        readings,
        kind=("dimension",),
        valve=np.array([0]),
        at=np.array([np.nan]),
        value=fit.value("pad_radius"),
        uncertainty=np.array([1e-5]),
        parameter=("pad_radius",),
        resolution=None,
    )

    def wanted(columns):
        return {
            "pad_radius": columns["pad_radius"] + np.zeros(3),
            "height": outputs_of(3)(columns)["height"],
        }

    now = fit.sampled(wanted)
    foretold = uncertainty_after_readings(fit, candidate, ((0,),), wanted)
    longer = {
        name: np.append(getattr(readings, name), getattr(candidate, name))
        for name in ("valve", "at", "value", "uncertainty")
    }
    more = fitted(
        replace(
            readings,
            kind=(*readings.kind, "dimension"),
            parameter=(*readings.parameter, "pad_radius"),
            resolution=None,
            **longer,
        ),
        priors(3),
    )
    then = more.sampled(wanted)
    assert foretold["pad_radius"][0] == pytest.approx(more.uncertainty("pad_radius")[0], rel=0.02)
    assert now["pad_radius"].uncertainty[0] > 5.0 * more.uncertainty("pad_radius")[0]
    assert foretold["height"][0] == pytest.approx(then["height"].uncertainty, rel=0.1)


def test_fixed_parameters_stay():
    _, readings, _ = invented(5)
    fit = fitted(readings, wide(pad_radius=0.0))
    assert fit.value("pad_radius")[0] == MEAN["pad_radius"]
    assert fit.uncertainty("pad_radius")[0] == 0.0


def test_one_valve_and_twelve_valves():
    for valves in (1, 12):
        _, readings, outputs = invented(21, valves, with_calipers(plan(valves)))
        found = fitted(readings, priors(valves)).sampled(outputs_of(valves))
        miss = (found["mean_ratio"].value - outputs["mean_ratio"]) / found["mean_ratio"].uncertainty
        assert np.max(np.abs(miss)) < 4.0


def test_draws_have_the_covariance_asked_for():
    covariance = np.array([[4.0, 1.0], [1.0, 0.5]])
    draws = drawn_from([np.array([1.0, 2.0])], [covariance], np.array([1.0]), 100_000, 2)
    assert np.cov(draws.T) == pytest.approx(covariance, rel=0.03)
    assert draws.mean(axis=0) == pytest.approx([1.0, 2.0], abs=1e-9)


def test_every_parameter_has_a_place():
    layout = Layout(priors(3))
    assert layout.mean.size == len(SHARED) + 3 * len(PER_VALVE)
    columns = layout.columns(np.arange(layout.mean.size, dtype=float)[np.newaxis])
    assert np.concatenate([columns[name][0] for name in (*SHARED, *PER_VALVE)]).tolist() == list(
        range(layout.mean.size)
    )


def test_what_a_shop_has_at_the_least():
    """Nominal ratio, six dial readings on three valves, ink on all twelve, calipers."""
    _, full, _ = invented(31, 12, with_calipers(plan(12, lifts=6)))
    kind = np.array(full.kind)
    keep = (kind == "dimension") | (kind == "near_edge") | (kind == "far_edge")
    keep |= (kind == "net_lift") & np.isin(full.valve, (0, 5, 11))
    some = replace(
        full,
        kind=(*kind[keep], "mean_ratio"),
        parameter=(*np.array(full.parameter)[keep], ""),
        valve=np.append(full.valve[keep], 0),
        at=np.append(full.at[keep], LOBE_LIFT),
        value=np.append(full.value[keep], 1.5),
        uncertainty=np.append(full.uncertainty[keep], 0.05),
        resolution=None,
    )
    _, readings, outputs = invented(31, 12, some)
    fit = fitted(readings, priors(12))
    found = fit.sampled(outputs_of(12))
    held = (found["sweep_width"].low <= outputs["sweep_width"]) & (
        outputs["sweep_width"] <= found["sweep_width"].high
    )
    assert held.mean() >= 0.9
    # A valve without dial readings is known less well than one with them.
    assert found["net_lift"].uncertainty[3] > found["net_lift"].uncertainty[0]
    assert found["height"].low[0] <= outputs["height"][0] <= found["height"].high[0]
