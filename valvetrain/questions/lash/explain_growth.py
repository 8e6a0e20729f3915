"""How the growth of the lash comes about: a measured pair, the path that expands, or what is usual."""

from collections.abc import Mapping
from dataclasses import replace
from math import nan
from typing import Any

from valvetrain.answers.explanation import Explanation, Plain
from valvetrain.mechanics.cam.thermal_growth import EXPANSION
from valvetrain.parts.thermal import CONSTRUCTIONS
from valvetrain.questions.rocker.explain_linkage import ARMS, LINKAGE_NOTE, ratio_at
from valvetrain.setup.setup import Setup

__all__ = ["GROWTH"]

_CALLISTER = "Callister, Materials Science and Engineering, Table B.6"
# where the lash is just gone, on the base circle
_RATIO = (*ratio_at("r + g - h", "i0"), ("i", "either(i0, n)"))
_RATIO_SYMBOLS: Mapping[str, str | Plain] = {**ARMS, "n": "rocker.nominal_ratio"}


def _expansion(part: str) -> Plain:
    """Coefficient of a part's material, as written or from the table."""

    def pick(setup: Setup, result: Any, index: int) -> float:
        thermal = setup.trains[index].thermal
        own, material = getattr(thermal, f"{part}_expansion"), getattr(thermal, f"{part}_material")
        if own is not None:
            return float(own.value)
        return nan if material is None else EXPANSION[material]

    def stands(setup: Setup, index: int) -> str:
        thermal = setup.trains[index].thermal
        own, material = getattr(thermal, f"{part}_expansion"), getattr(thermal, f"{part}_material")
        if own is not None:
            return str(own.source)
        return f"{_CALLISTER}: {material}" if material else f"not in the sheet, thermal.{part}_material"

    return Plain("lash", f"expansion of the {part}", "expansion", pick, stands)


_PATH = {
    "hs": "thermal.seat_to_stand",
    "st": "thermal.stand_height",
    "vl": "thermal.seat_to_tip",
    "bk": "thermal.cam_to_deck",
    "hd": "thermal.deck_to_stand",
    "cr": "lobe.base_radius",
    "tp": "thermal.tappet_height",
    "T0": "thermal.cold_temperature",
    "Tb": "thermal.block_temperature",
    "Th": "thermal.head_temperature",
    "Ts": "thermal.stand_temperature",
    "Tv": "thermal.valve_temperature",
}
_PARTS = {
    "Ah": "head",
    "As": "stand",
    "Av": "valve",
    "Ab": "block",
    "Ac": "cam",
    "At": "tappet",
    "Ap": "pushrod",
}


def _growth(setup: Setup, results: Mapping[str, Any], index: int) -> Explanation:
    """Explain the growth by the way that was taken."""
    source = results["lash"].thermal.source[index]
    if source == "measured pair":
        at_pushrod = setup.trains[index].lash.at == "pushrod"
        pair: dict[str, str | Plain] = {"c0": "hot.cold_lash", "c1": "hot.hot_lash"}
        return replace(
            GROWTH,
            symbols={**pair, **_RATIO_SYMBOLS} if at_pushrod else pair,
            steps=(*_RATIO, ("growth", "i*(c1 - c0)")) if at_pushrod else (("growth", "c1 - c0"),),
            publication="measured",
            note="A measured pair goes before what is worked out."
            + (
                f" Measured at the pushrod, so times the ratio on the base circle. {LINKAGE_NOTE}"
                * at_pushrod
            ),
            in_si=False,
        )
    if source == "construction":
        construction = str(setup.trains[index].thermal.construction)
        ends = CONSTRUCTIONS[construction]

        def end(which: int, meaning: str) -> Plain:
            where = f"usual for {construction}: common practice, no source"
            return Plain("lash", meaning, "length", lambda *_: ends[which], where)

        return replace(
            GROWTH,
            symbols={"low": end(0, "least growth in use"), "high": end(1, "greatest growth in use")},
            steps=(("growth", "(low + high)/2"),),
            publication="common practice, no source",
            note="Nothing closer is known: the middle of what is usual for this construction.",
            in_si=False,
        )
    return GROWTH


GROWTH = Explanation(
    "growth",
    "lash",
    "growth of the lash from cold to hot",
    {**_PATH, **{symbol: _expansion(part) for symbol, part in _PARTS.items()}, **_RATIO_SYMBOLS},
    (
        ("up", "Ah*hs*(Th - T0) + As*st*(Ts - T0)"),
        ("valve", "Av*vl*(Tv - T0)"),
        ("over", "Ab*bk*(Tb - T0) + Ah*hd*(Th - T0) + As*st*(Ts - T0)"),
        ("rod", "Ac*cr*(Tb - T0) + At*tp*(Tb - T0) + Ap*l*(Ts - T0)"),
        *_RATIO,
        ("growth", "up - valve + i*(over - rod)"),
    ),
    f"own derivation: free growth of each stretch; coefficients: {_CALLISTER}",
    "up: shaft above the seat; valve: seat to tip; over: shaft above the cam; rod: cam to its base circle, "
    "tappet and pushrod, which is as hot as the stands; i: ratio on the base circle, or the nominal one. "
    f"{LINKAGE_NOTE}",
    in_si=True,
)
GROWTH = replace(GROWTH, at=_growth)
