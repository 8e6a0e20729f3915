"""Growth of a shaft row against closed forms of one bay (derived): expansion x length x rise."""

import pytest

from valvetrain.mechanics.cam.thermal_growth import shaft_shift
from valvetrain.mechanics.row.growth import row_growth
from valvetrain.mechanics.row.shaft import Rocker, Shim, Stand

HEAD, SHAFT = 1.4e-3, 0.9e-3
SOLID = 0.0015 + 0.026 + 0.0015
ROOM = SOLID + 0.0002


def row(start=0.1):
    front = Stand("front", start - 0.005, 0.010)
    rear = Stand("rear", start + ROOM + 0.005, 0.010)
    pad = start + 0.0001 + 0.0015 + 0.012
    return (front, Shim(0.0015), Rocker("1I", 0.026, 0.012, pad - 0.0003), Shim(0.0015), rear)


def test_bay_between_stands_of_the_head():
    (grown,) = row_growth(row(), HEAD, SHAFT, (), "front")
    # Middle to middle grows with the head, half a stand at each end as well: the room as a whole.
    assert grown.end_clearance == pytest.approx(ROOM * HEAD - SOLID * SHAFT, rel=1e-9)


def test_bay_between_collars_of_the_shaft_keeps_its_play_in_proportion():
    (grown,) = row_growth(row(), HEAD, SHAFT, ("front", "rear"), "front")
    assert grown.end_clearance == pytest.approx((ROOM - SOLID) * SHAFT, rel=1e-9)


def test_shaft_carries_a_rocker_between_collars_along():
    cold = (Stand("datum", 0.0, 0.0), *row(0.4))
    (grown,) = row_growth(cold, HEAD, SHAFT, ("front", "rear"), "datum")
    pad = 0.4 + 0.0001 + 0.0015 + 0.012
    stem = pad - 0.0003
    assert grown.offset == pytest.approx(pad * SHAFT - stem * HEAD, rel=1e-9)
    shift = shaft_shift(
        stem, 0.0, shaft_expansion=SHAFT / 50, shaft_rise=50.0, head_expansion=HEAD / 50, head_rise=50.0
    )
    assert grown.offset == pytest.approx(float(shift) + 0.0003 * SHAFT, rel=1e-9)


def test_equal_growth_of_all_changes_only_in_proportion():
    (grown,) = row_growth(row(), HEAD, HEAD, ("rear",), "front")
    assert grown.offset == pytest.approx(0.0003 * HEAD, rel=1e-9)
    assert grown.end_clearance == pytest.approx(0.0002 * HEAD, rel=1e-6)


def test_unknown_place_of_fixing_is_named():
    with pytest.raises(ValueError, match="stand 9"):
        row_growth(row(), HEAD, SHAFT, (), "stand 9")
