"""Worked cases of levers, heights and clearances from public writing of the trade.

Status: common practice, no source; each answer is arithmetic on the facts given.
"""

import numpy as np
import pytest

from valvetrain.mechanics.piston.clearance import gap_at_top_dead_center, piston_to_valve
from valvetrain.mechanics.rocker.height_ledger import ITEMS, exposure_rates, implied_change
from valvetrain.mechanics.rocker.linkage import closed_position, pad_drop_and_ratio

INCH = 0.0254
PAD_ARM, SOCKET_ARM = 1.428 * INCH, 0.905 * INCH


def square_rocker():
    """Straight rocker with both arms square to stem and pushrod on the base circle: its ratio there is that
    of the arms. Pad radius and pushrod length are invented; neither enters the ratio of a square rocker."""
    return closed_position(
        setback=PAD_ARM,
        height=0.3 * INCH,
        pad_arm=PAD_ARM,
        pad_radius=0.3 * INCH,
        socket_arm=SOCKET_ARM,
        arm_angle=np.pi,
        lash=0.0,
        pushrod_planar_length=8 * INCH,
        tappet_setback=SOCKET_ARM,
        tappet_angle=0.0,
    )


def test_lever_of_1_428_to_0_905_has_a_ratio_of_1_58():
    _, ratio = pad_drop_and_ratio(square_rocker(), np.array([0.0]))
    assert ratio[0] == pytest.approx(1.58, abs=0.005)
    assert ratio[0] == pytest.approx(1.428 / 0.905, rel=1e-12)


def test_0_030_under_the_stands_gives_back_more_than_0_017_of_taller_tappets():
    """The stand lifts the shaft from the pushrod and from the tip: (1 + 1/ratio) of itself at the adjuster.

    So 0.030 covers the 0.017 of the tappets and 0.032 taken off head and block by unknown amounts.
    """
    rates = exposure_rates(square_rocker())
    moved = {
        name: change * INCH * (ITEMS[name][0] * rates.by_reach + ITEMS[name][1] * rates.by_rise)
        for name, change in {"tappet": 0.017, "stand": 0.030}.items()
    }
    assert moved["tappet"] / INCH == pytest.approx(-0.017, abs=1e-12)
    assert moved["stand"] / INCH == pytest.approx(0.030 * (1 + 0.905 / 1.428), abs=1e-12)
    unknown = implied_change(0.0, (0.030 - 0.017) * INCH, 0.030 * INCH, rates)
    assert unknown / INCH == pytest.approx(-(0.030 * (1 + 0.905 / 1.428) - 0.017), abs=1e-12)


@pytest.mark.parametrize("milled", [0.0, 0.020])
def test_side_valve_to_block_clearance(milled):
    """0.430 of recess and 0.030 of gasket less 0.353 of lift: 0.107, less what the head loses in milling.

    What stands over a side valve is a fixed face, so it is the piston's own formula with a piston at rest at
    top dead center.
    """
    gap = gap_at_top_dead_center(
        gasket=0.030 * INCH, deck_clearance=0.0, valve_recess=(0.430 - milled) * INCH, relief_depth=0.0
    )
    least = piston_to_valve([0.0], [0.353 * INCH], gap, stroke=3 * INCH, rod_length=6 * INCH)
    assert least[0] / INCH == pytest.approx(0.107 - milled, abs=1e-12)
