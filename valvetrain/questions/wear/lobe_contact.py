"""Lobe on tappet around the whole lobe at every speed: stress, film, heat, relative wear."""

from dataclasses import dataclass
from typing import Any

import numpy as np

from valvetrain.mechanics.arrays import BoolArray, FloatArray
from valvetrain.mechanics.contact.archard import lobe_wear_intensity, relative_wear
from valvetrain.mechanics.contact.film import (
    elliptical_film,
    flat_follower_surface_speeds,
    lambda_ratio,
    line_film,
)
from valvetrain.mechanics.contact.flash_temperature import flash_temperature, thermal_effusivity
from valvetrain.mechanics.contact.flat_follower import flat_follower
from valvetrain.mechanics.contact.hertz import CrownedContact, composite_modulus, crowned_tappet_on_lobe
from valvetrain.mechanics.contact.tappet_rotation import FacePath, RotationDrive, contact_path, rotation_drive
from valvetrain.questions.oil.state import OilState
from valvetrain.questions.wear.contact_motion import ContactMotion
from valvetrain.setup.setup import Setup

__all__ = [
    "EFFUSIVITY",
    "FRICTION",
    "POISSON",
    "SEAT_FRICTION",
    "LobeContact",
    "contact_modulus",
    "lobe_contact",
]

POISSON = 0.27
"""Of irons and steels, where the sheet gives none (common practice, no source; E* moves by 2 % at most)."""

# Cast iron near room temperature: conductivity, density, heat capacity (memory; good to a tenth).
EFFUSIVITY = float(thermal_effusivity(50.0, 7200.0, 500.0))
# Where the sheet gives none: common practice, no source.
FRICTION = 0.08
SEAT_FRICTION = 0.10


@dataclass(frozen=True)
class LobeContact:
    """The contact over cam angle; arrays [valves, speeds, angles] unless said; NaN without contact.

    Attributes:
        touch: Hertz contact.
        curvature_radius: of the lobe [m], [valves, angles]; hollow: at or below zero.
        entrainment, sliding: [m/s].
        film: least film [m]; film_ratio: over the combined roughness [1].
        flash: rise of the surfaces' temperature in the contact [K].
        wear: relative wear, 1 at the place of the engine that wears most at that speed.
        path: on the tappet's face under the slow load, [valves, angles].
        drive: what turns the tappet under the slow load, [valves].
        across_known: taper and crown are both known, [valves]; else the contact is taken in the middle.
    """

    touch: CrownedContact
    curvature_radius: FloatArray
    entrainment: FloatArray
    sliding: FloatArray
    film: FloatArray
    film_ratio: FloatArray
    flash: FloatArray
    wear: FloatArray
    path: FacePath
    drive: RotationDrive
    across_known: BoolArray


def contact_modulus(setup: Setup) -> FloatArray:
    """Contact modulus E* of lobe and tappet at every valve [Pa]; NaN where a material is not known."""
    from valvetrain.mechanics.dynamics.elastic_moduli import ELASTIC_MODULI

    def young(side: str) -> FloatArray:
        given = setup.column("contact", f"{side}_modulus").value
        named = [
            train.contact.lobe_material if side == "lobe" else train.masses.tappet_material
            for train in setup.trains
        ]
        table = np.array([np.nan if name is None else ELASTIC_MODULI[name] for name in named])
        return np.where(np.isnan(given), table, given)

    def poisson(side: str) -> FloatArray:
        given = setup.column("contact", f"{side}_poisson").value
        return np.where(np.isnan(given), POISSON, given)

    return composite_modulus(young("lobe"), poisson("lobe"), young("tappet"), poisson("tappet"))


def lobe_contact(
    setup: Setup, motion: ContactMotion, oil: OilState, crown: FloatArray, slope: FloatArray
) -> LobeContact:
    """Study the contact.

    Args:
        setup: the engine.
        motion: its motion and loads.
        oil: at the lobes.
        crown: radius of each tappet's face [m]; inf flat, below 0 hollow, NaN unknown (no stress then).
        slope: each lobe's taper over the face [rad]; NaN unknown (the contact is taken in the middle then).
    """
    base = setup.column("lobe", "base_radius").value
    width = setup.column("lobe", "width").value
    face = setup.column("tappet", "face_diameter").value
    offset = np.nan_to_num(setup.column("contact", "bore_offset").value)
    curves = motion.curves
    lift, rate, second = curves.tappet_lift, curves.tappet_velocity, curves.tappet_acceleration
    follower = flat_follower(base, lift, rate, second)
    radius = follower.radius_of_curvature
    known = ~np.isnan(slope) & ~np.isnan(crown)
    middle = np.where(known & np.isfinite(crown), slope * crown - offset, 0.0)
    modulus = contact_modulus(setup)
    load = motion.lobe
    hollow = radius == 0
    touch = crowned_tappet_on_lobe(
        load=load,
        lobe_radius=np.where(hollow, -1e-9, radius)[:, np.newaxis, :],
        crown_radius=crown[:, np.newaxis, np.newaxis],
        lobe_width=width[:, np.newaxis, np.newaxis],
        modulus=modulus[:, np.newaxis, np.newaxis],
        contact_offset=middle[:, np.newaxis, np.newaxis],
    )
    speed = motion.cam_speed[:, np.newaxis]
    lobe_speed, face_speed = flat_follower_surface_speeds(
        base[:, np.newaxis, np.newaxis], lift[:, np.newaxis, :], second[:, np.newaxis, :], speed
    )
    entrainment, sliding = 0.5 * (lobe_speed + face_speed), lobe_speed - face_speed
    curved = np.where(np.isinf(crown), 0.0, 1 / crown)[:, np.newaxis]
    rolling = 1 / (1 / np.where(hollow, np.nan, radius) + curved)
    film, ratio = _film(setup, oil, motion, touch, entrainment, rolling, modulus)
    friction = _or(setup, "friction", FRICTION)
    flash = flash_temperature(
        friction=friction[:, np.newaxis, np.newaxis],
        pressure=touch.pressure,
        half_width=touch.half_width,
        speed_1=lobe_speed,
        speed_2=face_speed,
        effusivity_1=EFFUSIVITY,
        effusivity_2=EFFUSIVITY,
    )
    intensity = lobe_wear_intensity(0.5 * np.pi * touch.pressure * touch.half_width, sliding, lobe_speed)
    intensity = np.where(radius[:, np.newaxis, :] > 0, intensity, np.nan)
    most = np.max(np.nan_to_num(intensity), axis=(0, 2))
    slow = int(np.flatnonzero(motion.static)[0])
    path = contact_path(
        lift_rate=rate,
        taper=np.where(known, slope, 0.0),
        crown_radius=np.where(crown > 0, crown, np.inf),
        bore_offset=offset,
        lobe_width=width,
        face_diameter=face,
        half_length=np.nan_to_num(touch.uncut_half_length[:, slow], posinf=0.0),
        half_width=np.nan_to_num(touch.half_width[:, slow]),
    )
    drive = rotation_drive(
        load=load[:, slow],
        across=path.across,
        along=np.where(known[:, np.newaxis], path.along, np.nan),
        lobe_arm=base[:, np.newaxis] + lift,
        friction=friction,
        seat_friction=_or(setup, "seat_friction", SEAT_FRICTION),
        seat_radius=setup.column("contact", "seat_radius").value,
    )
    return LobeContact(
        touch=touch,
        curvature_radius=radius,
        entrainment=entrainment,
        sliding=sliding,
        film=film,
        film_ratio=ratio,
        flash=flash,
        wear=relative_wear(intensity, np.broadcast_to(most, intensity.shape[:2])),
        path=path,
        drive=drive,
        across_known=known,
    )


def _film(
    setup: Setup,
    oil: OilState,
    motion: ContactMotion,
    touch: CrownedContact,
    entrainment: FloatArray,
    rolling: FloatArray,
    modulus: FloatArray,
) -> tuple[FloatArray, FloatArray]:
    """Least film, and its ratio to the roughness where that is known; NaN without an oil."""
    blank = np.full(touch.pressure.shape, np.nan)
    if np.isnan(oil.dynamic):
        return blank, blank
    args: dict[str, Any] = {
        "viscosity": oil.dynamic,
        "entrainment": entrainment,
        "pressure_viscosity": oil.pressure_viscosity,
        "load": motion.lobe,
        "rolling_radius": rolling[:, np.newaxis, :],
        "modulus": modulus[:, np.newaxis, np.newaxis],
    }
    film = elliptical_film(**args, ellipticity=touch.ellipticity)
    if touch.line.any():
        film = np.where(touch.line, line_film(**args, length=2 * touch.half_length), film)
    lobe, tappet = (setup.column("contact", f"{side}_roughness").value for side in ("lobe", "tappet"))
    return film, lambda_ratio(film, lobe[:, np.newaxis, np.newaxis], tappet[:, np.newaxis, np.newaxis])


def _or(setup: Setup, key: str, usual: float) -> FloatArray:
    """Return a column of [contact] with the usual value where it is not given."""
    given = setup.column("contact", key).value
    return np.where(np.isnan(given), usual, given)
