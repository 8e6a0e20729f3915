"""Pressure drop of single oil passages over their flow, and its slope.

Sources (status: memory): Hagen and Poiseuille, the Darcy friction factor, Haaland's turbulent factor and the
thin annulus with eccentricity: White, *Fluid Mechanics*, chapter 6. Steady, incompressible flow of one oil
at one temperature. All functions work on arrays of passages; flow and drop carry the same sign.
"""

import numpy as np

from valvetrain.mechanics.arrays import FloatArray

__all__ = ["annulus_conductance", "darcy_factor", "orifice_drop", "pipe_drop", "pipe_reynolds"]

# Usual ends of laminar and beginning of fully turbulent flow in a pipe; between, the factor is led straight.
LAMINAR_END = 2300.0
TURBULENT_BEGIN = 4000.0


def pipe_reynolds(flow: FloatArray, diameter: FloatArray, density: float, viscosity: float) -> FloatArray:
    """Reynolds number 4 rho |q|/(pi d mu) [1] of flow q [m^3/s] in a round passage d [m]."""
    return np.asarray(4 * density * np.abs(flow) / (np.pi * diameter * viscosity), float)


def darcy_factor(reynolds: FloatArray, relative_roughness: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Darcy friction factor and its derivative by the Reynolds number.

    Args:
        reynolds: > 0.
        relative_roughness: roughness height/diameter [1], >= 0.

    Returns:
        64/Re below 2300; Haaland's above 4000; a straight line between.
    """
    laminar = 64 / reynolds
    rough = (relative_roughness / 3.7) ** 1.11

    def haaland(number: FloatArray) -> tuple[FloatArray, FloatArray]:
        inside = 6.9 / number + rough
        root = -1.8 * np.log10(inside)
        slope = 1.8 * 6.9 / (number**2 * inside * np.log(10))
        return root**-2.0, -2 * root**-3.0 * slope

    turbulent, turbulent_slope = haaland(np.maximum(reynolds, TURBULENT_BEGIN))
    low, high = 64 / LAMINAR_END, haaland(np.full_like(reynolds, TURBULENT_BEGIN))[0]
    line_slope = (high - low) / (TURBULENT_BEGIN - LAMINAR_END)
    zones = [reynolds <= LAMINAR_END, reynolds < TURBULENT_BEGIN]
    factor = np.select(zones, [laminar, low + line_slope * (reynolds - LAMINAR_END)], turbulent)
    slope = np.select(zones, [-laminar / reynolds, line_slope], turbulent_slope)
    return factor, slope


def pipe_drop(
    flow: FloatArray,
    diameter: FloatArray,
    length: FloatArray,
    roughness: FloatArray,
    loss: FloatArray,
    density: float,
    viscosity: float,
) -> tuple[FloatArray, FloatArray]:
    """Pressure drop [Pa] of round passages and its derivative by the flow [Pa s/m^3].

    Args:
        flow: q [m^3/s], signed.
        diameter, length, roughness: [m].
        loss: sum of the loss coefficients of bends and ends, on the passage's dynamic pressure [1].
        density: [kg/m^3]; viscosity: dynamic [Pa s].
    """
    area = 0.25 * np.pi * diameter**2
    reynolds = pipe_reynolds(flow, diameter, density, viscosity)
    number = np.maximum(reynolds, 1e-12)
    factor, slope = darcy_factor(number, roughness / diameter)
    # f Re is finite at rest (64), so the drop is written by it: no division by a vanishing flow.
    per_flow = 0.5 * viscosity * length / (diameter**2 * area)
    friction = per_flow * factor * number * flow
    friction_slope = per_flow * number * (2 * factor + number * slope)
    local = 0.5 * density * loss / area**2
    return friction + local * flow * np.abs(flow), friction_slope + 2 * local * np.abs(flow)


def orifice_drop(
    flow: FloatArray, diameter: FloatArray, coefficient: FloatArray, density: float
) -> tuple[FloatArray, FloatArray]:
    """Pressure drop rho/2 (q/(C A))^2 [Pa] of sharp holes, signed, and its derivative by the flow."""
    effective = coefficient * 0.25 * np.pi * diameter**2
    scale = 0.5 * density / effective**2
    return scale * flow * np.abs(flow), 2 * scale * np.abs(flow)


def annulus_conductance(
    diameter: FloatArray,
    clearance: FloatArray,
    length: FloatArray,
    eccentricity: FloatArray,
    viscosity: float,
) -> FloatArray:
    """Laminar leak per pressure along a thin annulus [m^3/(s Pa)]: pi d c^3 (1 + 1.5 e^2)/(12 mu L).

    Args:
        diameter: of the shaft [m].
        clearance: radial, half of the bore's size less the shaft's [m].
        length: along the leak [m].
        eccentricity: shaft's shift over the radial clearance, 0 (centered) to 1 (touching, 2.5-fold leak).
        viscosity: dynamic [Pa s].
    """
    return np.asarray(
        np.pi * diameter * clearance**3 * (1 + 1.5 * eccentricity**2) / (12 * viscosity * length), float
    )
