"""How the contact's path over the tappet's face, its crown, the lobe's taper and the turning come about."""

from collections.abc import Mapping
from dataclasses import replace
from math import nan
from typing import Any

import numpy as np

from valvetrain.answers.explanation import Explanation, Plain
from valvetrain.questions.wear.explain_contact import (
    CROWN,
    HERTZ,
    HERTZ_NOTE,
    MODULUS,
    NOSE,
    OFFSET,
    TAPER,
    TAPER_STEP,
    Place,
    greatest,
    placed,
    unless_roller,
    usual,
)
from valvetrain.questions.wear.lobe_contact import FRICTION, SEAT_FRICTION
from valvetrain.setup.setup import Setup

__all__ = ["FACE"]

_PATH = (
    "own derivation: a flat face touches off its middle by the lobe's velocity, a crowned one along the "
    "camshaft where its slope is the lobe's"
)
_FARTHEST: Place = greatest(lambda result, index: result.lobe.path.reach[index])


def _bare(result: Any, index: int) -> Any:
    """How far the lobe's side stands past the face, but for what is the same at every angle."""
    return np.abs(result.lobe.path.across[index])


_BAREST: Place = greatest(_bare)
_ACROSS = "contact from the tappet's middle across the camshaft there: the lobe's velocity per cam radian"
_EDGES = (("o1", "either(o, 0) - W/2"), ("o2", "either(o, 0) + W/2"))


def _across(place: Place) -> Plain:
    return placed(place, _ACROSS, "length", lambda result, index: result.lobe.path.across[index])


def _angle(place: Place) -> Plain:
    return placed(
        place, "cam angle there, from the lobe's center", "angle", lambda result, index: result.motion.angle
    )


def _slow(result: Any) -> int:
    return int(np.flatnonzero(result.motion.static)[0])


_HALVES: Mapping[str, str | Plain] = {
    "b": placed(
        _FARTHEST,
        "half width of the slow contact there",
        "length",
        lambda result, index: np.nan_to_num(result.lobe.touch.half_width[index, _slow(result)]),
    ),
    "hl": placed(
        _FARTHEST,
        "half length of the slow contact there, on a lobe of no end",
        "length",
        lambda result, index: np.nan_to_num(
            result.lobe.touch.uncut_half_length[index, _slow(result)], posinf=0.0
        ),
    ),
}


def _face(setup: Setup, results: Mapping[str, Any], index: int) -> Explanation:
    """Explain the least face by what bears: part of a crown's contact, the lobe's width, or one edge."""
    crown = results["wear"].crown_radius.value[index]
    symbols: dict[str, str | Plain] = {"W": "lobe.width", **OFFSET}
    if crown > 0:
        return _LEAST_FACE
    steps: tuple[tuple[str, str], ...] = (*_EDGES, ("far", "max(abs(o1), abs(o2))"))
    note = "Without a crown that is known the contact is taken over the lobe's width."
    if setup.trains[index].contact.face_form == "flat" and _slope(setup, index):
        symbols |= TAPER
        steps = (*_EDGES, TAPER_STEP, ("far", "where(th > 0, abs(o2), abs(o1))"))
        note = "A flat face on a tapered lobe rides its large edge."
    bare = {key: each for key, each in _LEAST_FACE.symbols.items() if key in ("t", "x", "b")}
    return replace(
        _LEAST_FACE,
        symbols={**bare, **symbols},
        steps=(*steps, ("least_face_diameter", "2*hypot(abs(x) + b, far)")),
        note=f"{note} far: farthest along the camshaft.",
    )


def _slope(setup: Setup, index: int) -> float:
    """Slope of the lobe's surface over the face; nought where it is not known."""
    from valvetrain.questions.record.measured_wear import FORM_KEYS, taper_slope

    rows = {key: setup.column(*key.split(".")).value for key in FORM_KEYS}
    return float(np.nan_to_num(taper_slope(rows)[index]))


_LEAST_FACE = Explanation(
    "least_face_diameter",
    "wear",
    "least diameter of the tappet's face that holds the whole path",
    {"t": _angle(_FARTHEST), "x": _across(_FARTHEST), **_HALVES, **CROWN, **TAPER, **OFFSET},
    (
        TAPER_STEP,
        ("c", "either(th, 0)*Rc"),
        *_EDGES,
        ("low", "min(max(c - hl, o1), o2)"),
        ("high", "min(max(c + hl, o1), o2)"),
        ("far", "max(abs(low), abs(high))"),
        ("least_face_diameter", "2*hypot(abs(x) + b, far)"),
    ),
    _PATH,
    "c: middle of the contact along the camshaft, where the crown's slope is the lobe's; low, high: its "
    "ends, on the lobe; far: the farther of them. The angle, of every half degree, at which it reaches "
    "farthest.",
)


def _crown(setup: Setup, results: Mapping[str, Any], index: int) -> Explanation:
    """Radius of the crown, with the sign of a hollow face."""
    form = setup.trains[index].contact.face_form
    if form == "flat":
        return replace(_CROWN, steps=(), note="A flat face has no crown.")
    given = "-Rg" if form == "hollow" else "Rg"
    return replace(_CROWN, steps=(_RISE, ("crown_radius", f"either({given}, S^2/(8*h) + h/2)")))


_RISE = ("h", "either(r, (g1 + g2)/2)")
_CROWN = Explanation(
    "crown_radius",
    "wear",
    "radius of the tappet's crown",
    {
        "Rg": "tappet.crown_radius",
        "r": "contact.crown_rise",
        "g1": "contact.crown_gap_1",
        "g2": "contact.crown_gap_2",
        "S": "contact.crown_span",
    },
    (),
    "measured; from a rise: sagitta of a circle",
    "As measured; else from the dial's rise, or the two gaps under a straightedge, over their span. "
    "Hollow: below nought.",
    "crown_radius",
)


def _arm(setup: Setup, results: Mapping[str, Any], index: int) -> Explanation:
    """Lever arm of the friction, by the crown or, on a flat face, the bore's offset."""
    if setup.trains[index].contact.face_form != "flat":
        return _ARM
    return replace(
        _ARM,
        symbols=OFFSET,
        steps=(("rotation_arm", "abs(either(o, 0))"),),
        note="A flat face bears over the lobe's width, whose middle is off the tappet's by the offset.",
    )


_ARM = Explanation(
    "rotation_arm",
    "wear",
    "lever arm that turns the tappet",
    {**TAPER, **CROWN},
    (TAPER_STEP, ("rotation_arm", "abs(th*Rc)")),
    _PATH,
    "How far along the camshaft from the tappet's axis a crowned face touches a tapered lobe: the lobe's "
    "friction has this arm about that axis. The same at every angle.",
    "rotation_arm",
)


def _edge(setup: Setup, results: Mapping[str, Any], index: int) -> Explanation:
    """Margin of the ellipse at the nose to the lobe's edge."""
    assert NOSE.at is not None
    nose = NOSE.at(setup, results, index)
    if setup.trains[index].contact.face_form == "flat":
        return replace(_EDGE, steps=(), note="A flat face bears over the whole width.")
    return replace(
        _EDGE,
        symbols=nose.symbols,
        steps=(*nose.steps[:-2], ("lobe_edge_margin", "W/2 - abs(th*Rc - either(o, 0)) - hl")),
    )


_EDGE = Explanation(
    "lobe_edge_margin",
    "wear",
    "from the end of the contact to the lobe's edge, at the nose",
    {"W": "lobe.width", **MODULUS},
    (),
    HERTZ,
    f"m: middle of the contact from the lobe's. {HERTZ_NOTE}",
    "lobe_edge_margin",
)


def _role_middle(setup: Setup, result: Any, index: int) -> float:
    """Median of the lifts measured at the lobes of a role."""
    lifts = setup.column("lobe", "measured_lift").value[np.array(setup.roles) == setup.roles[index]]
    known = lifts[~np.isnan(lifts)]
    return float(np.median(known)) if known.size else nan


FACE = (
    unless_roller(replace(_LEAST_FACE, at=_face)),
    unless_roller(
        Explanation(
            "face_margin",
            "wear",
            "from the contact to the rim of the tappet's face",
            {"D": "tappet.face_diameter", "d": "wear:least_face_diameter"},
            (("face_margin", "(D - d)/2"),),
            "definition",
            "",
            "face_margin",
        )
    ),
    Explanation(
        "lobe_overhang",
        "wear",
        "how far the lobe's side stands past the face",
        {
            "t": _angle(_BAREST),
            "x": _across(_BAREST),
            "D": "tappet.face_diameter",
            "W": "lobe.width",
            **OFFSET,
        },
        (
            *_EDGES,
            ("side", "max(abs(o1), abs(o2))"),
            ("lobe_overhang", "side - sqrt(max(D^2/4 - x^2, 0))"),
        ),
        "geometry: a chord of the face",
        "Where the contact runs farthest off the tappet's middle. Above nought is usual, as long as the "
        "contact itself stays on the face.",
    ),
    unless_roller(replace(_CROWN, at=_crown)),
    Explanation(
        "lobe_taper",
        "wear",
        "rise of the lobe across its width, the bore's lean added",
        TAPER,
        (TAPER_STEP, ("lobe_taper", "abs(tan(th)*W)")),
        "measured; own derivation",
        "Two dial readings over their distance, or the difference across the width.",
        "lobe_taper",
    ),
    unless_roller(replace(_ARM, at=_arm)),
    Explanation(
        "rotation_strength",
        "wear",
        "drive of the rotation over what holds the tappet",
        {
            "z": Plain(
                "wear",
                "mean over a turn of the cam, weighted by the slow load, of the friction's lever arm",
                "length",
                lambda setup, result, index: float(result.lobe.drive.arm[index]),
            ),
            "mu": usual("friction", FRICTION, "friction of lobe on tappet"),
            "ms": usual("seat_friction", SEAT_FRICTION, "friction of the pushrod's seat"),
            "rs": "contact.seat_radius",
        },
        (("rotation_strength", "mu*abs(z)/(2/3*ms*rs)"),),
        "own derivation; the seat as a collar: R. L. Norton, Machine Design (memory)",
        "The load stands above and below the bar and falls out.",
    ),
    unless_roller(replace(_EDGE, at=_edge)),
    Explanation(
        "lift_deviation",
        "wear",
        "lobe lift against the middle of its role",
        {
            "s": "lobe.measured_lift",
            "M": Plain("wear", "median of the lifts measured of this role", "length", _role_middle),
        },
        (("lift_deviation", "s - M"),),
        "definition",
    ),
)
