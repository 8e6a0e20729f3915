"""How the pushrod's numbers come about."""

from collections.abc import Mapping
from dataclasses import replace
from math import isfinite
from typing import Any

from valvetrain.answers.explanation import Explanation, Plain
from valvetrain.questions.pushrod.explain_swing import SWUNG
from valvetrain.questions.rocker.explain_linkage import ARMS, CLOSURE, LINKAGE_NOTE, closed, risen
from valvetrain.setup.setup import Setup

__all__ = ["EXPLANATIONS"]

_COLUMN = (
    "Euler and J. B. Johnson columns, as in Wentzell's worked examples 3.5 and 3.6; pinned ends (K "
    "= 1): ball and cup"
)
_TUBE = {
    "D": "pushrod.outside_diameter",
    "t": "pushrod.wall",
    "l": "pushrod:length",
    "E": "pushrod.elastic_modulus",
}
_AREA = ("A", "pi/4*(D^2 - (D - 2*t)^2)")
_SCREW = {"T": "adjuster.thread_length", "B": "adjuster.boss_thickness", "N": "adjuster.locknut_height"}

_BALLS: Mapping[str, str | Plain] = {**ARMS, "l": "pushrod:length"}
_OUT = (
    ("across", "e + b*cos(psi0)"),
    ("along", "b*sin(psi0) - y0"),
    ("across2", "across + u*cos(psi0 + pi/2 - m)"),
    ("along2", "along + u*sin(psi0 + pi/2 - m)"),
)
_OUT_NOTE = (
    "across and along: upper ball from the lower one, square to the tappet's bore and along it; 2: moved."
)


def _length(setup: Setup, results: Mapping[str, Any], index: int) -> Explanation:
    """Pushrod length as measured, or by the checking pushrod."""
    pushrod = setup.trains[index].pushrod
    if None in (pushrod.checking_length, pushrod.checking_turns, pushrod.checking_pitch):
        return _LENGTH
    symbols = {symbol: source for symbol, source in ARMS.items() if symbol != "l"}
    return replace(
        _LENGTH,
        symbols={
            "c": "pushrod.checking_length",
            "n": "pushrod.checking_turns",
            "P": "pushrod.checking_pitch",
            **symbols,
        },
        steps=(
            ("l", "c + n*P"),
            *closed("0"),
            ("psi", "asin((r + g - h)/a) + alpha - tau"),
            ("p2", "hypot(e + b*cos(psi), b*sin(psi) - y0)"),
            ("length", "hypot(p2, z)"),
        ),
        publication=CLOSURE,
        note=f"The checking pushrod takes the lash up; the length is what leaves it set. {LINKAGE_NOTE}",
    )


_LENGTH = Explanation(
    "length",
    "pushrod",
    "pushrod, between ball centers",
    {"l": "pushrod.length"},
    (("length", "l"),),
    "measured",
    "As measured; a length of another convention is brought to ball centers when the sheet is read.",
)


def _peak_load(setup: Setup, results: Mapping[str, Any], index: int) -> Explanation:
    """Greatest load from the sheet, or from the spring."""
    if isfinite(setup.column("pushrod", "peak_load").value[index]):
        note = "As the sheet gives it, which goes before the spring's load at full lift."
        return replace(
            _PEAK_LOAD,
            symbols={"P": "pushrod.peak_load"},
            steps=(("peak_load", "P"),),
            publication="given",
            note=note,
        )
    return _PEAK_LOAD


_PEAK_LOAD = Explanation(
    "peak_load",
    "pushrod",
    "greatest load along the pushrod",
    {**_BALLS, "s": "rocker:lobe_lift", "F": "spring:open_load", "i": "rocker:ratio_at_full_lift"},
    (
        *closed(),
        *risen(),
        ("theta", "atan2(hypot(e + b*cos(psi), z), b*sin(psi) - y)"),
        ("peak_load", "F*i/cos(theta)"),
    ),
    "own derivation: virtual work at slow full lift",
    f"theta: pushrod to the tappet's bore at full lift. {LINKAGE_NOTE}",
)


def _ratio(name: str, way: str, out: str, symbols: Mapping[str, str]) -> Explanation:
    """Mean ratio with the screw at one end of its range."""
    return Explanation(
        name,
        "pushrod",
        f"mean ratio with the screw all the way {way}",
        {**_BALLS, "s": "rocker:lobe_lift", "m": "adjuster.axis_lean", **symbols},
        (
            *closed(),
            ("u", out),
            *_OUT,
            ("p2", "hypot(across2, along2)"),
            ("b2", "hypot(b + u*sin(m), u*cos(m))"),
            ("alpha2", "alpha + atan2(u*cos(m), b + u*sin(m))"),
            *risen("s", "b2", "alpha2", "p2"),
            (name, "a*(sin(phi0) - sin(phi))/s"),
        ),
        CLOSURE,
        "Gross lift of the linkage with the upper ball moved along the screw by u, and a pushrod that sets "
        f"the same lash, over lobe lift. {_OUT_NOTE} {LINKAGE_NOTE}",
    )


EXPLANATIONS = (
    Explanation(
        "exposure_greatest",
        "pushrod",
        "most thread that can show under the rocker",
        _SCREW,
        (("exposure_greatest", "T - B - N"),),
        "definition: the thread must still fill rocker and locknut",
    ),
    Explanation(
        "reserve",
        "pushrod",
        "thread of the adjuster left, the lesser way",
        {**_SCREW, "x": "adjuster.exposure"},
        (("out", "T - B - N - x"), ("reserve", "min(out, x)")),
        "definition",
        "",
        "adjuster_reserve",
    ),
    Explanation(
        "length_for_wanted_exposure",
        "pushrod",
        "pushrod, between ball centers, that shows the thread wanted at the lash set",
        {
            **_BALLS,
            "m": "adjuster.axis_lean",
            "x": "adjuster.exposure",
            "v": "pushrod:exposure_wanted",
        },
        (
            *closed(),
            ("u", "v - x"),
            *_OUT,
            ("length_for_wanted_exposure", "sqrt(across2^2 + along2^2 + z^2)"),
        ),
        "own derivation: the screw moves the upper ball square to the socket arm; rocker and tappet stay",
        f"{_OUT_NOTE} {LINKAGE_NOTE}",
    ),
    Explanation(
        "lash_turns",
        "pushrod",
        "turns of the adjuster that open the lash from nothing",
        {"g": "rocker:lash", "P": "rocker.thread_pitch", "i": "rocker:ratio_at_opening"},
        (("turns", "g/(P*i)"),),
        "common practice, no source",
        "The locknut adds about 0.001 in (0.025 mm).",
    ),
    Explanation(
        "column_load",
        "pushrod",
        "load at which the pushrod buckles",
        {**_TUBE, "Sy": "pushrod.yield_strength"},
        (
            _AREA,
            ("k", "sqrt(D^2 + (D - 2*t)^2)/4"),
            ("SR", "l/k"),
            ("Cc", "sqrt(2*pi^2*E/Sy)"),
            ("euler", "pi^2*E*A/SR^2"),
            ("johnson", "A*Sy*(1 - Sy*SR^2/(4*pi^2*E))"),
            ("column_load", "where(SR > Cc, euler, johnson)"),
        ),
        _COLUMN,
    ),
    Explanation(
        "column_factor",
        "pushrod",
        "load at which the pushrod buckles over its greatest load",
        {"C": "pushrod:column_load", "F": "pushrod:peak_load"},
        (("column_factor", "C/F"),),
        "definition",
        "",
        "pushrod_column_factor",
    ),
    Explanation(
        "stiffness",
        "pushrod",
        "stiffness of the tube along its axis",
        _TUBE,
        (_AREA, ("stiffness", "E*A/l")),
        "elementary strength of materials",
    ),
    Explanation(
        "deflection",
        "pushrod",
        "shortening under the peak load",
        {"F": "pushrod:peak_load", "k": "pushrod:stiffness"},
        (("deflection", "F/k"),),
        "Hooke's law",
    ),
    Explanation(
        "lift_lost_to_deflection",
        "pushrod",
        "lift lost at the valve to the pushrod's shortening",
        {"f": "pushrod:deflection", "i": "rocker:ratio_at_full_lift"},
        (("lift_lost", "f*i"),),
        "definition",
    ),
    Explanation(
        "reserve_out",
        "pushrod",
        "thread left to screw out",
        {**_SCREW, "x": "adjuster.exposure"},
        (("reserve_out", "T - B - N - x"),),
        "definition",
    ),
    Explanation(
        "reserve_in",
        "pushrod",
        "thread left to screw in",
        {"x": "adjuster.exposure"},
        (("reserve_in", "x"),),
        "definition",
    ),
    replace(_LENGTH, symbols={**_BALLS, "l": "pushrod.length"}, at=_length),
    Explanation(
        "adjuster_exposure",
        "pushrod",
        "thread showing under the rocker",
        {"x": "adjuster.exposure"},
        (("adjuster_exposure", "x"),),
        "measured",
        "As measured.",
    ),
    Explanation(
        "exposure_wanted",
        "pushrod",
        "thread wanted under the rocker",
        {"v": "adjuster.exposure_wanted", **_SCREW},
        (("exposure_wanted", "either(v, (T - B - N)/2)"),),
        "definition",
        "As the sheet asks; else half of the most that can show.",
    ),
    _ratio("ratio_adjuster_in", "in", "-x", {"x": "adjuster.exposure"}),
    _ratio("ratio_adjuster_out", "out", "T - B - N - x", {**_SCREW, "x": "adjuster.exposure"}),
    replace(_PEAK_LOAD, at=_peak_load),
    *SWUNG,
)
