"""Tensile strength constants of spring wire, two published sets.

Shigley, *Mechanical Engineering Design*, table of A and m (music, oil-tempered, hard-drawn seen; alloy wires
memory); NCEES *FE Reference Handbook*, mechanical springs (seen). A wire of 1 mm has the strength A itself,
and one of 2 mm has A/2^m, so both constants show. Music wire also: 201 kpsi in^0.145 in the inch edition of
Shigley's table (memory), an independent printing of the same curve, held to its three digits.
"""

import numpy as np
import pytest

from valvetrain.mechanics.spring.wire_strength import strength_in_range, tensile_strength

PUBLISHED = [
    ("shigley", "music", 2211, 0.145),
    ("shigley", "oil-tempered", 1855, 0.187),
    ("shigley", "hard-drawn", 1783, 0.190),
    ("shigley", "chrome-vanadium", 2005, 0.168),
    ("shigley", "chrome-silicon", 1974, 0.108),
    ("fe_handbook", "music", 2060, 0.163),
    ("fe_handbook", "oil-tempered", 1610, 0.193),
    ("fe_handbook", "hard-drawn", 1510, 0.201),
    ("fe_handbook", "chrome-vanadium", 1790, 0.155),
    ("fe_handbook", "chrome-silicon", 1960, 0.091),
]


@pytest.mark.parametrize(("source", "material", "coefficient", "exponent"), PUBLISHED)
def test_constants(source, material, coefficient, exponent):
    one, two = tensile_strength(np.array([1e-3, 2e-3]), material, source) / 1e6
    assert one == pytest.approx(coefficient, rel=1e-12)
    assert np.log2(one / two) == pytest.approx(exponent, rel=1e-9)


@pytest.mark.parametrize("inches", [0.010, 0.037, 0.092, 0.2])
def test_the_inch_edition_gives_the_same_music_wire(inches):
    kpsi = tensile_strength(inches * 0.0254, "music") / 6.894757e6
    assert kpsi == pytest.approx(201 / inches**0.145, rel=0.005)


def test_range_of_the_table():
    diameters = np.array([0.05e-3, 0.1e-3, 3e-3, 6.5e-3, 7e-3, np.nan])
    assert strength_in_range(diameters, "music").tolist() == [False, True, True, True, False, False]
    assert np.isnan(tensile_strength(np.nan, "music"))


def test_unknown_names_are_refused():
    with pytest.raises(ValueError, match="allowed are music"):
        tensile_strength(1e-3, "piano")
    with pytest.raises(ValueError, match="allowed are shigley, fe_handbook"):
        tensile_strength(1e-3, "music", "folklore")
    with pytest.raises(ValueError, match="wire diameter is 0"):
        tensile_strength(0.0, "music")
