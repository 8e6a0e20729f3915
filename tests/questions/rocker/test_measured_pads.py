"""Doubt of a pad measured point by point: against the same invented pad read finely and without error."""

from dataclasses import replace

import numpy as np
import pytest

from valvetrain.questions.rocker.study import rocker_study
from valvetrain.setup.read import read_setup

SPACING = 0.012  # in, along the face
QUANTITIES = ("sweep_middle", "contact_closed", "contact_full", "ratio_at_half_lift", "ratio_at_opening")


def face(places, hollow):
    """A circle of half an inch with a smooth hollow of that depth, three tenths wide [in]."""
    around = -0.5 * np.pi + places
    x, y = 1.2 + 0.5 * np.cos(around), 0.5 * np.sin(around)
    across = (x - 1.2) / 0.15
    return np.stack([x, y + np.where(np.abs(across) < 1, hollow * (1 - across**2), 0.0)], axis=-1)


def studied(folder, points):
    rows = "\n".join(f"{x:.6f},{y:.6f}" for x, y in points)
    (folder / "pad.csv").write_text(f"x,y\n{rows}")
    setup = read_setup(folder)
    one = replace(setup, trains=setup.trains[:1], tested_springs=setup.tested_springs[:1], shaft_rows=())
    return rocker_study(one)


@pytest.mark.parametrize("hollow", [0.004, 0.020])
@pytest.mark.parametrize("scatter", [0.0, 0.0003])
def test_error_of_a_hollow_pad_is_within_its_doubt(hollow, scatter, sample, edited):
    folder = sample()
    edited(folder / "setup.toml", ('tip = "pad"', 'tip = "pad"\npad_outline = "pad.csv"'))
    true = studied(folder, face(np.linspace(-0.6, 0.6, 1201), hollow))
    off = []
    for seed in range(3):
        generator = np.random.default_rng(seed)
        step = SPACING / 0.5
        points = face(np.arange(-0.6 + step * generator.random(), 0.6, step), hollow)
        read = studied(folder, points + scatter * generator.standard_normal(points.shape))
        for name in QUANTITIES:
            quantity = getattr(read, name)
            # Of the outline alone: everything else is the same in both.
            own = [part[0] for key, part in quantity.contributions.items() if "pad_outline" in key]
            off.append((quantity.value[0] - getattr(true, name).value[0]) / np.linalg.norm(own))
    assert np.max(np.abs(off)) < 3.0
    assert np.sqrt(np.mean(np.square(off))) < 1.7


def test_a_smooth_and_fine_table_is_as_sure_as_before(sample, edited):
    folder = sample()
    edited(folder / "setup.toml", ('tip = "pad"', 'tip = "pad"\npad_outline = "pad.csv"'))
    parts = studied(folder, face(np.linspace(-0.6, 0.6, 1201), 0.0)).sweep_middle.contributions
    whole = np.hypot(parts["rocker.pad_outline x"], parts["rocker.pad_outline y"])[0]
    assert "rocker.pad_outline points" not in parts
    assert abs(parts["rocker.pad_outline spacing"][0]) < 0.05 * whole
