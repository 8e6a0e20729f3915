"""Surge of a valve spring: its own frequency, and which harmonic of the lift meets it at which speed.

A harmonic of order n of the lift repeats n times a turn of the cam; it meets the spring's frequency f when
the cam turns f/n times a second, that is at a crank speed of 4 pi f/n [rad/s] (the cam turns at half the
crank's speed). Orders count turns of the cam.
"""

from dataclasses import dataclass

import numpy as np

from valvetrain.mechanics.arrays import ArrayLike, FloatArray
from valvetrain.mechanics.guards import positive

__all__ = [
    "LiftHarmonics",
    "SurgeMeetings",
    "active_mass",
    "lift_harmonics",
    "surge_frequency",
    "surge_frequency_from_wire",
    "surge_meetings",
    "surge_speed",
]


@dataclass(frozen=True)
class LiftHarmonics:
    """Harmonics of a lift curve over one turn of the cam.

    Attributes:
        order: 1, 2, ... [-], shape [n].
        amplitude: half of peak to peak of that harmonic [m], shape [..., n].
        phase: the harmonic is amplitude cos(order angle + phase), the angle from the first sample [rad].
    """

    order: FloatArray
    amplitude: FloatArray
    phase: FloatArray


@dataclass(frozen=True)
class SurgeMeetings:
    """Orders that meet the spring's frequency at or below a top speed, highest speed first.

    Attributes:
        order: [-].
        crank_speed: [rad/s].
        amplitude: of the lift's harmonic [m].
    """

    order: FloatArray
    crank_speed: FloatArray
    amplitude: FloatArray


def active_mass(
    wire_diameter: ArrayLike, coil_diameter: ArrayLike, active_coils: ArrayLike, density: ArrayLike
) -> FloatArray:
    """Mass of the active coils, pi^2 d^2 D Na rho/4 [kg]; density [kg/m^3], idle end coils left out."""
    d, D = positive("wire diameter", wire_diameter), positive("coil diameter", coil_diameter)
    coils = positive("active coils", active_coils)
    return np.asarray(np.pi**2 / 4.0 * d**2 * D * coils * positive("density", density))


def surge_frequency(rate: ArrayLike, mass: ArrayLike) -> FloatArray:
    """Lowest natural frequency with both ends held, (1/2) sqrt(k/m) [Hz].

    Args:
        rate: [N/m].
        mass: of the active coils only [kg], see `active_mass`.

    Higher modes are whole multiples of it. Source: Shigley, *Mechanical Engineering Design* (memory).
    """
    return np.asarray(0.5 * np.sqrt(positive("rate", rate) / positive("mass", mass)))


def surge_frequency_from_wire(
    wire_diameter: ArrayLike,
    coil_diameter: ArrayLike,
    active_coils: ArrayLike,
    shear_modulus: ArrayLike,
    density: ArrayLike,
) -> FloatArray:
    """The same frequency in the form of EN 13906-1 (memory), d/(2 pi Na D^2) sqrt(G/(2 rho)) [Hz]."""
    d, D = positive("wire diameter", wire_diameter), positive("coil diameter", coil_diameter)
    Na, G = positive("active coils", active_coils), positive("shear modulus", shear_modulus)
    return np.asarray(d / (2.0 * np.pi * Na * D**2) * np.sqrt(G / (2.0 * positive("density", density))))


def lift_harmonics(lift: ArrayLike, highest_order: int | None = None) -> LiftHarmonics:
    """Harmonics of a lift sampled evenly over exactly one turn of the cam, the end not repeated.

    Args:
        lift: [m], shape [..., samples]; a NaN makes that row NaN.
        highest_order: the last order returned; by default all that the samples carry free of folding,
            that is below half their number.

    Raises:
        ValueError: for fewer than 3 samples, or an order that the samples cannot carry.
    """
    samples = np.asarray(lift, float)
    count = samples.shape[-1] if samples.ndim else 0
    if count < 3:
        raise ValueError(f"the lift has {count} samples a cam turn: at least 3 are needed.")
    most = (count - 1) // 2
    last = most if highest_order is None else highest_order
    if not 1 <= last <= most:
        raise ValueError(f"the highest order is {last}: {count} samples a turn carry orders 1 to {most}.")
    spectrum = np.fft.rfft(samples, axis=-1)[..., 1 : last + 1] * (2.0 / count)
    return LiftHarmonics(np.arange(1.0, last + 1.0), np.abs(spectrum), np.angle(spectrum))


def surge_speed(frequency: ArrayLike, order: ArrayLike) -> FloatArray:
    """Crank speed [rad/s] at which a harmonic of that order meets the frequency [Hz], 4 pi f/order."""
    return np.asarray(4.0 * np.pi * positive("frequency", frequency) / positive("order", order))


def surge_meetings(frequency: float, harmonics: LiftHarmonics, top_speed: float) -> SurgeMeetings:
    """Which orders of one lift curve meet one spring at or below the top crank speed [rad/s].

    The lowest order met has most to give: amplitudes fall steeply with the order. Empty when `frequency`
    is NaN, or when the lift carries no order high enough: then sample it more finely.

    Raises:
        ValueError: for harmonics of more than one curve.
    """
    if harmonics.amplitude.ndim != 1:
        raise ValueError("the harmonics belong to several lift curves: give those of one.")
    if np.isnan(frequency):
        empty = np.zeros(0)
        return SurgeMeetings(empty, empty, empty)
    speed = surge_speed(frequency, harmonics.order)
    met = speed <= positive("top speed", top_speed)
    return SurgeMeetings(harmonics.order[met], speed[met], harmonics.amplitude[met])
