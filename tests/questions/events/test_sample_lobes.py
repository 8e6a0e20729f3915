"""The samples' lobe tables are what their README says: one law, noise of a dial, and convex all round.

The law is written here a second time, from the README's words, and integrated by `scipy.integrate`.
"""

import numpy as np
import pytest
from scipy.integrate import cumulative_trapezoid

from valvetrain.parts.lobe_curve import lobe_curve
from valvetrain.questions.lash.setting import lash_setting_study
from valvetrain.setup.read import read_setup

LIFT, RAMP, BASE_RADIUS, NOISE = 0.260, 0.018, 0.625, 0.00015
FLANK = {"intake": 59.0, "exhaust": 60.7}
LENGTH = {"opening": 30.0, "closing": 38.0}


def stated(flank, length):
    """Lift and its second derivative [in, in/rad^2] against cam degrees from the start of a ramp."""
    degrees = np.linspace(0, length + flank, 40001)
    angle = np.radians(degrees)
    speed = RAMP / np.radians(length - 5 / 2)
    sine = (degrees >= length) & (degrees < length + 18)
    rest = degrees >= length + 18
    gain, loss = np.zeros_like(angle), np.zeros_like(angle)
    gain[sine] = np.sin(np.pi * (degrees[sine] - length) / 18)
    share = (degrees[rest] - length - 18) / (flank - 18)
    loss[rest] = np.where(share < 0.22, 0.5 - 0.5 * np.cos(np.pi * share / 0.22), 1.0)
    start = np.where(degrees < 5, speed / np.radians(5), 0.0)

    def integrated(acceleration):
        velocity = cumulative_trapezoid(acceleration, angle, initial=0)
        return velocity, cumulative_trapezoid(velocity, angle, initial=0)

    curves = [integrated(each) for each in (start, gain, loss)]
    # The nose stands still at full lift: two linear equations for the two sizes of acceleration.
    ends = np.array([[curves[k][order][-1] for k in (1, 2)] for order in (0, 1)])
    sizes = np.linalg.solve(ends, [-curves[0][0][-1], LIFT - curves[0][1][-1]])
    lift = curves[0][1] + sizes[0] * curves[1][1] + sizes[1] * curves[2][1]
    return degrees, lift, start + sizes[0] * gain + sizes[1] * loss


@pytest.fixture(params=["launch_six", "reground_head"])
def setup(request, sample):
    return read_setup(sample(request.param))


@pytest.mark.parametrize("role", FLANK)
def test_table_is_the_stated_law_with_the_stated_noise(setup, role):
    lobe = setup.trains[setup.roles.index(role)].lobe
    from_nose = np.degrees(np.array(lobe.table.cam_angles)) - 180.0
    expected = np.zeros_like(from_nose)
    for side, length in LENGTH.items():
        degrees, lift, _ = stated(FLANK[role], length)
        own = from_nose < 0 if side == "opening" else from_nose >= 0
        expected[own] = np.interp(length + FLANK[role] - np.abs(from_nose[own]), degrees, lift, left=0.0)
    noise = np.array(lobe.table.lifts) / 0.0254 - expected
    # 180 rows: the deviation of their deviation is 5 %; the mean's is 7 % of the noise.
    assert np.std(noise) == pytest.approx(NOISE, rel=0.2)
    assert abs(np.mean(noise)) < 0.3 * NOISE
    assert np.max(np.abs(noise)) < 4.5 * NOISE


@pytest.mark.parametrize("role", FLANK)
@pytest.mark.parametrize("side", LENGTH)
def test_lobe_is_convex_for_a_flat_tappet(role, side):
    _, lift, acceleration = stated(FLANK[role], LENGTH[side])
    assert np.min(BASE_RADIUS + lift + acceleration) > 0.1


def test_lash_stays_on_the_ramps(setup):
    result = lash_setting_study(setup)
    for ramp in (result.opening_ramp, result.closing_ramp):
        # Within the doubt that the study itself states.
        assert np.all(np.abs(ramp.value / 0.0254 - RAMP) < 2 * ramp.uncertainty / 0.0254)
    known = ~np.isnan(result.ramp_left.value)
    assert np.all((result.ramp_left.value - 2 * result.ramp_left.uncertainty)[known] > 0)
    assert known.sum() == len(setup.valves) - (setup.title.startswith("Reground"))


def test_both_samples_share_their_lobes(sample):
    one, other = sample("launch_six"), sample("reground_head")
    for role in FLANK:
        assert (one / f"{role}_lobe.csv").read_bytes() == (other / f"{role}_lobe.csv").read_bytes()
        curve = lobe_curve(next(each.lobe for each in read_setup(one).trains if each.role == role))
        assert curve.max_lift / 0.0254 == pytest.approx(LIFT, abs=2 * NOISE)
