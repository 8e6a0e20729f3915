"""How the numbers of the rockers along the shaft come about."""

from collections.abc import Mapping
from dataclasses import replace
from math import isfinite, nan
from typing import Any

import numpy as np

from valvetrain.answers.explanation import Explanation, Plain
from valvetrain.questions.center.explain_row import ROW
from valvetrain.setup.setup import Setup

__all__ = ["EXPLANATIONS"]

_DERIVED = "own derivation: the pad's bearing line against the chamfered tip, as plane figures, over the lift"
_TIP: Mapping[str, str | Plain] = {
    "B": "rocker.pad_width",
    "d": "valve.stem_diameter",
    "c": "valve.tip_chamfer",
    "k": "rocker.skew",
}
_SWEEP: Mapping[str, str | Plain] = {
    "a": "rocker.pad_arm",
    "r": "rocker.pad_radius",
    "h": "shaft.height",
    "w": "shaft.setback",
    "L": "rocker:net_lift",
}
_NOTE = (
    "x: contact across the tip at the share f of net lift, of 33; R: radius of the flat; foot, off: along "
    "the pad's line, and square to it, from its middle to the stem's axis; low, high: ends of what bears."
)


def _place(which: str, meaning: str, after: bool = False) -> Plain:
    """Return a place in the lift that the study found."""
    holder = "places_after" if after else "places"
    return Plain(
        "center",
        meaning,
        "ratio" if which == "limit_side" else "fraction",
        lambda setup, result, index: float(getattr(getattr(result, holder), which)[index]),
    )


def _line(number: str, offset: str) -> tuple[tuple[str, str], ...]:
    """What of the pad's line bears, at the contact x and an offset."""
    x, foot, off, half = (f"{word}{number}" for word in ("x", "foot", "off", "half"))
    return (
        (foot, f"-({x}*sin(k) + {offset}*cos(k))"),
        (off, f"abs({x}*cos(k) - {offset}*sin(k))"),
        (half, f"sqrt(max(R^2 - {off}^2, 0))"),
        (f"low{number}", f"max(-B/2, {foot} - {half})"),
        (f"high{number}", f"min(B/2, {foot} + {half})"),
    )


def _on_tip(
    name: str,
    doc: str,
    symbols: Mapping[str, str | Plain],
    tail: tuple[tuple[str, str], ...],
    note: str = "",
    check: str = "",
    proof: tuple[tuple[str, str], ...] = (),
) -> Explanation:
    """Explain a number of the line on the tip; the contact is over the stem where the sweep is not known."""
    places = [symbol for symbol in symbols if symbol.startswith("f")]
    known = tuple((symbol.replace("f", "x"), _contact(symbol)) for symbol in places)
    middle = tuple((symbol.replace("f", "x"), "0*B") for symbol in places)
    radius = (("R", "d/2 - c"),)
    own = Explanation(
        name,
        "center",
        doc,
        {**_TIP, **_SWEEP, **symbols},
        (*radius, *known, *tail) if tail else (),
        _DERIVED,
        f"{note} {_NOTE}".strip(),
        check,
        proof=(*radius, *known, *proof) if proof else (),
    )

    def at(setup: Setup, results: Mapping[str, Any], index: int) -> Explanation:
        if isfinite(results["rocker"].contact_closed.value[index]):
            return own
        return replace(
            own,
            symbols={**_TIP, **symbols},
            steps=(*radius, *middle, *tail) if tail else (),
            proof=(*radius, *middle, *proof) if proof else (),
            note=f"The sweep is not known here: the pad is taken to bear over the stem. {own.note}",
        )

    return replace(own, at=at)


def _contact(place: str) -> str:
    return f"sqrt(a^2 - (r - h - {place}*L)^2) - w"


def _share(name: str, doc: str, offset: str, after: bool, check: str) -> Explanation:
    """Explain the share of the line on the tip."""
    return _on_tip(
        name,
        doc,
        {
            "o": offset,
            "f": _place("share", "share of net lift at which least of the line bears", after),
            "f0": _place("centered_share", "the same for a centered pad", after),
        },
        (*_line("", "o"), *_line("0", "0"), (name, "max(high - low, 0)/(high0 - low0)")),
        "What bears, over what would of a centered pad, each at its least over the lift.",
        check,
    )


def _limit(setup: Setup, results: Mapping[str, Any], index: int) -> Explanation:
    """The user's own limit of the offset, or that of the contact: in closed form where no pad is askew."""
    own = setup.limits["offset"]
    if isfinite(min(-own.low, own.high)):
        return replace(
            _LIMIT,
            symbols={"low": _bound("low"), "high": _bound("high")},
            steps=(("offset_limit", "max(min(-low, high), 0)"),),
            proof=(),
            publication="your own limit",
            note="The sheet's own limit goes before that of the contact.",
        )
    if np.any(np.nan_to_num(setup.column("rocker", "skew").value)):
        return _LIMIT.at(setup, results, index) if _LIMIT.at else _LIMIT
    return _STRAIGHT_LIMIT.at(setup, results, index) if _STRAIGHT_LIMIT.at else _STRAIGHT_LIMIT


def _bound(end: str) -> Plain:
    return Plain(
        "center",
        f"{end} end of the offset allowed",
        "length",
        lambda setup, result, index: float(getattr(setup.limits["offset"], end)),
        "setup.toml [limits] offset",
    )


_SHARE_WANTED = Plain(
    "center",
    "share of the centered line that must stay on the tip",
    "fraction",
    lambda setup, result, index: float(setup.limits["contact_share"].low),
    "limit contact_share",
)
_LIMIT_SYMBOLS: Mapping[str, str | Plain] = {
    "q": _SHARE_WANTED,
    "f": _place("limit", "share of net lift at which it is reached"),
}
_LIMIT_DOC = "largest offset either way that keeps the wanted share of the contact line on the tip"
_LIMIT = _on_tip(
    "offset_limit",
    _LIMIT_DOC,
    {
        **_LIMIT_SYMBOLS,
        "i": _place("limit_side", "side on which it is reached: 1 rear, -1 front"),
    },
    (),
    "The offset at which the share falls to what is wanted, found by halving as the pad is askew.",
    proof=(
        *_line("", "i*offset_limit"),
        ("x0", "x"),
        *_line("0", "0"),
        ("over", "high - low - q*(high0 - low0)"),
    ),
)
_STRAIGHT_LIMIT = _on_tip(
    "offset_limit",
    _LIMIT_DOC,
    _LIMIT_SYMBOLS,
    (
        ("half", "sqrt(max(R^2 - x^2, 0))"),
        ("offset_limit", "max(B/2 + half - q*2*min(B/2, half), 0)"),
    ),
    "An end of the line then stands so far over the edge that just the wanted share is left; the least over "
    "the lift counts.",
)


def _mean_place(which: str) -> Plain:
    """Return the contact's place with the lash taken up, or at full lift."""
    words = {"contact_closed": "contact with the lash taken up", "contact_full": "contact at full lift"}
    return Plain(
        "rocker",
        f"{words[which]}, from the stem axis",
        "length",
        lambda setup, result, index: float(getattr(result, which).value[index]),
    )


_ENDS = {"x0": _mean_place("contact_closed"), "x1": _mean_place("contact_full")}


def _sprung(setup: Setup, index: int) -> float:
    """End clearance that the row gives beside a spring; NaN elsewhere."""
    from valvetrain.mechanics.row.shaft import placed

    for row in setup.shaft_rows:
        for rocker in placed(row.parts).rockers:
            if rocker.valve == setup.valves[index]:
                return rocker.end_clearance
    return nan


def _play(setup: Setup, results: Mapping[str, Any], index: int) -> Explanation:
    """End clearance as measured, or beside a spring that of the row."""
    measured = setup.column("station", "end_clearance").value[index]
    if isfinite(measured) or not isfinite(results["center"].end_clearance_before.value[index]):
        return _PLAY
    row = Plain(
        "center",
        "free play of this rocker in the row as described",
        "length",
        lambda setup, result, index: _sprung(setup, index),
        "setup.toml [[row]]",
    )
    return replace(_PLAY, symbols={"e": row}, publication="given", note="Springs beside it take the play up.")


_PLAY = Explanation(
    "end_clearance_before",
    "center",
    "free play of the rocker along the shaft, as measured",
    {"e": "station.end_clearance"},
    (("end_clearance_before", "e"),),
    "measured",
)

EXPLANATIONS = (
    Explanation(
        "offset_before",
        "center",
        "rocker pad center from the stem axis along the shaft, as measured",
        {"o": "station.offset"},
        (("offset_before", "o"),),
        "measured",
    ),
    _share(
        "contact_share",
        "least share, over the lift, of the pad's contact line that is on the tip",
        "center:offset_before",
        False,
        "contact_share",
    ),
    replace(_LIMIT, at=_limit),
    replace(_PLAY, at=_play),
    _on_tip(
        "edge_distance",
        "from the farther end of the contact line to the edge of the flat",
        {
            "o": "center:offset_before",
            "f": _place("edge", "share of net lift at which it is least"),
        },
        (
            *_line("", "o")[:2],
            ("edge_distance", "R - hypot(off, max(abs(B/2 - foot), abs(B/2 + foot)))"),
        ),
        "Least over the lift; negative where the line runs over the edge.",
    ),
    _on_tip(
        "load_eccentricity",
        "greatest distance of the middle of the bearing line from the stem's axis",
        {
            "o": "center:offset_before",
            "f": _place("eccentricity", "share of net lift at which it is greatest"),
        },
        (
            *_line("", "o"),
            ("m", "(low + high)/2"),
            ("load_eccentricity", "hypot(x + m*sin(k), o + m*cos(k))"),
        ),
        "Across and along together, the greatest over the lift.",
    ),
    Explanation(
        "turning_arm",
        "center",
        "arm along the shaft on which sliding turns the valve",
        {"o": "center:offset_before", **_TIP, **_ENDS},
        (),
        _DERIVED,
        "Mean, over 33 positions from the lash taken up to full lift, of where the middle of what bears of "
        "the pad's line stands along the shaft; nought for a centered pad that stands square.",
    ),
    Explanation(
        "area_on_tip",
        "center",
        "share of the swept area that is on the tip",
        {"o": "center:offset_before", **_TIP, **_ENDS},
        (),
        "own derivation: plane figures (shapely)",
        "Area of the figure that the pad's line sweeps between its outermost contacts, inside the flat of "
        "the tip, over its whole area.",
    ),
    _share(
        "contact_share_after",
        "share of the contact line on the tip with the shims of the plan",
        "center:offset_after",
        True,
        "",
    ),
    *ROW,
)
