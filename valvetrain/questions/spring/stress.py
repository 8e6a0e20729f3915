"""Stress, fatigue, set and natural frequency of every spring whose wire is described."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from valvetrain.answers.quantity import Quantity, computed
from valvetrain.mechanics.arrays import FloatArray
from valvetrain.parts.spring import CoilSpring
from valvetrain.questions.spring.curves import SpringCurves
from valvetrain.questions.spring.wire import DENSITY, shear_modulus
from valvetrain.setup.setup import Column, Setup

if TYPE_CHECKING:
    from valvetrain.mechanics.spring.fatigue import EnduranceStrength

__all__ = ["CONSTANT_SET", "OTHER_SET", "SpringStressResult", "spring_stress_study"]

CONSTANT_SET, OTHER_SET = "shigley", "fe_handbook"
"""Constants of the wire's tensile strength that verdicts use, and the other published ones shown beside."""

_DIMENSIONS = {
    "stress_seat": "pressure",
    "stress_open": "pressure",
    "stress_mean": "pressure",
    "stress_alternating": "pressure",
    "tensile_strength": "pressure",
    "tensile_strength_other": "pressure",
    "goodman_safety": "ratio",
    "goodman_safety_other": "ratio",
    "sines_safety": "ratio",
    "solid_stress": "fraction",
    "surge_frequency": "frequency",
    "surge_order": "ratio",
}


@dataclass(frozen=True)
class SpringStressResult:
    """One spring of the set at every valve.

    Attributes:
        section: the sheet's section of the spring.
        stress_seat, stress_open: shear stress, corrected for curvature by Bergstraesser's factor.
        stress_mean, stress_alternating: half their sum and half their difference.
        tensile_strength: of the wire by the constants `CONSTANT_SET`; ..._other: by `OTHER_SET`.
        goodman_safety: on the Goodman line through Zimmerli's endurance of the surface; ..._other likewise.
        sines_safety: by Sines: only the alternating stress counts.
        solid_stress: corrected stress pressed solid, as a share of the tensile strength.
        surge_frequency: lowest natural frequency, both ends held.
        surge_order: harmonic of the cam's turn that meets that frequency at the redline: lower ones meet it
            only above the redline.
    """

    section: str
    valves: tuple[str, ...]
    roles: tuple[str, ...]
    stress_seat: Quantity
    stress_open: Quantity
    stress_mean: Quantity
    stress_alternating: Quantity
    tensile_strength: Quantity
    tensile_strength_other: Quantity
    goodman_safety: Quantity
    goodman_safety_other: Quantity
    sines_safety: Quantity
    solid_stress: Quantity
    surge_frequency: Quantity
    surge_order: Quantity


def spring_stress_study(
    setup: Setup, curves: SpringCurves, inputs: Mapping[str, Column]
) -> dict[str, SpringStressResult]:
    """Study every spring of the set whose wire diameter is known at any valve; section -> result."""
    found = {}
    for section in curves.sections:
        wire = setup.column(section, "wire_diameter")
        if not np.any(~np.isnan(wire.value)):
            continue
        found[section] = SpringStressResult(
            section, setup.valves, setup.roles, **_quantities(setup, curves, inputs, section)
        )
    return found


def _quantities(
    setup: Setup, curves: SpringCurves, inputs: Mapping[str, Column], section: str
) -> dict[str, Quantity]:
    from valvetrain.mechanics.spring.fatigue import SpringStress, goodman_safety, sines_safety
    from valvetrain.mechanics.spring.helical import (
        bergstraesser_factor,
        shear_stress,
        spring_index,
    )
    from valvetrain.mechanics.spring.surge import surge_frequency_from_wire

    springs: list[CoilSpring] = [getattr(train, section) for train in setup.trains]
    moduli = [shear_modulus(spring) for spring in springs]
    columns = dict(inputs) | {
        f"{section}.{key}": setup.column(section, key)
        for key in ("wire_diameter", "coil_diameter", "active_coils")
    }
    columns[f"{section}.shear_modulus"] = Column(
        np.array([np.nan if each is None else each.value for each in moduli]),
        np.array([0.0 if each is None else each.uncertainty for each in moduli]),
        tuple("" if each is None else each.source for each in moduli),
    )
    redline = setup.engine.redline.value if setup.engine.redline else np.nan

    def quantities(rows: Mapping[str, FloatArray]) -> dict[str, FloatArray]:
        d, D = rows[f"{section}.wire_diameter"], rows[f"{section}.coil_diameter"]
        K = bergstraesser_factor(spring_index(d, D))
        height = rows["spring.installed_height"] + rows["spring.seat_recession"]
        own = curves.heights(rows, section, height)
        seat, full, solid = (
            shear_stress(curves.load_and_rate(rows, section, at)[0], d, D, K)
            for at in (own, own - rows["net lift"], rows[f"{section}.solid_height"])
        )
        stress = SpringStress(seat, full, 0.5 * (seat + full), 0.5 * (full - seat))
        strength, other = (_strength(springs, d, each) for each in (CONSTANT_SET, OTHER_SET))
        limit = _endurance(springs)
        frequency = surge_frequency_from_wire(
            d, D, rows[f"{section}.active_coils"], rows[f"{section}.shear_modulus"], DENSITY
        )
        # A valve whose own spring is not known has no frequency either: it borrows none.
        frequency = np.where(np.isnan(rows[f"{section}.rate"]), np.nan, frequency)
        return {
            "stress_seat": seat,
            "stress_open": full,
            "stress_mean": stress.mean,
            "stress_alternating": stress.alternating,
            "tensile_strength": strength,
            "tensile_strength_other": other,
            "goodman_safety": goodman_safety(stress, strength, limit),
            "goodman_safety_other": goodman_safety(stress, other, limit),
            "sines_safety": sines_safety(stress, limit),
            "solid_stress": solid / strength,
            "surge_frequency": frequency,
            "surge_order": 4.0 * np.pi * frequency / redline,
        }

    with np.errstate(invalid="ignore", divide="ignore"):
        return computed(quantities, columns, _DIMENSIONS)


def _strength(springs: list[CoilSpring], wire: FloatArray, constants: str) -> FloatArray:
    """Tensile strength of every valve's wire [Pa]; NaN for an unknown material."""
    from valvetrain.mechanics.spring.wire_strength import tensile_strength

    strength = np.full(wire.shape, np.nan)
    for material in {spring.material for spring in springs if spring.material is not None}:
        own = np.array([spring.material == material for spring in springs])
        strength[..., own] = tensile_strength(wire[..., own], material, constants)
    return strength


def _endurance(springs: list[CoilSpring]) -> "EnduranceStrength":
    """Endurance strength by each spring's surface; a surface that is not given counts as unpeened."""
    from valvetrain.mechanics.spring.fatigue import ZIMMERLI, EnduranceStrength

    points = [ZIMMERLI[spring.surface or "unpeened"] for spring in springs]
    return EnduranceStrength(
        np.array([point.alternating for point in points]),  # type: ignore[arg-type]
        np.array([point.mean for point in points]),  # type: ignore[arg-type]
    )
