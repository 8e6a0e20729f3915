"""J. E. Shigley et al., *Mechanical Engineering Design*, example on dimensions and tolerances, chapter 1.

Status: memory, not seen while writing. A shouldered screw carries three sleeves before a nut; the gap is
w = a - b - c - d with a 1.750 +- 0.003, b 0.750 +- 0.001, c 0.120 +- 0.005, d 0.875 +- 0.001 in. The book's
answers: w = 0.005 +- 0.010 in, so that w may be -0.005; d = 0.867 in assures w >= 0.003. The root-sum-square
of the same tolerances is exactly 0.006 (arithmetic, 9 + 1 + 25 + 1 = 36; not claimed as printed).
"""

import numpy as np
import pytest

from valvetrain.mechanics.row.shaft import Rocker, Shim, Spacer, Spring, end_fixing, placed
from valvetrain.mechanics.row.tolerance_stack import row_tolerance, stack_up

SIGNS = [1, -1, -1, -1]
LENGTHS = [1.750, 0.750, 0.120, 0.875]
TOLERANCES = [0.003, 0.001, 0.005, 0.001]
INCH = 25.4e-3


def test_gap_and_its_worst_case():
    got = stack_up(SIGNS, LENGTHS, TOLERANCES)
    assert got.nominal == pytest.approx(0.005)
    assert got.worst_case == pytest.approx(0.010)
    assert got.nominal - got.worst_case == pytest.approx(-0.005)


def test_length_that_assures_the_gap():
    got = stack_up(SIGNS, [1.750, 0.750, 0.120, 0.867], TOLERANCES)
    assert got.nominal - got.worst_case == pytest.approx(0.003)


def test_root_sum_square():
    assert stack_up(SIGNS, LENGTHS, TOLERANCES).root_sum_square == pytest.approx(0.006)


def test_the_screw_as_a_shaft_row_has_the_same_gap_as_its_end_clearance():
    # Shoulder, sleeve (a spacer), sleeve that is a rocker, sleeve, nut.
    row = (
        end_fixing("shoulder", 0.0),
        Spacer(0.750 * INCH),
        Rocker("1I", 0.120 * INCH, 0.060 * INCH, 0.8 * INCH),
        Spacer(0.875 * INCH),
        end_fixing("nut", 1.750 * INCH),
    )
    tolerances = np.array([0.0, 0.001, 0.005, 0.001, 0.003]) * INCH
    got = row_tolerance(row, tolerances)
    assert placed(row).rockers[0].end_clearance == pytest.approx(0.005 * INCH)
    assert got.clearance_worst == pytest.approx([0.010 * INCH])
    assert got.clearance_rss == pytest.approx([0.006 * INCH])
    # In the middle of its play the rocker's front face moves by half of every change behind it (derived).
    assert got.offset_worst == pytest.approx([0.5 * 0.010 * INCH])
    assert got.offset_rss == pytest.approx([0.5 * 0.006 * INCH])


def test_a_sprung_row_follows_its_own_side_only():
    row = (
        end_fixing("front end", 0.0),
        Shim(1e-3),
        Rocker("1I", 20e-3, 10e-3, 11e-3),
        Spring(10e-3, 2e-3, 3e-3, 9e-3),
        Rocker("1E", 20e-3, 10e-3, 38e-3),
        end_fixing("rear end", 49e-3),
    )
    got = row_tolerance(row, [0.0, 1e-5, 2e-5, 3e-5, 4e-5, 5e-5])
    assert got.offset_worst == pytest.approx([1e-5, 9e-5])
    assert got.offset_rss == pytest.approx([1e-5, np.hypot(4e-5, 5e-5)])
    assert got.clearance_worst == pytest.approx([0, 0])


def test_bad_tolerances_are_named():
    with pytest.raises(ValueError, match="negative"):
        stack_up([1], [1], [-1])
    with pytest.raises(ValueError, match="1 tolerances for 2 parts"):
        row_tolerance((end_fixing("a", 0.0), end_fixing("b", 1.0)), [0.0])
