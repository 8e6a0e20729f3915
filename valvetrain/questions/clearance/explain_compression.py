"""How the compression ratios come about, and what the explanations of a cylinder share."""

from collections.abc import Mapping
from dataclasses import replace
from math import isnan
from typing import Any

from valvetrain.answers.explanation import Explanation, Plain
from valvetrain.setup.setup import Setup

__all__ = ["COMPRESSION", "SLIDER", "fall", "first_of", "place_in_cylinder"]

SLIDER = {"S": "engine.stroke", "R": "engine.rod_length"}


def fall(angle: str) -> str:
    """Fall of the piston from top dead center, q half the stroke."""
    return f"2*q*sin({angle}/2)^2 + (q*sin({angle}))^2/(R + sqrt(R^2 - (q*sin({angle}))^2))"


def first_of(role: str, section: str, key: str, meaning: str, dimension: str) -> Plain:
    """Return a value of the first intake or exhaust valve of the cylinder."""

    def pick(setup: Setup, result: Any, index: int) -> float:
        return float(setup.column(section, key).value[place_in_cylinder(setup, index, role)])

    def stands(setup: Setup, index: int) -> str:
        where = setup.column(section, key).source[place_in_cylinder(setup, index, role)]
        return where or f"not in the sheet, {section}.{key}"

    return Plain("clearance", meaning, dimension, pick, stands)


def place_in_cylinder(setup: Setup, index: int, role: str) -> int:
    """Return the index of the first valve of a role in the cylinder of a valve."""
    cylinder = setup.trains[index].cylinder
    pairs = enumerate(zip(setup.trains, setup.roles, strict=True))
    return next(at for at, (train, own) in pairs if train.cylinder == cylinder and own == role)


def _static(setup: Setup, results: Mapping[str, Any], index: int) -> Explanation:
    """Static ratio as given, or from the volumes."""
    if isnan(_VOLUMES["K"].pick(setup, results["clearance"], index)):
        return _STATIC
    return replace(
        _STATIC,
        symbols={"K": _VOLUMES["K"]},
        steps=(("static_ratio", "K"),),
        publication="given",
        in_si=False,
        note="As the sheet gives it, which goes before the volumes.",
    )


_VOLUMES = {
    "K": first_of("intake", "piston", "compression_ratio", "static compression ratio", "ratio"),
    "C": first_of("intake", "piston", "chamber_volume", "volume of the chamber in the head", "volume"),
    "p": first_of("intake", "piston", "crown_volume", "volume of dish and reliefs in the crown", "volume"),
    "g": first_of("intake", "piston", "gasket_bore", "bore of the head gasket", "length"),
    "k": first_of("intake", "piston", "gasket_thickness", "thickness of the head gasket", "length"),
    "d": first_of("intake", "piston", "deck_clearance", "crown below the block's deck", "length"),
}
_STATIC = Explanation(
    "static_ratio",
    "clearance",
    "compression ratio from the whole stroke",
    {**_VOLUMES, "B": "engine.bore", "S": "engine.stroke"},
    (
        ("V", "C + p + pi/4*g^2*k + pi/4*B^2*d"),
        ("static_ratio", "1 + pi/4*B^2*S/V"),
    ),
    "definition",
    "V: volume above the piston at top dead center.",
    in_si=True,
)
_CLOSES = Plain(
    "events",
    "intake closes, after bottom dead center",
    "angle",
    lambda setup, result, index: float(result.closes.value[place_in_cylinder(setup, index, "intake")]),
    "reported by `events`: see events.closes, of the cylinder's intake valve",
)

COMPRESSION = (
    replace(_STATIC, at=_static),
    Explanation(
        "effective_ratio",
        "clearance",
        "compression ratio from the stroke left when the intake valve seats",
        {"K": "clearance:static_ratio", "t": _CLOSES, **SLIDER},
        (
            ("q", "S/2"),
            ("u", "pi + t"),
            ("left", f"({fall('u')})/S"),
            ("effective_ratio", "1 + (K - 1)*left"),
        ),
        "definition; crank and rod in closed form (own derivation)",
        "left: share of the stroke that is left when the intake valve seats at its lash.",
    ),
)
