"""End clearances that a plan changes keep off the ends of their range by what they are known to.

The shaft is invented; expected clearances follow from the range by hand.
"""

import numpy as np
import pytest

from valvetrain.mechanics.row.model import linear_bays
from valvetrain.mechanics.row.plan import plan_rows
from valvetrain.mechanics.row.shaft import Rocker, Shim, Spacer, Stand

MM = 1e-3
LOW, HIGH = 0.05 * MM, 0.20 * MM


def rocker(valve, stem):
    return Rocker(valve, hub_width=20 * MM, pad_position=10 * MM, stem=stem * MM)


def row(offset, shim=1.0):
    """A bay of 60 mm: shim, rocker, spacer to cut, rocker, shim; 0.10 mm of play, the first rocker off."""
    spacer = 60 - 40 - 2 * shim - 0.10
    first, second = shim + 10 + 0.05, 60 - shim - 10 - 0.05
    return (
        Stand("stand 1", position=-5 * MM, width=10 * MM),
        Shim(shim * MM),
        rocker("1I", first - offset),
        Spacer(spacer * MM, can_be_cut=True),
        rocker("1E", second),
        Shim(shim * MM),
        Stand("stand 2", position=65 * MM, width=10 * MM),
    )


def planned(parts, margin):
    return plan_rows(
        [parts],
        {0.5 * MM: None, 1.0 * MM: None},
        offset_tolerance=0.4 * MM,
        clearance_low=LOW,
        clearance_high=HIGH,
        margin=margin,
    )


@pytest.mark.parametrize("offset", [0.8, -0.8])
def test_a_clearance_that_is_changed_keeps_the_margin(offset):
    edge, inner = planned(row(offset), 0.0), planned(row(offset), 0.02 * MM)
    assert edge.feasible
    assert inner.feasible
    assert inner.changes == edge.changes > 0
    for plan, margin in ((edge, 0.0), (inner, 0.02 * MM)):
        (play,) = {round(each.end_clearance / MM, 6) for each in plan.positions[0].rockers}
        assert (LOW + margin) / MM - 1e-5 <= play <= (HIGH - margin) / MM + 1e-5
    assert inner.total_error >= edge.total_error - 1e-9


def test_a_clearance_near_its_end_may_stay():
    parts = row(0.0)
    plan = planned(parts, 0.06 * MM)  # 0.10 mm stands nearer to 0.05 mm than that
    assert plan.feasible
    assert plan.changes == 0


def test_at_least_half_of_the_range_is_left():
    parts = row(0.8)[:1] + row(0.8)[2:]  # 1.10 mm of play: outside
    (bay,) = linear_bays(0, parts, 0.4 * MM, LOW, HIGH, 10 * MM)
    np.testing.assert_allclose([bay.low, bay.high], [LOW + 0.25 * (HIGH - LOW), HIGH - 0.25 * (HIGH - LOW)])


def test_the_plan_of_a_sheet_keeps_clear_of_the_limit(sample, document, edited):
    """A rocker 0.050 in too far to the rear: without room kept, the spacer would take up all it may."""
    folder = sample()
    edited(
        folder / "setup.toml",
        ('"I", "shim 0.060", "collar", "shim 0.060", "E"', '"I", "cut spacer 0.3755", "E"'),
        ("spacing = [1.625]", "spacing = [3.25]"),
    )
    lines = (folder / "valves.csv").read_text().splitlines()
    rows = [line.split(",") for line in lines if not line.startswith("#")]
    for cells in rows[1:]:
        cells[3] = "0.0045"
        if cells[0] == "4I":
            cells[2] = "0.050"
    (folder / "valves.csv").write_text("\n".join(",".join(cells) for cells in rows))
    (own,) = (each for each in document("center", folder)["results"]["valves"] if each["valve"] == "4I")
    # At most 0.008 in and at least 0.002 in; a feeler tells 0.0008 in (k = 2).
    assert 0.0028 <= own["end_clearance"]["value"] <= 0.0072
