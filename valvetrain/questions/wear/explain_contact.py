"""What the explanations of the rubbing pairs share: places on the lobe, materials, taper, Hertz contact."""

from collections.abc import Callable, Mapping
from dataclasses import replace
from math import isnan, nan
from typing import Any

import numpy as np

from valvetrain.answers.explanation import Explanation, Plain
from valvetrain.mechanics.contact.hertz import ellipticity
from valvetrain.mechanics.dynamics.elastic_moduli import ELASTIC_MODULI
from valvetrain.questions.wear.lobe_contact import POISSON
from valvetrain.setup.linkage_columns import lobe_lift
from valvetrain.setup.setup import Setup

__all__ = [
    "CROWN",
    "HERTZ",
    "HERTZ_NOTE",
    "MODULUS",
    "MODULUS_STEP",
    "NOSE",
    "OFFSET",
    "PAD_MODULUS",
    "TAPER",
    "TAPER_STEP",
    "Place",
    "greatest",
    "hertz",
    "placed",
    "unless_roller",
    "usual",
]

Symbols = dict[str, str | Plain]
Steps = tuple[tuple[str, str], ...]
Place = Callable[[Any, int], tuple[int, ...] | None]

HERTZ = (
    "Hertz contact: Johnson, Contact Mechanics (1985), chapter 4 (memory), as in Boresi and Schmidt, "
    "chapter 17; the ellipse's shape by Carlson's integrals"
)
HERTZ_NOTE = (
    "k: the ellipse's axes, from the ratio of the curvatures, and Q: its complete elliptic integral E, "
    "both as solved; hl: half its length along the camshaft; L: the part of it on the lobe, which carries "
    "as a line where the lobe's edge cuts the ellipse off."
)


def greatest(values: Callable[[Any, int], Any]) -> Place:
    """Return where values at a valve are greatest; None where none is known."""

    def place(result: Any, index: int) -> tuple[int, ...] | None:
        own = np.asarray(values(result, index), float)
        if np.isnan(own).all():
            return None
        at = int(np.argmax(np.where(np.isnan(own), -np.inf, own)))
        return tuple(int(each) for each in np.unravel_index(at, own.shape))

    return place


def placed(
    place: Place, meaning: str, dimension: str, values: Callable[[Any, int], Any], source: str = ""
) -> Plain:
    """Return a number at a place of the lobe and, where it depends on it, at a speed."""

    def pick(setup: Setup, result: Any, index: int) -> float:
        at = place(result, index)
        if at is None:
            return nan
        own = np.asarray(values(result, index), float)
        return float(own[at[-own.ndim :]] if own.ndim else own)

    return Plain("wear", meaning, dimension, pick, source)


def _young(side: str, key: str, usual: str | None) -> Plain:
    """Young's modulus of a part, as given or its material's."""

    def named(setup: Setup, index: int) -> str | None:
        train = setup.trains[index]
        own = {"lobe": train.contact.lobe_material, "tappet": train.masses.tappet_material}
        return own.get(side) or usual

    def pick(setup: Setup, result: Any, index: int) -> float:
        given, name = float(setup.column("contact", key).value[index]), named(setup, index)
        return given if not isnan(given) else nan if name is None else ELASTIC_MODULI[name]

    def stands(setup: Setup, index: int) -> str:
        own, name = setup.column("contact", key).source[index], named(setup, index)
        return own or (f"usual for {name}" if name else f"not in the sheet, contact.{key}")

    return Plain("wear", f"Young's modulus of the {side}", "pressure", pick, stands)


def _poisson(side: str) -> Plain:
    def pick(setup: Setup, result: Any, index: int) -> float:
        own = float(setup.column("contact", f"{side}_poisson").value[index])
        return POISSON if isnan(own) else own

    def stands(setup: Setup, index: int) -> str:
        return setup.column("contact", f"{side}_poisson").source[index] or "usual, common practice, no source"

    return Plain("wear", f"Poisson's ratio of the {side}", "ratio", pick, stands)


MODULUS: Symbols = {
    "E1": _young("lobe", "lobe_modulus", None),
    "n1": _poisson("lobe"),
    "E2": _young("tappet", "tappet_modulus", None),
    "n2": _poisson("tappet"),
}
MODULUS_STEP = ("Es", "1/((1 - n1^2)/E1 + (1 - n2^2)/E2)")
PAD_MODULUS: Symbols = {
    "E1": _young("pad", "pad_modulus", "carbon steel"),
    "E2": _young("tip", "tip_modulus", "carbon steel"),
}

TAPER: Symbols = {
    "T1": "contact.taper_front",
    "T2": "contact.taper_rear",
    "Td": "contact.taper_distance",
    "T": "lobe.taper",
    "W": "lobe.width",
    "l": "contact.bore_lean",
}
TAPER_STEP = ("th", "either(atan2(T2 - T1, Td), atan2(T, W)) + either(l, 0)")
OFFSET: Symbols = {"o": "contact.bore_offset"}
CROWN: Symbols = {"Rc": "wear:crown_radius"}


def hertz(name: str, load: Plain | str, radius: Plain, symbols: Mapping[str, str | Plain]) -> Explanation:
    """Explain a Hertz pressure of lobe on tappet, with the load P and the lobe's radius R."""

    def shape(setup: Setup, result: Any, index: int) -> float:
        crown = float(result.crown_radius.value[index])
        curve = float(radius.pick(setup, result, index))
        if isnan(crown + curve) or curve == 0:
            return nan
        along, across = 1 / crown, 1 / curve + 1 / crown
        least, most = min(along, across), max(along, across)
        return float(ellipticity(most / least)) if least > 0 else nan

    def integral(setup: Setup, result: Any, index: int) -> float:
        from scipy.special import ellipe

        return float(ellipe(1 - 1 / shape(setup, result, index) ** 2))

    own = Explanation(
        name,
        "wear",
        "",
        {
            "P": load,
            "R": radius,
            **symbols,
            **CROWN,
            **MODULUS,
            **TAPER,
            **OFFSET,
            "k": Plain("wear", "long over short axis of the ellipse, as solved", "ratio", shape),
            "Q": Plain("wear", "complete elliptic integral E of it", "ratio", integral),
        },
        (
            MODULUS_STEP,
            TAPER_STEP,
            ("m", "either(th*Rc - either(o, 0), 0)"),
            ("q", "1/(1/R + 2/Rc)"),
            ("b", "(6*Q*P*q/(pi*k*2*Es))^(1/3)"),
            ("hl", "where(1/Rc <= 1/R + 1/Rc, k*b, b)"),
            ("L", "min(m + hl, W/2) - max(m - hl, -W/2)"),
            (
                name,
                "where(abs(m) + hl > W/2, sqrt(P*Es*(1/R + 1/Rc)/(pi*L)), Es*b/(2*Q*q))",
            ),
        ),
        HERTZ,
        f"m: middle of the contact from the lobe's. {HERTZ_NOTE}",
    )

    def told(setup: Setup, results: Mapping[str, Any], index: int) -> Explanation:
        if setup.trains[index].contact.face_form != "flat":
            return replace(own, at=None)
        return replace(
            own,
            at=None,
            symbols={"P": load, "R": radius, **symbols, **MODULUS, "W": "lobe.width"},
            steps=(MODULUS_STEP, (name, "sqrt(P*Es/(pi*W*R))")),
            note="A flat face: a line contact over the lobe's width.",
        )

    return replace(own, at=told)


def _nose_radius(setup: Setup, result: Any, index: int) -> float:
    """Radius of curvature at the nose: base radius, lift found there, and acceleration."""
    motion = result.motion
    second = float(motion.curves.tappet_acceleration[index, int(np.abs(motion.angle).argmin())])
    return float(setup.column("lobe", "base_radius").value[index] + lobe_lift(setup).value[index]) + second


NOSE = hertz(
    "nose_stress",
    "wear:nose_load",
    Plain("wear", "radius of curvature at the nose: base radius + lift + lift''", "length", _nose_radius),
    {},
)


def usual(key: str, value: float, meaning: str) -> Plain:
    """Return a number of [contact], or what is usual."""

    def pick(setup: Setup, result: Any, index: int) -> float:
        own = float(setup.column("contact", key).value[index])
        return value if isnan(own) else own

    def stands(setup: Setup, index: int) -> str:
        return setup.column("contact", key).source[index] or "usual, common practice, no source"

    return Plain("wear", meaning, "ratio", pick, stands)


def unless_roller(own: Explanation) -> Explanation:
    """Return the explanation; at a valve with a roller tappet, whose face is not studied, words only."""

    def told(setup: Setup, results: Mapping[str, Any], index: int) -> Explanation:
        if setup.trains[index].tappet.kind == "roller":
            return replace(own, at=None, steps=(), note="A roller tappet has no face: not studied.")
        return replace(own, at=None) if own.at is None else own.at(setup, results, index)

    return replace(own, at=told)
