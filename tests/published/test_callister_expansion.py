"""Callister, *Materials Science and Engineering*, Table B.6: linear expansion, 1e-6 per K (seen).

The values are read from the book's table, so this checks the data as shipped; the lash growths below are
worked by hand from them (derived).
"""

import pytest

from valvetrain.mechanics.cam.thermal_growth import EXPANSION, Segment, lash_growth

TABLE_B6 = {
    "grey iron": 11.4,
    "ductile iron": 11.2,
    "carbon steel 1020": 11.7,
    "alloy steel 4140": 12.3,
    "alloy steel 4340": 12.3,
    "cast aluminum 356.0": 21.5,
    "wrought aluminum 6061": 23.6,
    "titanium Ti-6Al-4V": 8.6,
}


@pytest.mark.parametrize("material", TABLE_B6)
def test_coefficient(material):
    assert EXPANSION[material] * 1e6 == pytest.approx(TABLE_B6[material])


def test_every_shipped_coefficient_is_in_the_table():
    assert set(EXPANSION) == set(TABLE_B6)


def stretch(material, millimeters, rise):
    return Segment(material, material, millimeters * 1e-3, EXPANSION[material], rise)


@pytest.mark.parametrize(
    ("head", "micrometers"),
    # Head 100 mm and 80 K, valve 110 mm of 4140 at 100 K; block 150 mm of grey iron at 70 K with the head
    # 100 mm above it; pushrod and tappet 250 mm of 1020 at 80 K; ratio 1.5.
    # Grey iron: 91.2 - 135.3 + 1.5 (119.7 + 91.2 - 234.0) = -78.75
    # 356.0:    172.0 - 135.3 + 1.5 (119.7 + 172.0 - 234.0) = 123.25
    [("grey iron", -78.75), ("cast aluminum 356.0", 123.25)],
)
def test_lash_growth_worked_by_hand(head, micrometers):
    got = lash_growth(
        shaft_above_seat=[stretch(head, 100, 80)],
        valve=[stretch("alloy steel 4140", 110, 100)],
        shaft_above_cam=[stretch("grey iron", 150, 70), stretch(head, 100, 80)],
        tappet_and_pushrod=[stretch("carbon steel 1020", 250, 80)],
        ratio=1.5,
    )
    assert got.value * 1e6 == pytest.approx(micrometers, abs=1e-6)
    assert sum(part for _, part in got.contributions) == pytest.approx(got.value)
