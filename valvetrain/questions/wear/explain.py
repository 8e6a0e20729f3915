"""How stress, film and heat between lobe and tappet come about."""

from dataclasses import replace
from math import nan
from typing import Any

import numpy as np

from valvetrain.answers.explanation import Explanation, Plain
from valvetrain.questions.wear.explain_contact import (
    MODULUS,
    MODULUS_STEP,
    NOSE,
    Place,
    greatest,
    hertz,
    placed,
    unless_roller,
    usual,
)
from valvetrain.questions.wear.explain_rubbing import RUBBING
from valvetrain.questions.wear.explain_tappet_face import FACE
from valvetrain.questions.wear.lobe_contact import EFFUSIVITY, FRICTION
from valvetrain.setup.setup import Setup

__all__ = ["EXPLANATIONS"]

_FOLLOWER = "R. L. Norton, Design of Machinery, cam design, flat-faced follower (memory)"
_IDLE = 1


def _full(result: Any) -> int:
    return int(np.abs(result.motion.angle).argmin())


def _nose(result: Any, index: int) -> tuple[int, ...] | None:
    """Full lift at idle."""
    return _IDLE, _full(result)


_WORST: Place = greatest(lambda result, index: result.lobe.touch.pressure[index])
_HOTTEST: Place = greatest(lambda result, index: result.lobe.flash[index])
_SHARPEST: Place = greatest(lambda result, index: -result.lobe.curvature_radius[index])


def _angle(place: Place) -> Plain:
    return placed(
        place, "cam angle there, from the lobe's center", "angle", lambda result, index: result.motion.angle
    )


def _speed(place: Place) -> Plain:
    return placed(
        place,
        "crank speed there",
        "rotation",
        lambda result, index: (
            2 * np.broadcast_to(result.motion.cam_speed[:, np.newaxis], result.lobe.flash[index].shape)
        ),
    )


_SECOND = "second derivative of the lobe's lift there, per cam radian squared"


def _second(place: Place) -> Plain:
    return placed(
        place, _SECOND, "length", lambda result, index: result.motion.curves.tappet_acceleration[index]
    )


def _lift(place: Place) -> Plain:
    return placed(
        place, "lobe's lift there", "length", lambda result, index: result.motion.curves.tappet_lift[index]
    )


def _stress(name: str, doc: str, own: Explanation, note: str, check: str = "") -> Explanation:
    """Name a Hertz pressure, and say where it is."""
    base = own.at
    assert base is not None

    def told(setup: Setup, results: Any, index: int) -> Explanation:
        found = base(setup, results, index)
        return replace(found, doc=doc, check=check, note=f"{note} {found.note}")

    return unless_roller(replace(own, name=name, doc=doc, check=check, note=note, at=told))


_OIL_STANDS = "oil of [oil] at its temperature, see `wear`"
_FILM_SYMBOLS: dict[str, str | Plain] = {
    "F": placed(
        _nose, "force of lobe on tappet at idle", "force", lambda result, index: result.motion.lobe[index]
    ),
    "w": Plain(
        "wear",
        "crank speed at idle",
        "rotation",
        lambda setup, result, index: 2 * float(result.motion.cam_speed[_IDLE]),
        "800 rpm, common practice, no source",
    ),
    "Rb": "lobe.base_radius",
    "s": _lift(_nose),
    "s2": _second(_nose),
    "Rc": "wear:crown_radius",
    "eta": Plain(
        "wear",
        "dynamic viscosity [Pa s]",
        "ratio",
        lambda setup, result, index: result.oil.dynamic,
        _OIL_STANDS,
    ),
    "al": Plain(
        "wear",
        "pressure coefficient of the viscosity",
        "per_pressure",
        lambda setup, result, index: result.oil.pressure_viscosity,
        _OIL_STANDS,
    ),
    "k": placed(
        _nose,
        "half length over half width of the contact, as solved",
        "ratio",
        lambda result, index: result.lobe.touch.ellipticity[index],
    ),
    **MODULUS,
}
_GROUPS = (
    MODULUS_STEP,
    ("u", "abs(w/4*(Rb + s + 2*s2))"),
    ("R", "Rb + s + s2"),
)


def _film(setup: Setup, results: Any, index: int) -> Explanation:
    """Film of an ellipse, or of a line where the lobe's edge or a flat face makes it one."""
    result = results["wear"]
    line = bool(result.lobe.touch.line[index, _IDLE, _full(result)])
    flat = setup.trains[index].contact.face_form == "flat"
    radius = ("Rx", "R" if flat else "1/(1/R + 1/Rc)")
    symbols = {key: each for key, each in _FILM.symbols.items() if not (flat and key in ("Rc", "k"))}
    if not line:
        return replace(_FILM, steps=(*_GROUPS, radius, *_POINT))
    length = placed(
        _nose,
        "length that bears",
        "length",
        lambda result, index: 2 * result.lobe.touch.half_length[index],
    )
    return replace(
        _FILM,
        symbols={**symbols, "L": length},
        steps=(
            *_GROUPS,
            radius,
            ("U", "eta*u/(2*Es*Rx)"),
            ("G", "al*2*Es"),
            ("V", "F/(2*Es*Rx*L)"),
            ("film_at_nose", "2.65*Rx*U^0.7*G^0.54*V^-0.13"),
        ),
        publication="Dowson and Higginson, Elasto-hydrodynamic Lubrication (memory): line contact",
    )


_POINT = (
    ("U", "eta*u/(2*Es*Rx)"),
    ("G", "al*2*Es"),
    ("V", "F/(2*Es*Rx^2)"),
    ("film_at_nose", "3.63*Rx*U^0.68*G^0.49*V^-0.073*(1 - exp(-0.68*k))"),
)
_FILM = Explanation(
    "film_at_nose",
    "wear",
    "oil film at the nose, at idle",
    _FILM_SYMBOLS,
    (*_GROUPS, ("Rx", "1/(1/R + 1/Rc)"), *_POINT),
    "Hamrock and Dowson (1977), part III (memory): point contact",
    "u: mean speed of both surfaces against the contact; U, G, V: groups of speed, material and load.",
    in_si=True,
)


def _worst_rpm(setup: Setup, result: Any, index: int) -> float:
    at = _WORST(result, index)
    return nan if at is None else float(result.rpm[at[0]])


EXPLANATIONS = (
    Explanation(
        "nose_load",
        "wear",
        "force of lobe on tappet at full lift, turning slowly",
        {"F": "spring:open_load", "i": "rocker:ratio_at_full_lift"},
        (("nose_load", "F*i"),),
        "own derivation: virtual work",
    ),
    _stress(
        "nose_stress",
        "greatest contact pressure at the nose, turning slowly",
        NOSE,
        "At full lift under the slow load.",
    ),
    _stress(
        "peak_stress",
        "greatest contact pressure over the lobe and the speeds",
        hertz(
            "peak_stress",
            placed(
                _WORST,
                "force of lobe on tappet there",
                "force",
                lambda result, index: result.motion.lobe[index],
            ),
            placed(
                _WORST,
                "radius of curvature there: base radius + lift + lift''",
                "length",
                lambda result, index: result.lobe.curvature_radius[index],
            ),
            {"t": _angle(_WORST), "n": _speed(_WORST)},
        ),
        "Worked out at every half degree of the cam and at each of the speeds shown; the greatest counts.",
        "contact_stress",
    ),
    unless_roller(
        Explanation(
            "peak_rpm",
            "wear",
            "crank speed of that pressure [rpm]",
            {
                "p": "wear:peak_stress",
                "t": _angle(_WORST),
                "n": Plain("wear", "speed of the greatest of the pressures [rpm]", "ratio", _worst_rpm),
            },
            (("peak_rpm", "n"),),
            "definition",
            "The first of the speeds shown at which the pressure is greatest.",
        )
    ),
    unless_roller(
        Explanation(
            "lobe_curvature",
            "wear",
            "least radius of curvature of the lobe",
            {
                "t": _angle(_SHARPEST),
                "Rb": "lobe.base_radius",
                "s": _lift(_SHARPEST),
                "s2": _second(_SHARPEST),
            },
            (("lobe_curvature", "Rb + s + s2"),),
            _FOLLOWER,
            "The least over the lobe, every half degree; at or below nought the flank is undercut.",
            "lobe_curvature",
        )
    ),
    unless_roller(replace(_FILM, at=_film)),
    unless_roller(
        Explanation(
            "film_ratio_nose",
            "wear",
            "film over the roughness of both faces, at the nose at idle",
            {"h": "wear:film_at_nose", "r1": "contact.lobe_roughness", "r2": "contact.tappet_roughness"},
            (("film_ratio_nose", "h/hypot(r1, r2)"),),
            "Norton, Machine Design, 4th edition: lambda",
        )
    ),
    unless_roller(
        Explanation(
            "flash",
            "wear",
            "greatest rise of the surfaces' temperature",
            {
                "t": _angle(_HOTTEST),
                "n": _speed(_HOTTEST),
                "mu": usual("friction", FRICTION, "friction of lobe on tappet"),
                "p": placed(
                    _HOTTEST,
                    "contact pressure there",
                    "pressure",
                    lambda result, index: result.lobe.touch.pressure[index],
                ),
                "b": placed(
                    _HOTTEST,
                    "half width of the contact there",
                    "length",
                    lambda result, index: result.lobe.touch.half_width[index],
                ),
                "Rb": "lobe.base_radius",
                "s": _lift(_HOTTEST),
                "s2": _second(_HOTTEST),
                "B": Plain(
                    "wear",
                    "thermal effusivity of cast iron [W s^0.5/(m2 K)]",
                    "ratio",
                    lambda *_: EFFUSIVITY,
                    "root of 50 W/(m K) x 7200 kg/m3 x 500 J/(kg K) (memory)",
                ),
            },
            (
                ("v1", "n/2*(Rb + s + s2)"),
                ("v2", "n/2*s2"),
                ("flash", "1.11*mu*pi/2*p*sqrt(b/2)*abs(v1 - v2)/(B*sqrt(abs(v1)) + B*sqrt(abs(v2)))"),
            ),
            "Blok's flash temperature, in the form kept by ISO/TR 13989-1 (memory)",
            "v1, v2: the surfaces' speeds against the contact. The greatest over lobe and speeds counts.",
            in_si=True,
        )
    ),
    *FACE,
    *RUBBING,
)
