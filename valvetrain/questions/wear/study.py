"""What wears: lobe and tappet, pad and tip, rocker on shaft, stem in guide, at slow speed and fast?"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from math import pi

import numpy as np

from valvetrain.answers.quantity import Quantity, computed
from valvetrain.mechanics.arrays import FloatArray
from valvetrain.mechanics.contact.film import film_regime
from valvetrain.mechanics.contact.tappet_rotation import rotation_obstacles
from valvetrain.questions.oil.state import OilState, oil_state
from valvetrain.questions.record.measured_wear import (
    FORM_KEYS,
    crown_curvature,
    face_forms,
    lift_deviation,
    taper_slope,
)
from valvetrain.questions.rocker.study import RockerResult
from valvetrain.questions.spring.study import SpringResult
from valvetrain.questions.wear.contact_motion import ContactMotion, contact_motion
from valvetrain.questions.wear.form import wear_form
from valvetrain.questions.wear.lobe_contact import LobeContact, lobe_contact
from valvetrain.questions.wear.rocker_contacts import RockerContacts, rocker_contacts
from valvetrain.setup.setup import Column, Setup

__all__ = ["CRANKING", "IDLE", "WearResult", "spread_in_words", "wear_study"]

CRANKING, IDLE = 200.0, 800.0
"""Crank speeds at which only the spring counts [rpm]."""

# What the doubt of a lobe's curvature is called in a budget.
_CURVE = "the lobe's curve (a finer lift table)"


@dataclass(frozen=True)
class WearResult:
    """The rubbing pairs at every valve. Without an uncertainty: a bound over angles, its doubt unknown.

    Attributes:
        rpm: crank speeds; static: those at which only the spring counts.
        nose_load, nose_stress: lobe on tappet at full lift, turning slowly.
        peak_stress, peak_rpm: greatest over the lobe and the speeds, and the speed.
        lobe_curvature: least radius of curvature of the lobe; at or below zero the flank is undercut.
        contact: per valve "ellipse", "cut off by the lobe's edge", "line", "no Hertz contact" or "".
        film_ratio_nose: film over roughness at the nose at idle; film_at_nose; film_regime: its name.
        entrainment_zero: whether the entrainment passes through zero on the lobe, where the film fails.
        flash: greatest rise of the surfaces' temperature.
        least_face_diameter: that holds the whole path; face_margin: from the contact to the face's rim.
        lobe_overhang: how far the lobe's side stands past the face.
        crown_radius, lobe_taper: as measured; a flat face has an unlimited crown radius (not shown).
        rotation_arm: lever arm that turns the tappet: its size; rotation_sense: +1, -1, 0 unknown.
        rotation_strength: drive over what the pushrod's seat holds; infinite where that is not known.
        obstacles: what takes the turning away: (name, sentence).
        lobe_edge_margin: from the end of the contact to the lobe's edge at the nose.
        lift_deviation: lobe lift against the middle of its role; lift_spread: standard deviation of each
            role's lobes, and what the dial repeats [m].
        tappet_hardness, bore_clearance, stem_in_guide: as measured.
        pairs: pad on tip, rocker on shaft, stem in guide.
        oil: at the contacts.
        motion, lobe: everything over angle and speed, for plots.
        rollers: valves with roller tappets, whose face is not studied.
        missing: per valve the sheet keys without which the stress is not known.
    """

    valves: tuple[str, ...]
    roles: tuple[str, ...]
    rpm: tuple[float, ...]
    nose_load: Quantity
    nose_stress: Quantity
    peak_stress: Quantity
    peak_rpm: Quantity
    lobe_curvature: Quantity
    contact: tuple[str, ...]
    film_at_nose: Quantity
    film_ratio_nose: Quantity
    film_regime: tuple[str, ...]
    entrainment_zero: tuple[bool, ...]
    flash: Quantity
    least_face_diameter: Quantity
    face_margin: Quantity
    lobe_overhang: Quantity
    crown_radius: Quantity
    lobe_taper: Quantity
    rotation_arm: Quantity
    rotation_sense: tuple[int, ...]
    rotation_strength: Quantity
    obstacles: tuple[tuple[tuple[str, str], ...], ...]
    lobe_edge_margin: Quantity
    lift_deviation: Quantity
    lift_spread: dict[str, tuple[float, float]]
    tappet_hardness: Quantity
    bore_clearance: Quantity
    stem_in_guide: Quantity
    pairs: RockerContacts
    oil: OilState
    motion: ContactMotion
    lobe: LobeContact
    rollers: tuple[str, ...]
    missing: tuple[tuple[str, ...], ...]


def wear_study(
    setup: Setup, rocker: RockerResult, spring: SpringResult, rpm: Sequence[float] = ()
) -> WearResult:
    """Study the rubbing pairs of every valve.

    Args:
        setup: the engine.
        rocker, spring: results of those studies.
        rpm: crank speeds to add to cranking and idle [rpm]; left out, thirds of the redline.

    Raises:
        ValueError: the oil is none (see `oil_state`).
    """
    redline = setup.engine.redline
    if not rpm and redline is not None:
        top = redline.value * 30 / pi
        rpm = [each for each in (top / 3, 2 * top / 3, top) if each > IDLE + 1]
    speeds = np.array([CRANKING, IDLE, *rpm])
    static = speeds <= IDLE
    oil = oil_state(setup.oil)
    motion = contact_motion(setup, rocker, spring, speeds * pi / 60, static)
    form = face_forms(setup)
    values = {key: setup.column(*key.split(".")).value for key in FORM_KEYS}
    with np.errstate(divide="ignore"):
        crown = 1 / crown_curvature(values, form)
    slope = taper_slope(values)
    # A roller follows hollow flanks and needs no turning: what is studied here is the flat face.
    roller = np.array([train.tappet.kind == "roller" for train in setup.trains])
    crown = np.where(roller, np.nan, crown)
    lobe = lobe_contact(setup, motion, oil, crown, slope)
    known = wear_form(setup, rocker, spring, motion, form)
    idle, full = 1, np.abs(motion.angle).argmin()
    stress = lobe.touch.pressure
    worst = np.nan_to_num(stress, nan=-1.0).reshape(len(setup.valves), len(speeds), -1).max(axis=-1)
    peak = np.where(worst.max(axis=-1) > 0, worst.max(axis=-1), np.nan)
    curvature = np.where(roller, np.nan, _least(lobe.curvature_radius))
    drive = lobe.drive
    arm = known["rotation_arm"]
    ratio = lobe.film_ratio[:, idle, full]
    lifted = motion.curves.tappet_lift > 0
    entrained = np.where(lifted, lobe.entrainment[:, idle], np.nan)
    with np.errstate(invalid="ignore"):
        crosses = (np.nanmin(np.nan_to_num(entrained, nan=1.0), axis=-1) < 0) & lifted.any(axis=-1)
    offset = setup.column("contact", "bore_offset").value
    width = setup.column("lobe", "width").value
    half = np.nan_to_num(lobe.touch.uncut_half_length[:, idle, full], posinf=0.0)
    slope_u = _slope_uncertainty(setup)
    return WearResult(
        valves=setup.valves,
        roles=setup.roles,
        rpm=tuple(speeds.tolist()),
        peak_stress=_peak_stress(motion, lobe.curvature_radius, stress, peak),
        peak_rpm=_bound("ratio", np.where(np.isnan(peak), np.nan, speeds[worst.argmax(axis=-1)])),
        lobe_curvature=_bound(
            "length",
            curvature,
            _curvature_doubt(motion, lobe.curvature_radius),
            _CURVE,
        ),
        contact=tuple(_kind(lobe, index, idle, int(full)) for index in range(len(setup.valves))),
        film_at_nose=_bound("roughness", lobe.film[:, idle, full]),
        film_ratio_nose=_bound("ratio", ratio),
        film_regime=tuple(film_regime(float(each)) for each in ratio),
        entrainment_zero=tuple(map(bool, crosses)),
        flash=_bound("rise", _greatest(lobe.flash.reshape(len(setup.valves), -1))),
        least_face_diameter=_bound("length", np.where(roller, np.nan, lobe.path.least_face_diameter)),
        face_margin=_bound(
            "length",
            np.where(roller, np.nan, -lobe.path.face_overhang),
            _u(setup, "tappet", "face_diameter") / 2,
            "tappet.face_diameter",
        ),
        lobe_overhang=_bound("length", lobe.path.lobe_overhang),
        rotation_sense=tuple(int(np.sign(each)) if np.isfinite(each) else 0 for each in drive.arm),
        rotation_strength=_bound("ratio", np.where(np.isinf(drive.strength), np.nan, drive.strength)),
        obstacles=tuple(
            rotation_obstacles(
                taper=float(slope[index]),
                crown_radius=float(crown[index]),
                bore_offset=float(offset[index]),
                lobe_width=float(width[index]),
                half_length=float(half[index]),
                taper_uncertainty=float(slope_u[index]),
            )
            if not roller[index]
            else ()
            for index in range(len(setup.valves))
        ),
        lift_deviation=_lift_deviation(setup),
        lift_spread=_spread(setup),
        pairs=rocker_contacts(setup, motion),
        oil=oil,
        motion=motion,
        lobe=lobe,
        rollers=tuple(valve for valve, one in zip(setup.valves, roller, strict=True) if one),
        missing=_missing(setup, known["nose_stress"].value, crown),
        rotation_arm=arm,
        **{name: quantity for name, quantity in known.items() if name != "rotation_arm"},
    )


def _kind(lobe: LobeContact, index: int, speed: int, angle: int) -> str:
    """Name the contact at the nose."""
    touch = lobe.touch
    if touch.conformal[index, speed, angle]:
        return "no Hertz contact"
    if np.isnan(touch.pressure[index, speed, angle]):
        return ""
    if touch.cut_off[index, speed, angle]:
        return "cut off by the lobe's edge"
    return "line" if touch.line[index, speed, angle] else "ellipse"


def _curvature_doubt(motion: ContactMotion, radius: FloatArray) -> FloatArray:
    """Doubt of the least radius of curvature, from that of the lobe's acceleration."""
    there = np.argmin(np.nan_to_num(radius, nan=np.inf), axis=-1)
    second = np.take_along_axis(motion.curves.tappet_acceleration, there[:, np.newaxis], -1)[:, 0]
    return np.asarray(np.abs(second) * motion.shapes.doubt)


def _peak_stress(motion: ContactMotion, radius: FloatArray, stress: FloatArray, peak: FloatArray) -> Quantity:
    """Greatest stress, as unsure as the lobe's radius of curvature where it acts.

    Line contact goes with radius^(-1/2) (the ellipse with less); load and moduli are much better known. A
    radius drawn through zero is a flank without Hertz contact.
    """
    angles = stress.shape[-1]
    place = np.nan_to_num(stress, nan=-1.0).reshape(len(stress), -1).argmax(axis=-1) % angles
    there = place[:, np.newaxis]
    second = np.take_along_axis(motion.curves.tappet_acceleration, there, -1)[:, 0]
    own = np.take_along_axis(radius, there, -1)[:, 0]
    doubt = np.nan_to_num(np.abs(second) * motion.shapes.doubt)

    def pressed(rows: Mapping[str, FloatArray]) -> dict[str, FloatArray]:
        with np.errstate(invalid="ignore", divide="ignore"):
            share = own / rows[_CURVE]
            return {"peak_stress": np.where(share > 0, peak * np.sqrt(share), np.nan)}

    inputs = {_CURVE: Column(own, doubt, ("",) * len(own))}
    return computed(pressed, inputs, {"peak_stress": "pressure"})["peak_stress"]


def _lift_deviation(setup: Setup) -> Quantity:
    """Each lobe's lift against the median of its role; the doubt is the dial's, and the median's own."""
    column = setup.column("lobe", "measured_lift")
    value = lift_deviation(column.value, setup.roles)
    alike = np.array([setup.roles.count(role) for role in setup.roles])
    # A median of n readings is known to sqrt(pi/(2 n)) of one.
    doubt = column.uncertainty * np.sqrt(1 + pi / (2 * alike))
    return _bound("length", value, doubt)


def _spread(setup: Setup) -> dict[str, tuple[float, float]]:
    """Return role -> (standard deviation of its measured lobes, what the dial repeats); NaN under three."""
    column = setup.column("lobe", "measured_lift")
    found = {}
    for role in dict.fromkeys(setup.roles):
        mask = np.array([each == role for each in setup.roles]) & ~np.isnan(column.value)
        spread = float(np.std(column.value[mask], ddof=1)) if mask.sum() >= 3 else np.nan
        found[role] = (spread, float(np.mean(column.uncertainty[mask])) if mask.any() else np.nan)
    return found


def spread_in_words(spread: float, repeats: float, lobes: int) -> str:
    """Whether lobes spread more than a dial repeats: "within", "more" or "unsure".

    (n - 1) spread^2/repeats^2 of n alike lobes is chi-square of n - 1: beyond its 99 % quantile the lobes
    differ, below its 80 % quantile they need not, between these another reading tells (levels: our judgment).
    """
    from scipy.special import chdtrc

    if not repeats > 0.0:
        return "more" if spread > 0.0 else "within"
    chance = float(chdtrc(lobes - 1, (lobes - 1) * (spread / repeats) ** 2))
    return "more" if chance < 0.01 else "within" if chance > 0.2 else "unsure"


def _missing(setup: Setup, stress: FloatArray, crown: FloatArray) -> tuple[tuple[str, ...], ...]:
    """Name the sheet keys without which a valve's stress is not known."""
    keys = ("lobe.base_radius", "lobe.width", "spring.installed_height")
    columns = {key: setup.column(*key.split(".")).value for key in keys}
    out: list[tuple[str, ...]] = []
    for index, train in enumerate(setup.trains):
        if not np.isnan(stress[index]) or train.tappet.kind == "roller":
            out.append(())
            continue
        names = [key for key, values in columns.items() if np.isnan(values[index])]
        if np.isnan(crown[index]):
            names.append("tappet.crown_radius")
        if train.contact.lobe_modulus is None and train.contact.lobe_material is None:
            names.append("contact.lobe_material")
        if train.contact.tappet_modulus is None and train.masses.tappet_material is None:
            names.append("contact.tappet_modulus")
        out.append(tuple(names))
    return tuple(out)


def _slope_uncertainty(setup: Setup) -> FloatArray:
    """Standard uncertainty of each lobe's taper [rad]; 0 where it is not measured."""
    column = {key: setup.column(*key.split(".")) for key in FORM_KEYS}
    read = np.hypot(column["contact.taper_front"].uncertainty, column["contact.taper_rear"].uncertainty)
    read = read / column["contact.taper_distance"].value
    given = column["lobe.taper"].uncertainty / column["lobe.width"].value
    chosen = np.where(np.isnan(column["contact.taper_front"].value), given, read)
    return np.nan_to_num(np.hypot(chosen, column["contact.bore_lean"].uncertainty))


def _u(setup: Setup, section: str, key: str) -> FloatArray:
    return setup.column(section, key).uncertainty


def _bound(
    dimension: str, value: FloatArray, uncertainty: FloatArray | None = None, key: str = ""
) -> Quantity:
    doubt = np.full(np.shape(value), np.nan) if uncertainty is None else uncertainty
    doubt = np.where(np.isnan(value), np.nan, doubt)
    return Quantity(dimension, np.asarray(value, float), doubt, {key: doubt} if key else {})


def _least(values: FloatArray) -> FloatArray:
    """Least value over the last axis; NaN if any is."""
    return np.asarray(np.min(values, axis=-1))


def _greatest(values: FloatArray) -> FloatArray:
    """Greatest known value over the last axis; NaN where none is known."""
    known = ~np.isnan(values).all(axis=-1)
    return np.where(known, np.max(np.where(np.isnan(values), -np.inf, values), axis=-1), np.nan)
