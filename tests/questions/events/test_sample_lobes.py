"""The engines' lobe tables are what their README says: one law, noise of a dial, and convex all round.

The law is written here a second time, from the README's words, and integrated by `scipy.integrate`.
"""

from dataclasses import dataclass

import numpy as np
import pytest
from scipy.integrate import cumulative_trapezoid

from tests.engine_folders import engine_folder
from valvetrain.parts.lobe_curve import lobe_curve
from valvetrain.questions.lash.setting import lash_setting_study
from valvetrain.setup.read import read_setup


@dataclass(frozen=True)
class Law:
    """A README's law: lifts and lengths [in], angles [cam deg]; `grows`: the deceleration grows."""

    lift: dict[str, float]
    ramp: float
    lengths: dict[str, float]
    start: float
    sine: float
    flank: dict[str, float]
    grows: float | None  # half a cosine over this share; None: a quarter of a sine wave to the nose
    base_radius: float
    noise: float


def roles(intake, exhaust):
    return {"intake": intake, "exhaust": exhaust}


def sides(opening, closing):
    return {"opening": opening, "closing": closing}


VEE = Law(
    roles(0.236, 0.229),
    0.013,
    sides(20, 25),
    4,
    13,
    roles(67.1, 69.0),
    None,
    base_radius=0.690,
    noise=0.00012,
)
LAWS = {
    "pump_vee": VEE,
    "reground_head": VEE,
    "launch_six": Law(
        roles(0.222, 0.217),
        0.0125,
        sides(21, 26),
        4,
        17,
        roles(66.2, 67.5),
        0.25,
        base_radius=0.655,
        noise=0.00014,
    ),
    "plain_six": Law(
        roles(0.260, 0.260),
        0.018,
        sides(30, 38),
        5,
        18,
        roles(59.0, 60.7),
        0.22,
        base_radius=0.625,
        noise=0.00015,
    ),
}


def stated(law, role, side):
    """Lift and its second derivative [in, in/rad^2] against cam degrees from the start of a ramp."""
    length, flank = law.lengths[side], law.flank[role]
    degrees = np.linspace(0, length + flank, 40001)
    angle = np.radians(degrees)
    speed = law.ramp / np.radians(length - law.start / 2)
    sine = (degrees >= length) & (degrees < length + law.sine)
    rest = degrees >= length + law.sine
    gain, loss = np.zeros_like(angle), np.zeros_like(angle)
    gain[sine] = np.sin(np.pi * (degrees[sine] - length) / law.sine)
    share = (degrees[rest] - length - law.sine) / (flank - law.sine)
    if law.grows is None:
        loss[rest] = np.sin(np.pi * share / 2)
    else:
        loss[rest] = np.where(share < law.grows, 0.5 - 0.5 * np.cos(np.pi * share / law.grows), 1.0)
    start = np.where(degrees < law.start, speed / np.radians(law.start), 0.0)

    def integrated(acceleration):
        velocity = cumulative_trapezoid(acceleration, angle, initial=0)
        return velocity, cumulative_trapezoid(velocity, angle, initial=0)

    curves = [integrated(each) for each in (start, gain, loss)]
    # The nose stands still at full lift: two linear equations for the two sizes of acceleration.
    ends = np.array([[curves[k][order][-1] for k in (1, 2)] for order in (0, 1)])
    sizes = np.linalg.solve(ends, [-curves[0][0][-1], law.lift[role] - curves[0][1][-1]])
    lift = curves[0][1] + sizes[0] * curves[1][1] + sizes[1] * curves[2][1]
    return degrees, lift, start + sizes[0] * gain + sizes[1] * loss


@pytest.fixture(params=LAWS)
def named(request):
    return request.param


@pytest.fixture
def setup(named):
    return read_setup(engine_folder(named))


@pytest.mark.parametrize("role", ["intake", "exhaust"])
def test_table_is_the_stated_law_with_the_stated_noise(named, setup, role):
    law = LAWS[named]
    lobe = setup.trains[setup.roles.index(role)].lobe
    from_nose = np.degrees(np.array(lobe.table.cam_angles)) - 180.0
    expected = np.zeros_like(from_nose)
    for side, length in law.lengths.items():
        degrees, lift, _ = stated(law, role, side)
        own = from_nose < 0 if side == "opening" else from_nose >= 0
        expected[own] = np.interp(length + law.flank[role] - np.abs(from_nose[own]), degrees, lift, left=0.0)
    noise = np.array(lobe.table.lifts) / 0.0254 - expected
    # 180 rows: the deviation of their deviation is 5 %; the mean's is 7 % of the noise.
    assert np.std(noise) == pytest.approx(law.noise, rel=0.2)
    assert abs(np.mean(noise)) < 0.3 * law.noise
    assert np.max(np.abs(noise)) < 4.5 * law.noise


@pytest.mark.parametrize("role", ["intake", "exhaust"])
@pytest.mark.parametrize("side", ["opening", "closing"])
def test_lobe_is_convex_for_a_flat_tappet(named, role, side):
    _, lift, acceleration = stated(LAWS[named], role, side)
    assert np.min(LAWS[named].base_radius + lift + acceleration) > 0.1


def test_lash_stays_on_the_ramps(named, setup):
    result = lash_setting_study(setup)
    for ramp in (result.opening_ramp, result.closing_ramp):
        # Within the doubt that the study itself states.
        assert np.all(np.abs(ramp.value / 0.0254 - LAWS[named].ramp) < 2 * ramp.uncertainty / 0.0254)
    known = ~np.isnan(result.ramp_left.value)
    assert np.all((result.ramp_left.value - 2 * result.ramp_left.uncertainty)[known] > 0)
    assert known.sum() == len(setup.valves) - (named == "reground_head")


@pytest.mark.parametrize(("healthy", "bad"), [("pump_vee", "reground_head"), ("plain_six", "faulted_six")])
@pytest.mark.parametrize("role", ["intake", "exhaust"])
def test_bad_work_on_the_heads_leaves_the_lobes(healthy, bad, role):
    one, other = engine_folder(healthy), engine_folder(bad)
    assert (one / f"{role}_lobe.csv").read_bytes() == (other / f"{role}_lobe.csv").read_bytes()
    law = LAWS[healthy]
    curve = lobe_curve(next(each.lobe for each in read_setup(one).trains if each.role == role))
    assert curve.max_lift / 0.0254 == pytest.approx(law.lift[role], abs=2 * law.noise)
