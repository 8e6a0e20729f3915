"""How the numbers of pad on tip, rocker on shaft and stem in guide come about."""

from collections.abc import Callable, Mapping
from dataclasses import replace
from typing import Any

import numpy as np

from valvetrain.answers.explanation import Explanation, Plain
from valvetrain.questions.wear.explain_contact import PAD_MODULUS, Place, greatest, placed
from valvetrain.questions.wear.rocker_contacts import POISSON
from valvetrain.setup.setup import Setup

__all__ = ["RUBBING"]

_HERTZ = "Hertz line contact: Johnson, Contact Mechanics (1985), chapter 4 (memory)"
_STATICS = "own derivation: equilibrium"
_EVERY = "Worked out at every half degree of the cam and each of the speeds shown; the greatest counts."
Symbols = dict[str, str | Plain]


def _motion(name: str) -> Callable[[Any, int], Any]:
    """Return an array of the motion at a valve, over speeds and angles."""

    def values(result: Any, index: int) -> Any:
        return getattr(result.motion, name)[index]

    return values


def _pad_angle(result: Any, index: int) -> Any:
    return result.motion.curves.pad_angle[index]


def _turn(result: Any, index: int) -> Any:
    return result.motion.turn[index]


def _speeds(result: Any, index: int) -> Any:
    return np.broadcast_to(result.motion.cam_speed[:, np.newaxis], result.motion.tip[index].shape)


def _lifted(result: Any, index: int) -> Any:
    return result.motion.curves.valve_lift[index]


def _below(result: Any, index: int) -> Any:
    rows = result.motion.rows
    return (
        rows["rocker.pad_arm"][index] * np.sin(_pad_angle(result, index)) - rows["rocker.pad_radius"][index]
    )


def _sliding(result: Any, index: int) -> Any:
    """Speed of the pad over the tip while the valve is lifted."""
    lift = _lifted(result, index)
    moving = np.abs(_turn(result, index) * _below(result, index))
    return np.where(np.isnan(lift) | (lift > 0), moving, 0.0) * _speeds(result, index)


_PRESSED: Place = greatest(_motion("tip"))
_FASTEST: Place = greatest(_sliding)
_OUTERMOST: Place = greatest(lambda result, index: result.pairs.reach[index])
_TIPPED: Place = greatest(lambda result, index: result.pairs.guide_force[index])


def _bearing(result: Any, index: int) -> Any:
    return np.hypot(_motion("shaft_x")(result, index), _motion("shaft_y")(result, index))


def _swinging(result: Any, index: int) -> Any:
    return np.abs(_turn(result, index) * _speeds(result, index))


_LOADED: Place = greatest(_bearing)
_SWUNG: Place = greatest(_swinging)
_SEVERE: Place = greatest(lambda result, index: _bearing(result, index) * _swinging(result, index))


def _slow_full(result: Any, index: int) -> tuple[int, ...] | None:
    return 0, int(np.abs(result.motion.angle).argmin())


def _where(place: Place) -> Symbols:
    """Return cam angle and speed of a place."""
    return {
        "t": placed(
            place,
            "cam angle there, from the lobe's center",
            "angle",
            lambda result, index: result.motion.angle,
        ),
        "w": placed(place, "speed of the cam there", "rotation", _speeds),
    }


_POISSON = Plain(
    "wear", "Poisson's ratio of steel", "ratio", lambda *_: POISSON, "usual, common practice, no source"
)
_BAND: Symbols = {
    "r": "rocker.pad_radius",
    "pw": "rocker.pad_width",
    "d": "valve.stem_diameter",
    "c": "valve.tip_chamfer",
    **PAD_MODULUS,
    "n": _POISSON,
}
_BAND_STEPS = (("Es", "1/((1 - n^2)/E1 + (1 - n^2)/E2)"), ("L", "min(pw, d - 2*c)"))
_TIP_LOAD = "force of the pad on the tip there"
_ARMS: Symbols = {"a": "rocker.pad_arm"}


def _roller(own: Explanation) -> Explanation:
    """Return the explanation; a roller rolls and does not slide."""

    def told(setup: Setup, results: Mapping[str, Any], index: int) -> Explanation:
        if setup.trains[index].rocker.tip != "roller" or np.isnan(
            results["wear"].pairs.tip_sliding.value[index]
        ):
            return replace(own, at=None)
        return replace(own, at=None, symbols={}, steps=((own.name, "0"),), note="A roller rolls.")

    return replace(own, at=told)


def _shaft(place: Place) -> Symbols:
    return {
        **_where(place),
        "X": placed(
            place,
            "force on the shaft there, square to the stem toward the valve",
            "force",
            _motion("shaft_x"),
        ),
        "Y": placed(place, "force on the shaft there, up along the stem", "force", _motion("shaft_y")),
    }


_BEARING: Symbols = {"d": "shaft.diameter", "bw": "contact.bearing_width"}


def _turned(place: Place) -> Plain:
    return placed(place, "turn of the rocker for each turn of the cam there", "ratio", _turn)


RUBBING = (
    Explanation(
        "tappet_hardness",
        "wear",
        "hardness of the tappet's face",
        {"H": "contact.tappet_hardness"},
        (("tappet_hardness", "H"),),
        "measured",
        "",
        "tappet_hardness",
    ),
    Explanation(
        "bore_clearance",
        "wear",
        "clearance of rocker bore on shaft, on diameter",
        {"q": "rocker.bore_clearance", "B": "contact.bushing_bore", "s": "contact.shaft_at_rocker"},
        (("bore_clearance", "either(q, B - s)"),),
        "measured",
        "As given, else bore less shaft.",
        "bore_clearance",
    ),
    Explanation(
        "stem_in_guide",
        "wear",
        "clearance of stem in guide, on diameter",
        {"q": "contact.stem_in_guide"},
        (("stem_in_guide", "q"),),
        "measured",
        "",
        "stem_in_guide",
    ),
    Explanation(
        "tip_stress",
        "wear",
        "contact pressure of pad on tip",
        {**_where(_PRESSED), "P": placed(_PRESSED, _TIP_LOAD, "force", _motion("tip")), **_BAND},
        (*_BAND_STEPS, ("tip_stress", "sqrt(P*Es/(pi*L*r))")),
        _HERTZ,
        f"L: width that bears, of pad or flat of the tip. {_EVERY}",
    ),
    _roller(
        Explanation(
            "tip_sliding",
            "wear",
            "greatest speed of the pad over the tip",
            {
                **_where(_FASTEST),
                **_ARMS,
                "r": "rocker.pad_radius",
                "phi": placed(_FASTEST, "pad arm from square to the stem there", "angle", _pad_angle),
                "k": _turned(_FASTEST),
            },
            (("below", "r - a*sin(phi)"), ("tip_sliding", "abs(k*below)*w")),
            "own derivation: the pad turns about the shaft",
            f"below: contact under the shaft's axis. {_EVERY}",
            in_si=True,
        )
    ),
    Explanation(
        "tip_edge_margin",
        "wear",
        "from the loaded band to the tip's chamfer",
        {
            **_where(_OUTERMOST),
            **_ARMS,
            "W": "shaft.setback",
            "phi": placed(_OUTERMOST, "pad arm from square to the stem there", "angle", _pad_angle),
            "P": placed(_OUTERMOST, _TIP_LOAD, "force", _motion("tip")),
            **_BAND,
        },
        (
            *_BAND_STEPS,
            ("x", "a*cos(phi) - W"),
            ("b", "sqrt(4*P*r/(pi*L*Es))"),
            ("tip_edge_margin", "d/2 - c - abs(x) - b"),
        ),
        f"geometry; {_HERTZ}",
        "x: contact from the stem axis; b: half the loaded band. The least over lift and speeds counts.",
        "tip_edge_margin",
    ),
    Explanation(
        "guide_side",
        "wear",
        "greatest side load of the stem on its guide",
        {
            **_where(_TIPPED),
            **_ARMS,
            "W": "shaft.setback",
            "phi": placed(_TIPPED, "pad arm from square to the stem there", "angle", _pad_angle),
            "P": placed(_TIPPED, _TIP_LOAD, "force", _motion("tip")),
            "S": placed(_TIPPED, "friction of the pad on the tip there", "force", _motion("side")),
            "h": "contact.tip_over_guide",
            "V": placed(_TIPPED, "valve lift there", "length", _lifted),
            "l": "contact.guide_length",
        },
        (
            ("x", "a*cos(phi) - W"),
            ("inner", "(S*max(h - V, 0) + P*x)/l"),
            ("outer", "-S - inner"),
            ("guide_side", "max(abs(outer), abs(inner))"),
        ),
        _STATICS,
        f"x: contact from the stem axis; inner, outer: forces of the guide's ends near seat and rocker. "
        f"{_EVERY}",
    ),
    Explanation(
        "guide_pressure",
        "wear",
        "greatest pressure of stem on guide",
        {"S": "wear:guide_side", "d": "valve.stem_diameter", "l": "contact.guide_length"},
        (("guide_pressure", "S/(d*l/4)"),),
        "common practice, no source: a quarter of the guide bears at each end",
    ),
    Explanation(
        "shaft_pressure",
        "wear",
        "pressure of rocker bore on shaft",
        {**_shaft(_LOADED), **_BEARING},
        (("shaft_pressure", "hypot(X, Y)/(d*bw)"),),
        "definition: load over projected area",
        _EVERY,
    ),
    Explanation(
        "shaft_sliding",
        "wear",
        "sliding speed of rocker bore on shaft",
        {**_where(_SWUNG), "k": _turned(_SWUNG), "d": "shaft.diameter"},
        (("shaft_sliding", "abs(k*w)*d/2"),),
        "definition",
        _EVERY,
        in_si=True,
    ),
    Explanation(
        "shaft_severity",
        "wear",
        "pressure times sliding speed of the bore, at its most",
        {**_shaft(_SEVERE), **_BEARING, "k": _turned(_SEVERE)},
        (
            ("p", "hypot(X, Y)/(d*bw)"),
            ("v", "abs(k*w)*d/2"),
            ("shaft_severity", "p*v"),
        ),
        "definition",
        f"Pressure and speed of the same moment, not the greatest of each. {_EVERY}",
        in_si=True,
    ),
    Explanation(
        "load_direction",
        "wear",
        "direction of the load on the shaft at slow full lift: 0 toward the valve, 90 degrees up",
        {key: each for key, each in _shaft(_slow_full).items() if key in "XY"},
        (("load_direction", "atan2(Y, X)"),),
        _STATICS,
        "Sum of the valve's and the pushrod's force on the rocker.",
    ),
    Explanation(
        "hole_apart",
        "wear",
        "angle from the oil hole to the middle of the loaded spot of the shaft",
        {"q": "contact.oil_hole_angle", "D": "wear:load_direction"},
        (("u", "q - (D + pi)"), ("hole_apart", "abs(atan2(sin(u), cos(u)))")),
        "geometry: the spot that is loaded faces against the load",
        "",
        "oil_hole_clear",
    ),
)
