"""How the moving masses come about: as weighed, or estimated from sizes."""

from collections.abc import Mapping
from dataclasses import replace
from math import isnan
from typing import Any

from valvetrain.answers.explanation import Explanation, Plain
from valvetrain.mechanics.dynamics.mass_estimates import DENSITIES
from valvetrain.questions.control.inputs import ASSUMED
from valvetrain.setup.setup import Setup

__all__ = ["MASSES", "spring_share"]

Symbols = dict[str, str | Plain]
Steps = tuple[tuple[str, str], ...]

_ESTIMATED = (
    "estimated as plain solids; densities: Callister, Materials Science and Engineering, Table B.1 (memory)"
)


def _density(part: str, usual: str) -> Plain:
    """Density of a part's material, or of the usual one."""

    def named(setup: Setup, index: int) -> str:
        return getattr(setup.trains[index].masses, f"{part}_material") or usual

    def pick(setup: Setup, result: Any, index: int) -> float:
        return DENSITIES[named(setup, index)]

    def stands(setup: Setup, index: int) -> str:
        name = named(setup, index)
        return (
            f"{name}: common practice, no source" if name == "valve steel" else f"{name}: Callister (memory)"
        )

    return Plain("control", f"density of the {part}", "density", pick, stands)


def _fixed(meaning: str, dimension: str, value: float) -> Plain:
    return Plain("control", meaning, dimension, lambda *_: value, "usual, common practice, no source")


_VALVE: tuple[Symbols, Steps] = (
    {
        "ds": "valve.stem_diameter",
        "lv": "masses.valve_length",
        "dh": "valve.head_diameter",
        "rv": _density("valve", "valve steel"),
        "em": _fixed("thickness of the head's edge", "length", 0.0015),
        "ca": _fixed("cone under the head, from its plane", "angle", 0.35),
    },
    (
        ("hc", "(dh - ds)/2*tan(ca)"),
        ("cone", "pi*hc/3*(dh^2 + dh*ds + ds^2)/4"),
        ("mv", "rv*(pi/4*ds^2*(lv - em - hc) + pi/4*dh^2*em + cone)"),
    ),
)
_RETAINER: tuple[Symbols, Steps] = (
    {
        "dr": "shapes.retainer_diameter",
        "hr": "shapes.retainer_depth",
        "du": "masses.retainer_hub",
        "ds": "valve.stem_diameter",
        "rr": _density("retainer", "carbon steel"),
        "fl": _fixed("thickness of the flange", "length", 0.0025),
    },
    (("mr", "rr*pi/4*((dr^2 - du^2)*fl + (du^2 - ds^2)*hr)"),),
)
_PUSHROD: tuple[Symbols, Steps] = (
    {
        "Dp": "pushrod.outside_diameter",
        "tp": "pushrod.wall",
        "lp": "pushrod.length",
        "rp": _density("pushrod", "carbon steel"),
    },
    (("mp", "rp*pi/4*(Dp^2*lp - (Dp - 2*tp)^2*max(lp - 2*Dp, 0))"),),
)
_TAPPET: tuple[Symbols, Steps] = (
    {
        "Dt": "masses.tappet_diameter",
        "lt": "masses.tappet_length",
        "wt": "masses.tappet_wall",
        "ft": "masses.tappet_face",
        "rt": _density("tappet", "grey iron"),
    },
    (("mt", "rt*pi/4*(Dt^2*lt - (Dt - 2*wt)^2*(lt - 2*ft))"),),
)
_SPRING: tuple[Symbols, Steps] = (
    {
        "dw": "spring.wire_diameter",
        "Dw": "spring.coil_diameter",
        "N": "spring.active_coils",
        "rw": _fixed("density of the wire", "density", DENSITIES["carbon steel"]),
    },
    (("ms", "rw*pi^2/4*dw^2*Dw*(N + 2)"),),
)
_WAYS = {
    "mv": ("valve.mass", _VALVE),
    "mr": ("masses.retainer_mass", _RETAINER),
    "ms": ("masses.spring_mass", _SPRING),
    "mp": ("masses.pushrod_mass", _PUSHROD),
    "mt": ("masses.tappet_mass", _TAPPET),
}


def _estimated(results: Mapping[str, Any], index: int) -> tuple[str, ...]:
    found: tuple[str, ...] = results["control"].rigid.estimated[index]
    return found


def _part(setup: Setup, results: Mapping[str, Any], index: int, symbol: str) -> tuple[Symbols, Steps, str]:
    """Return a part's mass as weighed, or the way to its estimate."""
    key, (symbols, steps) = _WAYS[symbol]
    if key not in _estimated(results, index):
        return {symbol: key}, (), ""
    if symbol == "ms" and len(results["spring"].curves.sections) > 1:
        # Each spring of a set by its own wire: only their sum is shown.
        from valvetrain.questions.control.train_masses import train_mass_columns

        columns = train_mass_columns(setup).columns
        total = Plain(
            "control",
            "springs, estimated from their wire",
            "mass",
            lambda s, r, at: float(columns[key].value[at]),
        )
        return {symbol: total}, (), ""
    return dict(symbols), steps, f"{symbol}: not weighed, estimated from its sizes."


def spring_share() -> Plain:
    """Share of the spring that moves with the valve."""
    value, _ = ASSUMED["control.spring_share"]

    def pick(setup: Setup, result: Any, index: int) -> float:
        own = float(setup.column("control", "spring_share").value[index])
        return value if isnan(own) else own

    def stands(setup: Setup, index: int) -> str:
        own = setup.column("control", "spring_share").source[index]
        return own or "not in the sheet: a third, Rothbart (ed.), Cam Design Handbook (2004), chapter 11"

    return Plain("control", "share of the spring's mass that counts", "ratio", pick, stands)


def _together(
    setup: Setup, results: Mapping[str, Any], index: int, own: Explanation, parts: str, last: str
) -> Explanation:
    """Explain a sum of parts, each as weighed or as estimated."""
    symbols: Symbols = dict(own.symbols)
    steps: list[tuple[str, str]] = []
    notes = [own.note]
    for symbol in parts.split():
        more, way, note = _part(setup, results, index, symbol)
        symbols |= more
        steps.extend(way)
        notes.append(note)
    return replace(
        own,
        symbols=symbols,
        steps=(*steps, (own.name, last)),
        publication=f"{own.publication}; {_ESTIMATED}" if steps else own.publication,
        note=" ".join(each for each in notes if each),
    )


def _valve_side(setup: Setup, results: Mapping[str, Any], index: int) -> Explanation:
    """Everything that moves with the valve; keepers are in the estimate of a retainer."""
    keepers = "either(mk, 0)" if "masses.retainer_mass" in _estimated(results, index) else "mk"
    last = f"mv + mr + {keepers} + c*ms"
    return _together(setup, results, index, _VALVE_SIDE, "mv mr ms", last)


_VALVE_SIDE = Explanation(
    "valve_side_mass",
    "control",
    "valve, retainer, keepers and the counted share of the spring",
    {"mk": "masses.keeper_mass", "c": spring_share()},
    (),
    "definition; share of the spring: Rothbart (ed.), Cam Design Handbook (2004), chapter 11",
    in_si=True,
)


def _follower(setup: Setup, results: Mapping[str, Any], index: int) -> Explanation:
    return _together(setup, results, index, _FOLLOWER, "mp mt", "mp + mt")


_FOLLOWER = Explanation("follower_mass", "control", "pushrod and tappet", {}, (), "definition", in_si=True)


def _inertia(setup: Setup, results: Mapping[str, Any], index: int) -> Explanation:
    """Inertia as given, by the rocker's mass, or by its sizes."""
    if "masses.rocker_inertia" not in _estimated(results, index):
        return _INERTIA
    arms: Symbols = {"a": "rocker.pad_arm", "b": "rocker.socket_arm"}
    if not isnan(setup.column("masses", "rocker_mass").value[index]):
        return replace(
            _INERTIA,
            symbols={"m": "masses.rocker_mass", **arms},
            steps=(("rocker_inertia", "m*5/18*(a^3 + b^3)/(a + b)"),),
            publication="own derivation: two arms whose section falls to half at their ends",
            note="By the rocker's mass with its adjuster. A heavy hub makes it less, a heavy adjuster more.",
        )

    def arm(each: str) -> str:
        return f"rho*H*W*({each}^3*5/24 - (o^3/3 - o^4/(8*{each})))"

    return replace(
        _INERTIA,
        symbols={
            **arms,
            "H": "masses.rocker_height",
            "W": "masses.rocker_width",
            "d": "shaft.diameter",
            "u": "shapes.hub_diameter",
            "q": "masses.rocker_hub_width",
            "rho": _density("rocker", "carbon steel"),
        },
        steps=(
            ("o", "d/2 + (u - d)/2"),
            ("hub", "rho*pi/2*q*(o^4 - (d/2)^4)"),
            ("rocker_inertia", f"hub + {arm('a')} + {arm('b')}"),
        ),
        publication=f"own derivation: a hub and two arms whose section falls to half; {_ESTIMATED}",
        note="Neither weighed nor given: by the rocker's sizes; o: radius of the hub.",
    )


_INERTIA = Explanation(
    "rocker_inertia",
    "control",
    "inertia of the rocker about its shaft",
    {"J": "masses.rocker_inertia"},
    (("rocker_inertia", "J"),),
    "given",
    "As the sheet gives it.",
    in_si=True,
)

MASSES = (
    replace(_VALVE_SIDE, at=_valve_side),
    replace(_INERTIA, at=_inertia),
    replace(_FOLLOWER, at=_follower),
)
