"""The oil at its temperature: viscosity, density, pressure-viscosity coefficient, from whatever is known."""

from dataclasses import dataclass

import numpy as np

from valvetrain.mechanics.oil.viscosity import (
    density_at,
    dynamic_viscosity,
    kinematic_viscosity,
    kinematic_viscosity_at_40,
    pressure_viscosity_estimate,
    sae_grade,
)
from valvetrain.parts.oil import Oil

__all__ = ["OilState", "oil_state"]

T40, T100 = 313.15, 373.15

# Viscosity index of a mineral oil whose sheet gives none: common practice, no source.
_INDEX = {"single": 100.0, "multigrade": 140.0}


@dataclass(frozen=True)
class OilState:
    """The oil as it meets the parts; NaN where it is not known.

    Attributes:
        temperature: [K].
        kinematic: viscosity [m^2/s]; dynamic: [Pa s]; density: [kg/m^3].
        pressure_viscosity: [1/Pa].
        relative_uncertainty: of the viscosity [1].
        basis: where the viscosity comes from, in words.
    """

    temperature: float
    kinematic: float
    dynamic: float
    density: float
    pressure_viscosity: float
    relative_uncertainty: float
    basis: str


def oil_state(oil: Oil) -> OilState:
    """Return the oil at its temperature.

    Two viscosities come first; then the one at 100 degC with the index; then the grade, whose band at 100
    degC is taken at its middle.

    Raises:
        ValueError: a grade that is not known, or viscosities that no oil has; the sentence names [oil].
    """
    if oil.temperature is None:
        return OilState(*(np.nan,) * 6, basis="the oil's temperature is not known")
    try:
        at_100, at_40, spread, basis = _two_points(oil)
    except ValueError as error:
        raise ValueError(f"[oil]: {error}") from error
    if np.isnan(at_100):
        return OilState(oil.temperature.value, *(np.nan,) * 5, basis=basis)
    kelvin = oil.temperature.value
    density = float(density_at(kelvin, oil.density.value if oil.density is not None else 875.0))

    def viscosity(at: float) -> float:
        return float(kinematic_viscosity(at, at_40, T40, at_100, T100))

    kinematic = viscosity(kelvin)
    if np.isnan(kinematic):
        return OilState(kelvin, *(np.nan,) * 5, basis="the oil is thinner than 2 cSt there")
    doubt = max(oil.temperature.uncertainty, 0.1)
    by_heat = np.log(viscosity(kelvin - doubt) / kinematic)
    dynamic = float(dynamic_viscosity(kinematic, density))
    known = oil.pressure_viscosity
    alpha = float(pressure_viscosity_estimate(dynamic)) if known is None else known.value
    return OilState(kelvin, kinematic, dynamic, density, alpha, float(np.hypot(by_heat, spread)), basis)


def _two_points(oil: Oil) -> tuple[float, float, float, str]:
    """Return viscosity at 100 and 40 degC, relative uncertainty, and where they come from."""
    if oil.viscosity_40 is not None and oil.viscosity_100 is not None:
        if oil.viscosity_40.value <= oil.viscosity_100.value:
            raise ValueError("the oil is not thicker at 40 degC than at 100 degC: are the two mixed up?")
        return oil.viscosity_100.value, oil.viscosity_40.value, 0.02, "two viscosities of the data sheet"
    index = None if oil.viscosity_index is None else oil.viscosity_index.value
    if oil.viscosity_100 is not None:
        at_100, spread, basis = oil.viscosity_100.value, 0.02, "viscosity at 100 degC"
        kind = "multigrade" if oil.grade is not None and "W" in oil.grade.upper() else "single"
    elif oil.grade is not None:
        grade = sae_grade(oil.grade)
        top = grade.maximum if np.isfinite(grade.maximum) else 1.5 * grade.minimum
        at_100 = 0.5 * (grade.minimum + top)
        spread = (top - grade.minimum) / 12**0.5 / at_100
        basis = f"middle of grade {grade.name} ({grade.edition})"
        kind = "multigrade" if "W-" in grade.name else "single"
    else:
        return np.nan, np.nan, np.nan, "neither grade nor viscosity of the oil is known"
    if index is None:
        index, basis = _INDEX[kind], f"{basis}, viscosity index {_INDEX[kind]:.0f} assumed"
    return at_100, float(kinematic_viscosity_at_40(at_100, index)), spread, basis
