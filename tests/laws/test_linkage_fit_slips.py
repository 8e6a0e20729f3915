"""Readings that do not fit, the slip that is named for them, and readings that are refused."""

from dataclasses import replace

import numpy as np
import pytest

from tests.laws.invented_engines import (
    LOBE_LIFT,
    dial,
    invented,
    outputs_of,
    plan,
    priors,
    spoiled,
    wide,
    with_calipers,
)
from valvetrain.mechanics.fit.implausible import reading_warnings
from valvetrain.mechanics.fit.layout import SHARED, Layout, Priors
from valvetrain.mechanics.fit.linkage import fitted
from valvetrain.mechanics.fit.slips import transposed


@pytest.fixture(scope="module")
def engine():
    truth, readings, outputs = invented(5)
    return truth, readings, outputs


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


def test_transposed_digits_of_the_tappet_lift_are_named():
    _, readings, _ = invented(5, readings=plan_with_a_lift_of_402())
    index = dial(readings)[4]
    at = readings.at.copy()
    # Read at 4.02 mm, written 4.20.
    assert at[index] == pytest.approx(4.02e-3)
    at[index] = 4.20e-3
    fit = fitted(replace(readings, at=at), priors(3))
    assert [(one.index, one.slip) for one in fit.flagged] == [
        (index, "two digits of the tappet lift are transposed")
    ]


def plan_with_a_lift_of_402():
    """The usual readings, one of them at 4.02 mm of tappet lift."""
    readings = with_calipers(plan(3))
    at = readings.at.copy()
    at[dial(readings)[4]] = 4.02e-3
    return replace(readings, at=at)


def test_one_edge_far_off_is_not_called_exchanged(engine):
    _, readings, _ = engine
    near, far = readings.kind.index("near_edge"), readings.kind.index("far_edge")
    value = readings.value.copy()
    # The near edge where the far one lies, which is right: not the exchange of two.
    value[near] = value[far] - 2e-5
    (one,) = fitted(replace(readings, value=value), priors(3)).flagged
    assert one.index == near
    assert one.slip is None
    value[far] = readings.value[near]
    flagged = fitted(replace(readings, value=value), priors(3)).flagged
    assert {each.index for each in flagged} == {near, far}
    assert {each.slip for each in flagged} == {"near and far edge are exchanged"}


def test_a_band_read_from_the_rim_is_named(engine):
    _, readings, _ = engine
    edges = [readings.kind.index("near_edge"), readings.kind.index("far_edge")]
    value = readings.value.copy()
    value[edges] += 4.35e-3
    rim = np.full(value.size, 4.35e-3)
    flagged = fitted(replace(readings, value=value, rim=rim), priors(3)).flagged
    assert {each.index for each in flagged} == set(edges)
    assert all("from the rim" in str(each.slip) for each in flagged)
    marks = np.isin(readings.kind, ("near_edge", "far_edge"))
    every = replace(readings, value=readings.value + 4.35e-3 * marks, rim=rim)
    assert any("from the rim" in sentence for _, sentence in reading_warnings(every))
    assert not reading_warnings(replace(readings, rim=rim))


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


def test_gross_errors_do_not_pull():
    _, readings, _ = invented(8)
    wrong, indices = spoiled(readings, np.random.default_rng(8))
    clean, robust = (fitted(one, priors(3)).sampled(outputs_of(3)) for one in (readings, wrong))
    for name in ("mean_ratio", "net_lift", "sweep_middle"):
        shift = np.abs(robust[name].value - clean[name].value) / clean[name].uncertainty
        assert np.max(shift) < 2.5
    assert len(indices) == 3


def test_warnings(engine):
    _, readings, _ = engine
    assert reading_warnings(readings, 8e-3) == []
    one_lift = readings.at.copy()
    one_lift[dial(readings)] = LOBE_LIFT
    assert ["at one tappet lift" in text for _, text in reading_warnings(replace(readings, at=one_lift))] == [
        True
    ]
    value = readings.value.copy()
    near, far = readings.kind.index("near_edge"), readings.kind.index("far_edge")
    value[far] = value[near] + 9e-3
    assert reading_warnings(replace(readings, value=value), 8e-3) == [
        (0, "the mark is 9.00 mm wide on a tip of 8.00 mm")
    ]
    value[far] = value[near] - 2e-3
    assert "exchanged" in reading_warnings(replace(readings, value=value))[0][1]
    rows = dial(readings)
    value = readings.value.copy()
    value[rows], at = readings.at[rows], readings.at.copy()
    at[rows] = readings.value[rows]
    assert "two columns" in reading_warnings(replace(readings, value=value, at=at))[0][1]
