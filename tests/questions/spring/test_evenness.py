"""Springs among those of their role: which a plan of shims would set too low, and what is said instead.

Expected values are worked out by hand; the engines are invented.
"""

import numpy as np

from valvetrain.questions.rocker.study import rocker_study
from valvetrain.questions.spring.advice import cure_sentence
from valvetrain.questions.spring.checks import planned_verdicts, spring_checks
from valvetrain.questions.spring.evenness import from_middle
from valvetrain.questions.spring.study import spring_study
from valvetrain.setup.read import read_setup

LBF = 4.4482216152605
ROLES = ("intake", "exhaust", "intake", "exhaust", "intake", "exhaust")


def test_height_is_taken_from_the_middle_of_its_own_role():
    height = np.array([36.0, 40.0, 36.2, np.nan, 37.0, 41.0])
    np.testing.assert_allclose(from_middle(height, ROLES), [-0.2, -0.5, 0.0, np.nan, 0.8, 0.5])


def studied(folder, **options):
    setup = read_setup(folder)
    return setup, spring_study(setup, rocker_study(setup), **options)


def roomy(folder):
    """Coils that close lower: bind is then in nobody's way."""
    path = folder / "valves.csv"
    path.write_text(path.read_text().replace(",1.16", ",1.06").replace(",1.15", ",1.05"))
    return folder


def weakened(folder, share):
    """Make the loads of spring S9, on 5I, a share of what they are."""
    path = folder / "springs.csv"
    lines = []
    for line in path.read_text().splitlines():
        cells = line.split(",")
        if cells[0] == "S9":
            cells[2] = f"{float(cells[2]) * share:.2f}"
        lines.append(",".join(cells))
    path.write_text("\n".join(lines))
    return folder


def test_no_plan_puts_a_spring_outside_that_is_inside(sample):
    setup, result = studied(roomy(weakened(sample(), 0.88)), every=True)
    assert "out" not in planned_verdicts(spring_checks(setup, result, "inch"), result)


def test_a_weak_spring_that_shims_would_set_too_low_is_replaced(sample):
    setup, result = studied(roomy(weakened(sample(), 0.72)))
    index = setup.valves.index("5I")
    assert result.plan.valves[index].reason.code == "uneven"
    assert not result.plan.valves[index].changed
    text = cure_sentence(setup, result, index, "inch")
    assert "spring S9 is too weak" in text
    assert "lower among the valves of its role than allowed" in text
    assert "breaks" not in text
    assert "retainer" not in text


def test_a_matched_plan_says_which_spring_goes_where(sample):
    setup, result = studied(weakened(sample(), 0.72), match=True)
    index = setup.valves.index("5I")
    new = result.spring_after[index]
    assert new != "S9"
    goes = setup.valves[result.spring_after.index("S9")]
    text = cure_sentence(setup, result, index, "inch")
    assert text.startswith(f"Fit spring {new} in place of S9, which goes to {goes}")
    assert f"{result.seat_load_after.value[index] / LBF:.1f} lbf on the seat" in text


def test_where_the_weak_spring_goes_in_a_matched_plan_is_said_too(sample, run):
    folder = weakened(sample(), 0.72)
    text = " ".join(run("spring", folder, "--match").stdout.split())
    assert "and no shim puts that right: fit another spring" in text


def test_a_height_apart_because_of_others_asks_for_nothing_at_that_valve(sample):
    """Three of six intake springs stand 0.060 in on shims and too low: the middle lies between the two."""
    folder = sample()
    path = folder / "valves.csv"
    lines = [line for line in path.read_text().splitlines() if not line.startswith("#")]
    rows = [line.split(",") for line in lines]
    rows[0].append("shims_fitted")
    for cells in rows[1:]:
        cells.append("0")
        if cells[0] in ("1I", "2I", "3I"):
            cells[5] = f"{float(cells[5]) - 0.060:.3f}"
            cells[-1] = "0.060"
    path.write_text("\n".join(map(",".join, rows)))
    setup, result = studied(folder)
    checks = spring_checks(setup, result, "inch")
    advice = {each.valve: each.advice for each in checks if each.id == "installed_height_deviation"}
    assert "take out 0.0600 in" in advice["1I"]
    assert "Nothing is to be done here" in advice["4I"]
    assert not advice["4E"]


def test_a_height_apart_that_no_plan_touches_is_read_again(sample, edited):
    folder = sample()
    edited(folder / "setup.toml", ("seat_load_target", "#seat_load_target"))
    edited(folder / "valves.csv", ("4I,S7,0.004,0.0056,1.899,1.599", "4I,S7,0.004,0.0056,1.899,1.636"))
    setup, result = studied(folder)
    checks = spring_checks(setup, result, "inch")
    (own,) = (e for e in checks if e.id == "installed_height_deviation" and e.valve == "4I")
    assert own.verdict == "out"
    assert own.advice.startswith("Read it again.")
