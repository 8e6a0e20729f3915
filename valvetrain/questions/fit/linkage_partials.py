"""How far each measured dimension of a shaft rocker moves pad drop, contact and ratio: exact derivatives.

The loop closure is written once, symbolically, and differentiated implicitly: for an output O(p, phi, s)
and the closure F(p, phi, s) = 0, dO/dp = O_p - O_phi F_p/F_phi. Frames and signs are those of
`valvetrain.mechanics.rocker.linkage`. Derived; tested against finite differences of that module.
"""

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from functools import cache
from typing import Any

import numpy as np

from valvetrain.mechanics.arrays import FloatArray
from valvetrain.mechanics.rocker.linkage import closed_position, swung
from valvetrain.mechanics.uncertainty.propagation import Propagated

__all__ = ["OUTPUTS", "PARAMETERS", "LinkagePartials", "linkage_partials", "linkage_propagated"]

PARAMETERS = (
    "setback",
    "height",
    "pad_arm",
    "pad_radius",
    "socket_arm",
    "arm_angle",
    "lash",
    "pushrod_planar_length",
    "tappet_setback",
    "tappet_angle",
)
"""The dimensions a linkage is measured by [m, rad]."""

OUTPUTS = ("pad_drop", "contact_x", "ratio")
"""What is differentiated: [m], [m], [1]."""

_INPUTS = (*PARAMETERS, "tappet_lift")


@dataclass(frozen=True)
class LinkagePartials:
    """Outputs and their derivatives, arrays of shape [..., n]; NaN where the linkage cannot be.

    Attributes:
        value: output name -> values.
        partial: output name -> name of a parameter or "tappet_lift" -> derivative, the tappet's base-circle
            position following the dimension so that the lash stays as set.
    """

    value: Mapping[str, FloatArray]
    partial: Mapping[str, Mapping[str, FloatArray]]


def linkage_partials(parameters: Mapping[str, FloatArray], tappet_lift: FloatArray) -> LinkagePartials:
    """Pad drop, contact and ratio with their derivatives by every dimension.

    Args:
        parameters: each of PARAMETERS -> array of shape [...] (broadcast).
        tappet_lift: rise off the base circle [m], shape [..., n].

    Raises:
        ValueError: a parameter missing or unknown, or a length that no part can have.
    """
    strange = set(parameters) ^ set(PARAMETERS)
    if strange:
        raise ValueError(f"parameters missing or unknown: {', '.join(sorted(strange))}")
    swing = swung(closed_position(**parameters), tappet_lift)
    arrays = [np.asarray(parameters[name], float)[..., np.newaxis] for name in PARAMETERS]
    shape = swing.pad_angle.shape
    with np.errstate(invalid="ignore", divide="ignore"):
        flat = _lambdified()(*arrays, np.asarray(tappet_lift, float), swing.pad_angle)
    lost = np.isnan(swing.pad_drop)
    parts = [np.where(lost, np.nan, np.broadcast_to(np.asarray(one, float), shape)) for one in flat]
    width = len(_INPUTS)
    return LinkagePartials(
        value={"pad_drop": swing.pad_drop, "contact_x": swing.contact_x, "ratio": swing.ratio},
        partial={
            output: dict(zip(_INPUTS, parts[width * row : width * (row + 1)], strict=True))
            for row, output in enumerate(OUTPUTS)
        },
    )


def linkage_propagated(
    parameters: Mapping[str, FloatArray], uncertainties: Mapping[str, FloatArray], tappet_lift: FloatArray
) -> Propagated:
    """First-order uncertainty of the three outputs from the exact derivatives, inputs uncorrelated.

    Args:
        parameters, tappet_lift: as for `linkage_partials`.
        uncertainties: name of a parameter or "tappet_lift" -> standard uncertainty, broadcastable to
            [...] ([..., n] for the lift); left out, 0 or NaN: exact.
    """
    partials = linkage_partials(parameters, tappet_lift)
    contributions: dict[str, Mapping[str, FloatArray]] = {}
    uncertainty: dict[str, FloatArray] = {}
    for output in OUTPUTS:
        parts = {}
        for name, spread in uncertainties.items():
            own = np.nan_to_num(np.asarray(spread, float))
            if np.any(own > 0.0):
                parts[name] = partials.partial[output][name] * (
                    own if name == "tappet_lift" else own[..., None]
                )
        total = np.zeros(partials.value[output].shape)
        for part in parts.values():
            total = np.hypot(total, part)
        contributions[output] = parts
        uncertainty[output] = np.where(np.isnan(partials.value[output]), np.nan, total)
    return Propagated(partials.value, uncertainty, contributions)


def loop_closure() -> tuple[Any, dict[str, Any], dict[str, Any]]:
    """The closure F and the outputs as sympy expressions, and their symbols by name.

    Symbols: PARAMETERS, tappet_lift and rocker_angle (of the pad arm from +x).
    """
    import sympy

    symbol = {name: sympy.Symbol(name, real=True) for name in (*_INPUTS, "rocker_angle")}
    arm, lever, rod = symbol["pad_arm"], symbol["socket_arm"], symbol["pushrod_planar_length"]
    phi, lean = symbol["rocker_angle"], symbol["tappet_angle"]

    def socket(angle: Any) -> tuple[Any, Any]:
        """Upper ball from the tappet's line: across and along it."""
        turned = angle + symbol["arm_angle"] - lean
        return symbol["tappet_setback"] + lever * sympy.cos(turned), lever * sympy.sin(turned)

    sine = (symbol["pad_radius"] + symbol["lash"] - symbol["height"]) / arm
    across, along = socket(sympy.asin(sine))
    start = along - sympy.sqrt(rod**2 - across**2)
    across, along = socket(phi)
    closure = across**2 + (along - start - symbol["tappet_lift"]) ** 2 - rod**2
    turn = -sympy.diff(closure, symbol["tappet_lift"]) / sympy.diff(closure, phi)
    outputs = {
        "pad_drop": arm * (sine - sympy.sin(phi)),
        "contact_x": arm * sympy.cos(phi) - symbol["setback"],
        "ratio": -arm * sympy.cos(phi) * turn,
    }
    return closure, outputs, symbol


@cache
def _lambdified() -> Callable[..., list[FloatArray]]:
    """Derivatives of all outputs by all inputs as one numpy function with common parts computed once."""
    import sympy

    closure, outputs, symbol = loop_closure()
    phi = symbol["rocker_angle"]
    turn = {name: -sympy.diff(closure, symbol[name]) / sympy.diff(closure, phi) for name in _INPUTS}
    expressions = [
        sympy.diff(outputs[output], symbol[name]) + sympy.diff(outputs[output], phi) * turn[name]
        for output in OUTPUTS
        for name in _INPUTS
    ]
    arguments = [*(symbol[name] for name in _INPUTS), phi]
    function: Callable[..., list[FloatArray]] = sympy.lambdify(arguments, expressions, "numpy", cse=True)
    return function
