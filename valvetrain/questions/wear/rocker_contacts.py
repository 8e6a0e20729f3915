"""Pad on tip, rocker on shaft and stem in guide over the lift, at every speed."""

from dataclasses import dataclass
from math import pi

import numpy as np

from valvetrain.answers.quantity import Quantity
from valvetrain.mechanics.arrays import FloatArray
from valvetrain.mechanics.contact.hertz import composite_modulus, line_contact
from valvetrain.mechanics.contact.shaft_bearing import guide_loads, hole_in_loaded_arc, rocker_on_shaft
from valvetrain.mechanics.dynamics.elastic_moduli import ELASTIC_MODULI
from valvetrain.questions.wear.contact_motion import ContactMotion
from valvetrain.setup.setup import Setup

__all__ = ["RockerContacts", "rocker_contacts"]

POISSON = 0.29


@dataclass(frozen=True)
class RockerContacts:
    """Greatest over lift and speeds at every valve; NaN where something of it is not known.

    Attributes:
        tip_stress: of the pad on the tip; tip_sliding: speed of the pad over the tip.
        tip_edge_margin: from the loaded band to the tip's chamfer, at its least.
        guide_side: force of the stem on an end of the guide; guide_pressure: at that end.
        shaft_pressure: of the rocker on the shaft; shaft_sliding; shaft_severity: their product at its most.
        load_direction: of the rocker's force on the shaft at slow full lift: 0 toward the valve, 90 deg up.
        hole_apart: from the middle of the loaded arc to the oil hole, without sign.
        hole_loaded: whether the hole lies in the loaded arc, per valve; None unknown.
        reach: outer end of the loaded band from the stem axis [m]; guide_force: the greater of the forces on
            the guide's ends [N]; each [valves, speeds, angles].
    """

    tip_stress: Quantity
    tip_sliding: Quantity
    tip_edge_margin: Quantity
    guide_side: Quantity
    guide_pressure: Quantity
    shaft_pressure: Quantity
    shaft_sliding: Quantity
    shaft_severity: Quantity
    load_direction: Quantity
    hole_apart: Quantity
    hole_loaded: tuple[bool | None, ...]
    reach: FloatArray
    guide_force: FloatArray


def rocker_contacts(setup: Setup, motion: ContactMotion) -> RockerContacts:
    """Study the pairs beyond the pushrod."""
    rows, curves = motion.rows, motion.curves
    arm = rows["rocker.pad_arm"][:, np.newaxis]
    radius = rows["rocker.pad_radius"]
    contact = arm * np.cos(curves.pad_angle) - rows["shaft.setback"][:, np.newaxis]
    below = arm * np.sin(curves.pad_angle) - radius[:, np.newaxis]
    speed = motion.cam_speed[:, np.newaxis]
    # A roller rolls: only a pad slides.
    roller = np.array([train.rocker.tip == "roller" for train in setup.trains])
    lifted = curves.valve_lift > 0
    slide = (
        np.where(np.isnan(curves.valve_lift) | lifted, np.abs(motion.turn * below), 0.0)[:, np.newaxis, :]
        * speed
    )
    slide = np.where(roller[:, np.newaxis, np.newaxis], 0.0, slide)
    stem = setup.column("valve", "stem_diameter").value
    flat = 0.5 * stem - setup.column("valve", "tip_chamfer").value
    chord = np.minimum(setup.column("rocker", "pad_width").value, 2 * flat)
    chord = np.where(chord > 0, chord, np.nan)
    modulus = composite_modulus(
        _modulus(setup, "pad_modulus"), POISSON, _modulus(setup, "tip_modulus"), POISSON
    )
    wide = (slice(None), np.newaxis, np.newaxis)
    touch = line_contact(motion.tip, radius[wide], chord[wide], modulus[wide])
    pressing = motion.tip > 0
    reach = np.where(pressing, np.abs(contact)[:, np.newaxis, :] + touch.half_width, np.nan)
    margin = flat - _greatest(reach)
    shaft = rocker_on_shaft(
        force_x=motion.shaft_x,
        force_y=motion.shaft_y,
        diameter=setup.column("shaft", "diameter").value[wide],
        bearing_width=setup.column("contact", "bearing_width").value[wide],
        rocker_speed=motion.turn[:, np.newaxis, :] * speed,
    )
    guide = guide_loads(
        tip_force=motion.tip,
        contact_offset=contact[:, np.newaxis, :],
        friction_force=motion.side,
        tip_above_guide=np.maximum(
            setup.column("contact", "tip_over_guide").value[wide] - curves.valve_lift[:, np.newaxis, :], 0.0
        ),
        guide_length=setup.column("contact", "guide_length").value[wide],
        stem_diameter=stem[wide],
    )
    side = np.maximum(np.abs(guide.outer), np.abs(guide.inner))
    full = int(np.abs(motion.angle).argmin())
    direction = shaft.direction[:, 0, full]
    hole = setup.column("contact", "oil_hole_angle")
    apart, inside = hole_in_loaded_arc(direction, hole.value)
    return RockerContacts(
        tip_stress=_quantity("pressure", _greatest(touch.pressure)),
        tip_sliding=_quantity("speed", _greatest(slide)),
        tip_edge_margin=_quantity("length", margin, setup.column("valve", "tip_chamfer").uncertainty),
        guide_side=_quantity("force", _greatest(side)),
        guide_pressure=_quantity(
            "pressure", _greatest(np.maximum(guide.outer_pressure, guide.inner_pressure))
        ),
        shaft_pressure=_quantity("pressure", _greatest(shaft.pressure)),
        shaft_sliding=_quantity("speed", _greatest(shaft.sliding_speed)),
        shaft_severity=_quantity("severity", _greatest(shaft.severity)),
        load_direction=_quantity("angle", direction),
        hole_apart=_quantity("angle", np.abs(apart), np.hypot(hole.uncertainty, pi / 36)),
        hole_loaded=tuple(
            None if np.isnan(each) else bool(one) for each, one in zip(apart, inside, strict=True)
        ),
        reach=reach,
        guide_force=side,
    )


def _modulus(setup: Setup, key: str) -> FloatArray:
    """Return a modulus, that of steel where the sheet gives none."""
    given = setup.column("contact", key).value
    return np.where(np.isnan(given), ELASTIC_MODULI["carbon steel"], given)


def _greatest(values: FloatArray) -> FloatArray:
    """Greatest known value over speeds and angles; NaN where none is known."""
    flat = values.reshape(len(values), -1)
    known = ~np.isnan(flat).all(axis=-1)
    return np.where(known, np.max(np.where(np.isnan(flat), -np.inf, flat), axis=-1), np.nan)


def _quantity(dimension: str, value: FloatArray, uncertainty: FloatArray | None = None) -> Quantity:
    doubt = np.full(value.shape, np.nan) if uncertainty is None else uncertainty
    return Quantity(dimension, value, np.where(np.isnan(value), np.nan, doubt), {})
