"""Fit of the linkage: recovery, gross errors with their slip, what cannot be known, and bad input."""

from dataclasses import replace

import numpy as np
import pytest
from invented_engines import (
    DEVIATION,
    LOBE_LIFT,
    MEAN,
    invented,
    plan,
    priors,
    spoiled,
    with_calipers,
)

from valvetrain.mechanics.linkage_fit import fitted
from valvetrain.mechanics.linkage_fit_model import ReadingModel, linkage_outputs
from valvetrain.mechanics.linkage_fit_modes import drawn_from, mixed
from valvetrain.mechanics.linkage_fit_next import uncertainty_after_reading
from valvetrain.mechanics.linkage_fit_readings import PER_VALVE, SHARED, Layout, Priors
from valvetrain.mechanics.linkage_fit_slips import transposed
from valvetrain.mechanics.rocker_linkage import closed_position, pushrod_planar_length_for, swung


def outputs_of(valves):
    return lambda columns: linkage_outputs(columns, np.full(valves, LOBE_LIFT))


def dial(readings, valve=1):
    """Indices of one valve's dial readings."""
    kinds = np.array(readings.kind)
    return np.flatnonzero((kinds == "net_lift") & (readings.valve == valve))


def without(readings, index):
    keep = np.arange(len(readings.kind)) != index
    return replace(
        readings,
        kind=tuple(np.array(readings.kind)[keep]),
        parameter=tuple(np.array(readings.parameter)[keep]),
        **{
            name: getattr(readings, name)[keep]
            for name in ("valve", "at", "value", "uncertainty", "resolution")
        },
    )


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
    found = fit.carried(outputs_of(3))
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


SLIPS = [
    ("net_lift", lambda value, truth: value / 25.4, "inches were written as millimeters"),
    ("net_lift", lambda value, truth: value * 25.4, "millimeters were written as inches"),
    ("net_lift", lambda value, truth: value + truth, "gross lift was given for net: the lash is included"),
    ("near_edge", lambda value, truth: value + 8e-3, None),
]


@pytest.mark.parametrize(("kind", "spoil", "words"), SLIPS)
def test_slip_is_named(engine, kind, spoil, words):
    truth, readings, _ = engine
    index = dial(readings)[5] if kind == "net_lift" else readings.kind.index(kind)
    value = readings.value.copy()
    value[index] = spoil(value[index], truth[Layout(priors(3)).place("lash")][1])
    fit = fitted(replace(readings, value=value), priors(3))
    assert [(one.index, one.slip) for one in fit.flagged] == [(index, words)]
    assert not fit.used[index]
    assert fit.flagged[0].predicted == pytest.approx(
        readings.value[index], abs=6 * readings.uncertainty[index]
    )


def test_transposed_digits_are_named(engine):
    _, readings, _ = engine
    index = dial(readings)[6]
    value = readings.value.copy()
    # Written to 0.01 mm; exchange the two digits that change it most.
    value[index] = max(transposed(round(value[index], 5), 1e-5), key=lambda one: abs(one - value[index]))
    fit = fitted(replace(readings, value=value), priors(3))
    assert [(one.index, one.slip) for one in fit.flagged] == [(index, "two digits are transposed")]


def test_net_for_gross_is_named():
    _, plain, _ = invented(5)
    kinds = tuple("gross_lift" if kind == "net_lift" else kind for kind in plain.kind)
    truth, readings, _ = invented(5, readings=replace(plain, kind=kinds))
    index = 4
    value = readings.value.copy()
    value[index] -= truth[Layout(priors(3)).place("lash")][0]
    fit = fitted(replace(readings, value=value), priors(3))
    assert [(one.index, one.slip) for one in fit.flagged] == [
        (index, "net lift was given for gross: the lash was in")
    ]


def test_cam_degrees_for_crank_are_named():
    _, plain, _ = invented(5)
    angle = np.linspace(-2.2, 2.2, 200)
    curve = LOBE_LIFT * np.cos(angle / 2.2 * np.pi / 2) ** 2
    at = plain.at.copy()
    crank = np.full(at.size, np.nan)
    for valve in range(3):
        crank[dial(plain, valve)] = np.linspace(-1.7, 0.0, 8)
    at[~np.isnan(crank)] = np.nan
    _, readings, _ = invented(
        5, readings=replace(plain, at=at, crank_angle=crank, curve_angle=angle, curve_lift=curve)
    )
    assert not fitted(readings, priors(3)).flagged
    index = dial(readings)[2]
    wrong = crank.copy()
    wrong[index] /= 2.0
    fit = fitted(replace(readings, crank_angle=wrong), priors(3))
    assert [(one.index, one.slip) for one in fit.flagged] == [(index, "cam degrees were given for crank")]


def test_transposed_lists_neighbors_only():
    assert transposed(12.34e-3, 1e-5) == pytest.approx([21.34e-3, 13.24e-3, 12.43e-3])
    assert transposed(-0.12e-3, 1e-5) == pytest.approx([-1.02e-3, -0.21e-3])


def wide(**deviations):
    changed = DEVIATION | deviations
    return Priors(
        3,
        {name: np.array(one) for name, one in MEAN.items()},
        {name: np.array(one) for name, one in changed.items()},
    )


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
    assert fit.carried(outputs_of(3))["height"].uncertainty[0] < 1e-3


def test_a_mirrored_answer_is_kept_and_a_closed_mark_decides():
    # The arm is square to the stem at 0.39 of the lift; 0.61 leaves nearly the same pattern.
    truth, readings, outputs = invented(30)
    fit = fitted(readings, priors(3))
    assert len(fit.modes) == 2
    assert sum(mode.weight for mode in fit.modes) == pytest.approx(1.0)
    assert "a mark made with the valve closed" in fit.ambiguity
    found = fit.carried(outputs_of(3))["height"]
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
    sharper = fitted(marked, priors(3)).carried(outputs_of(3))["height"]
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
    foretold = uncertainty_after_reading(fit, candidates, outputs_of(3))["sweep_middle"]
    now = fit.sampled(outputs_of(3))["sweep_middle"].uncertainty
    then = fitted(readings, priors(3)).sampled(outputs_of(3))["sweep_middle"].uncertainty
    assert np.all(foretold <= now + 1e-12)
    assert foretold[0, 0] < foretold[1, 0]
    assert foretold[0] == pytest.approx(then, rel=0.25)


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


def test_mixture_of_one_is_a_normal_and_of_two_holds_both():
    one = mixed(np.array([[3.0]]), np.array([[2.0]]), np.array([1.0]), 0.95)
    assert one.low[0] == pytest.approx(3.0 - 1.959964 * 2.0, abs=1e-5)
    two = mixed(np.array([[0.0], [10.0]]), np.array([[1e-3], [1e-3]]), np.array([0.5, 0.5]), 0.95)
    assert (two.low[0], two.high[0]) == (pytest.approx(0.0, abs=0.01), pytest.approx(10.0, abs=0.01))
    assert two.uncertainty[0] == pytest.approx(5.0, rel=1e-6)


def test_draws_have_the_covariance_asked_for():
    covariance = np.array([[4.0, 1.0], [1.0, 0.5]])
    draws = drawn_from([np.array([1.0, 2.0])], [covariance], np.array([1.0]), 100_000, 2)
    assert np.cov(draws.T) == pytest.approx(covariance, rel=0.03)
    assert draws.mean(axis=0) == pytest.approx([1.0, 2.0], abs=1e-9)


def test_bad_input_is_told_with_its_reading(engine):
    _, readings, _ = engine
    value = readings.value.copy()
    value[3] = -1e-3
    with pytest.raises(ValueError, match="reading 4: valve lift with the lash in is negative"):
        fitted(replace(readings, value=value), priors(3))
    value[0] = np.nan
    with pytest.raises(ValueError, match=r"reading 1: .* no value; reading 4"):
        fitted(replace(readings, value=value), priors(3))
    with pytest.raises(ValueError, match="kind of reading 'lift' is unknown"):
        fitted(replace(readings, kind=("lift", *readings.kind[1:])), priors(3))
    with pytest.raises(ValueError, match="valve 7 is not among the 3"):
        fitted(replace(readings, valve=np.append(7, readings.valve[1:])), priors(3))
    with pytest.raises(ValueError, match="no readings"):
        fitted(replace(readings, kind=()), priors(3))
    with pytest.raises(ValueError, match="no prior for height"):
        fitted(readings, Priors(3, {key: np.array(1.0) for key in SHARED if key != "height"}, {}))
    with pytest.raises(ValueError, match="no such parameter"):
        fitted(readings, Priors(3, {"hight": np.array(1.0)}, {}))
    with pytest.raises(ValueError, match="cannot be assembled at the priors"):
        fitted(readings, replace(wide(), mean=dict(wide().mean) | {"height": np.array(0.2)}))


def test_swapped_columns_contradict(engine):
    _, readings, _ = engine
    rows = np.array(readings.kind) == "net_lift"
    value, at = readings.value.copy(), readings.at.copy()
    value[rows], at[rows] = readings.at[rows], np.maximum(readings.value[rows], 0.0)
    with pytest.raises(ValueError, match="contradict the rest"):
        fitted(replace(readings, value=value, at=at), priors(3))


def test_every_parameter_has_a_place():
    layout = Layout(priors(3))
    assert layout.mean.size == len(SHARED) + 3 * len(PER_VALVE)
    columns = layout.columns(np.arange(layout.mean.size, dtype=float)[np.newaxis])
    assert np.concatenate([columns[name][0] for name in (*SHARED, *PER_VALVE)]).tolist() == list(
        range(layout.mean.size)
    )


def test_gross_errors_do_not_pull():
    _, readings, _ = invented(8)
    wrong, indices = spoiled(readings, np.random.default_rng(8))
    clean, robust = (fitted(one, priors(3)).sampled(outputs_of(3)) for one in (readings, wrong))
    for name in ("mean_ratio", "net_lift", "sweep_middle"):
        shift = np.abs(robust[name].value - clean[name].value) / clean[name].uncertainty
        assert np.max(shift) < 2.5
    assert len(indices) == 3
