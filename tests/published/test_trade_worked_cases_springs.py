"""Worked spring cases from the trade's public writing; the answers are arithmetic on the facts given.

Status: common practice, no source.
"""

import numpy as np
import pytest

from valvetrain.mechanics.spring.nested import set_load
from valvetrain.mechanics.spring.shim_limits import ShimLimits
from valvetrain.mechanics.spring.shim_stacks import ShimStock
from valvetrain.mechanics.spring.shims import chosen_shims
from valvetrain.mechanics.spring.tester import fitted_spring_line

INCH, POUND_FORCE = 0.0254, 4.4482216152605
RATE = POUND_FORCE / INCH


def test_100_lb_at_1_750_and_300_lb_per_inch_is_250_lb_open_at_half_an_inch():
    load = set_load((1.750 - 0.500) * INCH, [300 * RATE], [1.750 * INCH], [100 * POUND_FORCE])
    assert load.load / POUND_FORCE == pytest.approx(250.0, rel=1e-12)
    line = fitted_spring_line(np.array([1.750, 1.250]) * INCH, np.array([100.0, 250.0]) * POUND_FORCE)
    assert line.rate / RATE == pytest.approx(300.0, rel=1e-12)
    assert line.load_at(1.500 * INCH) / POUND_FORCE == pytest.approx(175.0, rel=1e-12)


def test_stocked_shims_bring_a_mild_set_near_80_lb():
    # Shims of 0.015, 0.030, 0.060, 0.060 at most in a stack, 0.050 bind clearance: common practice.
    # The springs are invented: 80 lb at 1.650, 200 lb/in, solid at 1.150; heights 0.015 to 0.060 too tall.
    tall = np.array([0.0, 0.015, 0.030, 0.045, 0.060, 0.080])
    plan = chosen_shims(
        (1.650 + tall) * INCH,
        0.370 * INCH,
        1.150 * INCH,
        lambda height: (80 - 200 * (height / INCH - 1.650)) * POUND_FORCE,
        ShimStock((0.015 * INCH, 0.030 * INCH, 0.060 * INCH)),
        ShimLimits(76 * POUND_FORCE, 84 * POUND_FORCE, 0.050 * INCH, 0.060 * INCH),
    )
    np.testing.assert_allclose(plan.thickness / INCH, [0, 0.015, 0.030, 0.045, 0.060, 0.060], atol=1e-12)
    np.testing.assert_allclose(plan.after.seat_load / POUND_FORCE, [80, 80, 80, 80, 80, 76], rtol=1e-9)
    np.testing.assert_allclose(plan.after.bind_clearance[:5] / INCH, 0.130, rtol=1e-9)
    assert plan.stack.tolist() == [[0, 0, 0], [1, 0, 0], [0, 1, 0], [1, 1, 0], [0, 0, 1], [0, 0, 1]]
    assert plan.reasons == (None,) * 6


def test_a_wrong_spring_shimmed_up_to_its_load_would_bind():
    # "After shimming check coil bind again; a wrong spring shimmed up to its load breaks."
    plan = chosen_shims(
        np.array([1.700 * INCH]),
        0.450 * INCH,
        1.180 * INCH,
        lambda height: (60 - 200 * (height / INCH - 1.700)) * POUND_FORCE,
        ShimStock((0.015 * INCH, 0.030 * INCH, 0.060 * INCH)),
        ShimLimits(76 * POUND_FORCE, 84 * POUND_FORCE, 0.050 * INCH, 0.120 * INCH),
    )
    # 80 thousandths are needed for 76 lb, and only 20 are left above solid and the clearance.
    reason = plan.reasons[0]
    assert reason is not None
    assert (reason.code, reason.wrong_spring) == ("would_bind", True)
    assert reason.thickness_low / INCH == pytest.approx(0.080, rel=1e-9)
    assert reason.thickness_high / INCH == pytest.approx(0.020, rel=1e-9)
    assert np.isnan(plan.after.seat_load[0])
