"""Effective compression ratios by the exact crank (derived, recomputed apart; no publication).

Static ratio 9.5, stroke 88.392, rod 144.78 mm.
"""

import numpy as np
import pytest

from valvetrain.mechanics.piston.crank_slider import (
    clearance_volume,
    effective_compression_ratio,
    static_compression_ratio,
)

CRANK = {"stroke": 88.392e-3, "rod_length": 144.78e-3}


@pytest.mark.parametrize(
    ("closes", "ratio"), [(0, 9.5), (40, 8.7763), (50, 8.3679), (60, 7.8703), (70, 7.2887)]
)
def test_effective_ratio(closes, ratio):
    assert effective_compression_ratio(9.5, np.deg2rad(closes), **CRANK) == pytest.approx(ratio, abs=5.1e-5)


def test_static_ratio_of_a_box_by_hand():
    # The bore gives an area of 0.01 m2, stroke 0.1: swept 1 l. Chamber 80, gasket 10, deck 5, dish 5 (cm3).
    bore = np.sqrt(0.04 / np.pi)
    volume = clearance_volume(
        80e-6, gasket_bore=bore, gasket_thickness=1e-3, bore=bore, deck_clearance=0.5e-3, piston_dish=5e-6
    )
    assert volume == pytest.approx(100e-6)
    assert static_compression_ratio(bore, 0.1, volume) == pytest.approx(11.0)


def test_bad_ratio_volume_and_angle_are_named():
    with pytest.raises(ValueError, match="static"):
        effective_compression_ratio(1.0, 0.5, **CRANK)
    with pytest.raises(ValueError, match="intake closing"):
        effective_compression_ratio(9.0, 50.0, **CRANK)
    with pytest.raises(ValueError, match="clearance volume"):
        static_compression_ratio(0.1, 0.1, 0.0)
