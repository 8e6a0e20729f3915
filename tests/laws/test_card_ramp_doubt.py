"""Where a card's lowest lift is on a slow ramp, lift-off at the lash lies within the doubt that is told."""

import numpy as np
import pytest
from scipy.optimize import brentq

from valvetrain.mechanics.cam.card import lift_curve_from_card
from valvetrain.mechanics.cam.card_doubt import SHARE_BETWEEN, flank_doubt
from valvetrain.mechanics.cam.events import crossings

MM = 1e-3


def _ramped(lift, half, ramp, width):
    """Return a closed-form lobe: a bell of three powers on a ramp of its own [mm over cam degrees]."""

    def at(angle):
        bell = (lift - ramp) * (1 - min(angle / half, 1.0) ** 2) ** 3
        along = min(max((angle - half + 8) / width, 0.0), 1.0)
        return bell + ramp * (1 - along + np.sin(2 * np.pi * along) / (2 * np.pi))

    return at


@pytest.mark.parametrize("lifts", [(0.15, 1.27), (0.15, 1.0), (0.15, 0.5, 1.27)])
@pytest.mark.parametrize("level", [0.20, 0.25, 0.30, 0.40])
def test_flank_at_the_lash_lies_within_its_doubt(lifts, level):
    random = np.random.default_rng(11)
    missed = []
    for _ in range(40):
        lobe = _ramped(
            random.uniform(6, 9), random.uniform(58, 68), random.uniform(0.15, 0.4), random.uniform(18, 36)
        )
        known = [brentq(lambda x, h=h, f=lobe: f(x) - h, 0.1, 110) for h in (*lifts, level)]
        half, true = np.radians(known[:-1]), np.radians(known[-1])
        curve = lift_curve_from_card(np.array(lifts) * MM, 2 * half, lobe(0.0) * MM)
        found = float(crossings(curve, level * MM).closing)
        missed.append((found - true) / float(flank_doubt(level * MM, found, np.array(lifts) * MM, half)))
    beyond = np.abs(missed) > 2
    assert beyond.mean() <= 0.10, (beyond.mean(), np.abs(missed).max())
    assert np.abs(missed).max() < 3.5


def test_above_every_ramp_the_doubt_stays_small():
    lifts, angles = np.array([0.15, 1.27]) * MM, np.radians([66.0, 50.0])
    doubt = float(flank_doubt(0.6 * MM, np.radians(57.0), lifts, angles))
    assert doubt == pytest.approx(SHARE_BETWEEN * np.radians(7.0))
