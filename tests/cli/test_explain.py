"""The command explain: names, steps that can and cannot be taken, proofs."""

import re

import pytest


@pytest.mark.parametrize(
    ("asked", "near"),
    [
        ("spring.sweep_width", "rocker.sweep_width"),
        ("piston_clearance", "exhaust_piston_clearance"),
        ("shim_change", "stand_shim_change"),
    ],
)
def test_explain_suggests_names_that_are_near(asked, near, sample, run):
    result = run("explain", sample(), asked)
    assert result.exit_code == 2
    assert near in result.stderr


def test_explain_lists_one_question(sample, run):
    result = run("explain", sample(), "rocker")
    assert result.exit_code == 0
    assert "sweep_width" in result.stdout
    assert "seat_load" not in result.stdout


def test_explain_by_a_verdict_of_some_valves_takes_one_of_those(sample, run):
    result = run("explain", sample(), "exhaust_piston_clearance")
    assert "judged at 1E" in result.stdout
    assert "Judged by exhaust_piston_clearance" in result.stdout


def test_explain_shows_the_steps_that_it_can_and_names_what_is_missing(sample, run, edited):
    folder = sample()
    edited(folder / "setup.toml", ('arm_angle = "172.0 +/- 0.4"\n', ""))
    result = run("explain", folder, "ratio_at_full_lift")
    assert "not evaluated: alpha unknown" in result.stdout
    assert "p = sqrt(l^2 - z^2)" in result.stdout
    assert "= 9.62" in result.stdout
    assert "Not known without: rocker.arm_angle." in result.stdout


def test_explain_proves_what_a_search_found(sample, run, document):
    folder = sample()
    result = run("explain", folder, "stand_shim_change_for_centered_sweep")
    assert "must come to nought" in result.stdout
    (one,) = document("explain", folder, "stand_shim_change_for_centered_sweep")["results"]["explanations"]
    assert one["substitution"] == []
    assert one["proof"][-1]["outcome"] == pytest.approx(0.0, abs=1e-9)


def test_explain_shows_small_steps_and_ends_in_the_results_own_unit(sample, run):
    result = run("explain", sample(), "film_at_nose")
    speed_group = result.stdout.split("U = eta*u/(2*Es*Rx)")[1].split("= ")[2]
    assert 1e-13 < float(speed_group.split()[0]) < 1e-10
    both = re.search(r"([\d.]+) uin, that is (\S+) m", " ".join(result.stdout.split()))
    assert both is not None
    assert float(both[1]) * 25.4e-9 == pytest.approx(float(both[2]), rel=0.05)  # uin shown to a digit


@pytest.mark.parametrize("name", ["lash_deviation", "lobe_wear"])
def test_explain_tells_of_lash_and_lobe_against_what_is_wanted(name, sample, run):
    result = run("explain", sample(), name)
    assert result.exit_code == 0
    assert f"Judged by {name}" in result.stdout
