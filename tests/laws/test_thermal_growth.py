"""Thermal growth: limits, signs, uncertainty against Monte Carlo (derived)."""

from dataclasses import replace

import numpy as np
import pytest

from valvetrain.mechanics.cam.thermal_growth import (
    Segment,
    chosen_growth,
    cold_lash_for,
    growth_from_pair,
    hot_lash,
    lash_growth,
    shaft_shift,
)

HEAD = Segment("head", "iron", 0.1, 11e-6, 80.0, 1e-3, 0.7e-6, 8.0, "head")
VALVE = Segment("valve", "steel", 0.11, 12e-6, 150.0, 0.5e-3, 0.6e-6, 30.0)
BLOCK = Segment("block", "iron", 0.15, 11e-6, 70.0, 1e-3, 0.7e-6, 5.0, "block")
ROD = Segment("pushrod", "steel", 0.25, 12e-6, 70.0, 0.5e-3, 0.6e-6, 8.0, "head")


def growth(head=HEAD, valve=VALVE, block=BLOCK, rod=ROD, ratio=1.5, **kwargs):
    return lash_growth(
        shaft_above_seat=[head],
        valve=[valve],
        shaft_above_cam=[block, head],
        tappet_and_pushrod=[rod],
        ratio=ratio,
        **kwargs,
    )


def test_one_material_at_one_temperature_grows_only_by_the_difference_of_the_paths():
    same = [replace(s, expansion=12e-6, rise=80.0) for s in (HEAD, VALVE, BLOCK, ROD)]
    wanted = 12e-6 * 80 * (0.1 - 0.11 + 1.5 * (0.15 + 0.1 - 0.25))
    assert growth(*same).value == pytest.approx(wanted)


def test_hotter_valves_close_the_lash_and_hotter_heads_open_it():
    assert growth(valve=replace(VALVE, rise=200.0)).value < growth().value
    assert growth(head=replace(HEAD, rise=100.0)).value > growth().value


def test_uncertainty_agrees_with_monte_carlo_where_causes_are_shared():
    rng = np.random.default_rng(3)
    n = 20000
    alpha = {
        "iron": 11e-6 + 0.7e-6 * rng.standard_normal(n),
        "steel": 12e-6 + 0.6e-6 * rng.standard_normal(n),
    }
    zone = {"head": rng.standard_normal(n), "block": rng.standard_normal(n), "": rng.standard_normal(n)}
    ratio = 1.5 + 0.05 * rng.standard_normal(n)

    def sampled(s):
        length = s.length + s.length_uncertainty * rng.standard_normal(n)
        return alpha[s.material] * length * (s.rise + s.rise_uncertainty * zone[s.zone])

    seat, head = sampled(HEAD), sampled(HEAD)
    samples = seat - sampled(VALVE) + ratio * (sampled(BLOCK) + head - sampled(ROD))
    got = growth(ratio_uncertainty=0.05)
    assert got.uncertainty == pytest.approx(float(np.std(samples)), rel=0.03)
    assert got.value == pytest.approx(float(np.mean(samples)), abs=4 * got.uncertainty / np.sqrt(n) + 5e-8)


def test_a_measured_pair_overrides_the_table():
    measured = growth_from_pair(0.40e-3, 0.45e-3, 0.01e-3, 0.02e-3)
    assert chosen_growth(growth(), measured) is measured
    assert measured.measured
    assert measured.value == pytest.approx(0.05e-3)
    assert measured.uncertainty == pytest.approx(np.sqrt(5) * 1e-5)
    computed = growth()
    assert chosen_growth(computed, None) is computed
    assert chosen_growth(computed, growth_from_pair(np.nan, 0.4e-3)) is computed


def test_setting_cold_for_hot_is_a_round_trip():
    change = growth_from_pair(0.40e-3, 0.32e-3)
    cold, possible = cold_lash_for([0.30e-3, 0.50e-3], change)
    assert cold == pytest.approx([0.38e-3, 0.58e-3])
    assert hot_lash(cold, change) == pytest.approx([0.30e-3, 0.50e-3])
    assert possible.all()


def test_lash_that_closes_is_zero_and_lash_that_cannot_be_set_is_said():
    assert hot_lash(0.05e-3, growth_from_pair(0.40e-3, 0.32e-3)) == 0.0
    _, possible = cold_lash_for(0.05e-3, growth_from_pair(0.3e-3, 0.4e-3))
    assert not possible


def test_the_shaft_moves_away_from_where_it_is_fixed():
    materials = {"shaft_expansion": 12e-6, "shaft_rise": 80, "head_expansion": 21.5e-6, "head_rise": 80}
    got = shaft_shift([0.0, 0.3, 0.6], 0.3, **materials)
    assert got[1] == 0.0
    assert got[0] == pytest.approx(-got[2])
    assert got[2] == pytest.approx(-0.3 * 9.5e-6 * 80)  # the head outgrows a steel shaft


def test_unknown_stays_unknown_and_a_bad_ratio_is_named():
    assert np.isnan(growth(head=replace(HEAD, rise=np.nan)).value)
    with pytest.raises(ValueError, match="ratio"):
        growth(ratio=0.0)
