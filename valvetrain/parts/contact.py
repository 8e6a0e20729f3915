"""What the rubbing pairs are made of, and readings of their form and wear."""

from dataclasses import dataclass

from valvetrain.mechanics.dynamics.elastic_moduli import ELASTIC_MODULI
from valvetrain.parts.measured import Measured
from valvetrain.parts.spec import described, quantity

__all__ = ["Contact"]

_MATERIALS = tuple(ELASTIC_MODULI)


@dataclass(frozen=True, kw_only=True)
class Contact:
    """Lobe on tappet, pad on tip, rocker on shaft, stem in guide: what only the wear question asks."""

    lobe_material: str | None = described("camshaft, for its elastic modulus", choices=_MATERIALS)
    lobe_modulus: Measured | None = quantity(
        "pressure",
        "elastic modulus of the camshaft; that of its material if left out",
        low=4e10,
        high=4e11,
        instrument="modulus",
    )
    lobe_poisson: Measured | None = quantity(
        "ratio", "Poisson's ratio of the camshaft; 0.27 if left out", low=0.1, high=0.5
    )
    tappet_modulus: Measured | None = quantity(
        "pressure",
        "elastic modulus of the tappet; that of [masses] tappet_material if left out",
        low=4e10,
        high=4e11,
        instrument="modulus",
    )
    tappet_poisson: Measured | None = quantity(
        "ratio", "Poisson's ratio of the tappet; 0.27 if left out", low=0.1, high=0.5
    )
    pad_modulus: Measured | None = quantity(
        "pressure",
        "elastic modulus of the rocker's pad; steel if left out",
        low=4e10,
        high=4e11,
        instrument="modulus",
    )
    tip_modulus: Measured | None = quantity(
        "pressure",
        "elastic modulus of the valve tip or its lash cap; steel if left out",
        low=4e10,
        high=4e11,
        instrument="modulus",
    )
    lobe_roughness: Measured | None = quantity(
        "roughness", "roughness Rq of the lobe (about 1.25 Ra)", low=1e-8, high=1e-5
    )
    tappet_roughness: Measured | None = quantity(
        "roughness", "roughness Rq of the tappet's face (about 1.25 Ra)", low=1e-8, high=1e-5
    )
    friction: Measured | None = quantity(
        "ratio", "coefficient of friction of lobe on tappet", low=0.0, high=0.6, instrument="friction"
    )
    seat_friction: Measured | None = quantity(
        "ratio", "coefficient of friction of the pushrod's seat in the tappet", low=0.0, high=0.6
    )
    seat_radius: Measured | None = quantity(
        "length", "outer radius of the pushrod's seat contact in the tappet", low=0.0, high=0.01
    )
    bore_offset: Measured | None = quantity(
        "length",
        "middle of the lobe's width from the tappet's axis along the camshaft; positive toward the flywheel "
        "end",
        low=-0.01,
        high=0.01,
        instrument="caliper",
    )
    bore_lean: Measured | None = quantity(
        "angle",
        "lean of the tappet's bore along the camshaft, added to the lobe's taper; positive where it brings "
        "the face nearer the lobe's rear side",
        low=-0.05,
        high=0.05,
        instrument="protractor",
    )
    face_form: str | None = described(
        "form of the tappet's face; crowned where left out", choices=("crowned", "flat", "hollow")
    )
    crown_rise: Measured | None = quantity(
        "length",
        "dial reading: middle of the face above the ends of `crown_span`; negative for a hollow face",
        low=-0.0005,
        high=0.0005,
        instrument="crown_dial",
    )
    crown_gap_1: Measured | None = quantity(
        "length",
        "feeler under a straightedge across the face at one end of `crown_span`, rocked until both gaps are "
        "alike",
        low=0.0,
        high=0.0005,
        instrument="crown_dial",
    )
    crown_gap_2: Measured | None = quantity(
        "length", "the same at the other end", low=0.0, high=0.0005, instrument="crown_dial"
    )
    crown_span: Measured | None = quantity(
        "length", "span of the crown's readings", low=0.005, high=0.06, instrument="caliper"
    )
    taper_front: Measured | None = quantity(
        "length",
        "dial on the base circle near the lobe's front edge",
        low=-0.001,
        high=0.001,
        instrument="taper_dial",
    )
    taper_rear: Measured | None = quantity(
        "length",
        "the same dial near its rear edge; more is larger",
        low=-0.001,
        high=0.001,
        instrument="taper_dial",
    )
    taper_distance: Measured | None = quantity(
        "length", "between those two readings", low=0.002, high=0.05, instrument="caliper"
    )
    tappet_hardness: Measured | None = quantity(
        "rockwell",
        "hardness of the tappet's face, Rockwell C",
        low=5.0,
        high=75.0,
        instrument="hardness_tester",
    )
    bearing_width: Measured | None = quantity(
        "length",
        "width of the rocker's bore that bears, grooves taken off",
        low=0.004,
        high=0.06,
        instrument="caliper",
    )
    bushing_bore: Measured | None = quantity(
        "length",
        "diameter of the rocker's bore or bushing at its widest",
        low=0.005,
        high=0.06,
        instrument="micrometer",
    )
    shaft_at_rocker: Measured | None = quantity(
        "length",
        "diameter of the shaft under that rocker at its thinnest",
        low=0.005,
        high=0.06,
        instrument="micrometer",
    )
    oil_hole_angle: Measured | None = quantity(
        "angle",
        "direction in which the shaft's oil hole under the rocker opens: from square to the stem toward the "
        "valve (0), up along the stem (90), down (-90)",
        low=-6.3,
        high=6.3,
        instrument="protractor",
    )
    guide_length: Measured | None = quantity(
        "length", "length of the guide that bears", low=0.01, high=0.15, instrument="caliper"
    )
    tip_over_guide: Measured | None = quantity(
        "length", "closed valve tip above the guide's upper end", low=0.005, high=0.15, instrument="caliper"
    )
    stem_in_guide: Measured | None = quantity(
        "length",
        "clearance of the stem in its guide, on diameter, at its widest",
        low=0.0,
        high=0.001,
        instrument="indicator",
    )
