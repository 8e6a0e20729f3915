"""R. L. Norton, *Design of Machinery*, 6th edition, chapters 4, 6 and 7: four-bar and offset slider-crank.

Status: link data seen in a public re-keying of the worked examples; printed answers from memory. Tolerances
are half a unit of the last printed digit.
"""

import numpy as np
import pytest

from valvetrain.mechanics.fit.loop_closure import (
    four_bar_accelerations,
    four_bar_angles,
    four_bar_velocities,
    slider_crank_driven_by_slider,
    slider_crank_position,
    slider_crank_velocity,
)

FOUR_BAR = {"crank": 40.0, "coupler": 120.0, "output": 80.0, "crank_angle": np.radians(40.0)}
SLIDER = {"crank": 40.0, "rod": 120.0}


@pytest.mark.parametrize(
    ("crossed", "coupler", "output"),
    [(False, 20.298, 57.325), (True, -60.978, -98.005)],
    ids=["Ex. 4-1 open", "Ex. 4-1 crossed"],
)
def test_four_bar_position(crossed, coupler, output):
    angles = four_bar_angles(**FOUR_BAR, ground=100.0, crossed=crossed)
    assert np.degrees(angles.coupler) == pytest.approx(coupler, abs=0.0005)
    assert np.degrees(angles.output) == pytest.approx(output, abs=0.0005)


def test_four_bar_velocity_and_acceleration():
    """Examples 6-7 (25 rad/s) and 7-2 (15 rad/s^2 as well), open assembly."""
    angles = four_bar_angles(**FOUR_BAR, ground=100.0, crossed=False)
    velocities = four_bar_velocities(**FOUR_BAR, angles=angles, crank_velocity=25.0)
    assert velocities.coupler == pytest.approx(-4.1209, abs=0.00005)
    assert velocities.output == pytest.approx(6.9980, abs=0.00005)
    accelerations = four_bar_accelerations(
        **FOUR_BAR, angles=angles, crank_velocity=25.0, velocities=velocities, crank_acceleration=15.0
    )
    assert accelerations.coupler == pytest.approx(296.089, abs=0.0005)
    assert accelerations.output == pytest.approx(470.134, abs=0.0005)


@pytest.mark.parametrize(
    ("crossed", "rod", "slider"),
    [(False, 152.913, 126.838), (True, 27.087, -86.838)],
    ids=["Ex. 4-2 open", "Ex. 4-2 crossed"],
)
def test_slider_crank_position(crossed, rod, slider):
    position = slider_crank_position(**SLIDER, offset=-20.0, crank_angle=np.radians(60.0), crossed=crossed)
    assert np.degrees(position.rod) == pytest.approx(rod, abs=0.0005)
    assert position.slider == pytest.approx(slider, abs=0.0005)


def test_slider_crank_velocity():
    """Example 6-8: open assembly at -30 rad/s."""
    angle = np.radians(60.0)
    position = slider_crank_position(**SLIDER, offset=-20.0, crank_angle=angle, crossed=False)
    velocity = slider_crank_velocity(**SLIDER, crank_angle=angle, position=position, crank_velocity=-30.0)
    assert velocity.rod == pytest.approx(5.6160, abs=0.00005)
    assert velocity.slider == pytest.approx(1346.09, abs=0.005)


@pytest.mark.parametrize(
    ("left", "angle"), [(True, 95.798), (False, -118.418)], ids=["Ex. 4-3 first", "Ex. 4-3 second"]
)
def test_slider_driven_crank(left, angle):
    found = slider_crank_driven_by_slider(**SLIDER, offset=-20.0, slider=100.0, left=left)
    assert np.degrees(found) == pytest.approx(angle, abs=0.0005)


def test_links_that_cannot_reach_are_not_a_number():
    assert np.isnan(four_bar_angles(**FOUR_BAR, ground=500.0, crossed=False).output)
    assert np.isnan(slider_crank_driven_by_slider(**SLIDER, offset=-20.0, slider=170.0, left=True))
    with pytest.raises(ValueError, match="crank is -40"):
        slider_crank_driven_by_slider(crank=-40.0, rod=120.0, offset=0.0, slider=100.0, left=True)
