"""How the rocker's numbers come about."""

from collections.abc import Mapping
from dataclasses import replace
from math import isnan, nan
from typing import Any

from valvetrain.answers.explanation import Explanation, Plain
from valvetrain.parts.lobe_curve import lobe_curve
from valvetrain.questions.rocker.explain_linkage import (
    ARMS,
    CLOSURE,
    LINKAGE_NOTE,
    TIP,
    closed,
    ratio_at,
    risen,
)
from valvetrain.questions.rocker.explain_pads import circular, of_circle
from valvetrain.questions.rocker.tip_heights import role_middle
from valvetrain.setup.setup import Setup

__all__ = ["EXPLANATIONS"]

_DERIVED = "own derivation: a circular pad on a flat tip touches straight below the center of its radius"
_SQUARE = "own derivation: the arm square to the stem at that lift"
_LIFTED_TIP = {**TIP, "L": "rocker:net_lift"}
_ENDS = (
    ("x0", "sqrt(a^2 - (r - h)^2)"),
    ("x1", "sqrt(a^2 - (r - h - L)^2)"),
    ("far", "where(0 <= r - h <= L, a, max(x0, x1))"),
    ("near", "min(x0, x1)"),
)
_ENDS_NOTE = (
    "x0, x1: pad center from the shaft along the tip, lash taken up and at full lift; far, near: its ends."
)
# With a shim c under the stand, which leans by beta: shaft up and toward the valve, lower ball where it was.
_SHIMMED = (
    ("h2", "h + c*cos(beta)"),
    ("e2", "e + c*sin(beta + tau)"),
    ("phi2", "asin((r + g - h2)/a)"),
    ("psi2", "phi2 + alpha - tau"),
    ("y2", "y0 - c*cos(beta + tau)"),
    ("p2", "hypot(e2 + b*cos(psi2), b*sin(psi2) - y2)"),
    ("D2", "hypot(e2, y2 + s)"),
    ("psi3", "acos((p2^2 - b^2 - D2^2)/(2*b*D2)) - atan2(y2 + s, e2)"),
    ("phi3", "psi3 - alpha + tau"),
)


def _gross_lift(setup: Setup, results: Mapping[str, Any], index: int) -> Explanation:
    """Gross lift by the way taken at this valve."""
    way = results["rocker"].lift_from[index]
    if way == "dial":
        return replace(
            _BY_LINKAGE,
            symbols={"G": "station.gross_lift"},
            steps=(("gross_lift", "G"),),
            publication="measured",
            note="Read with a dial at this valve, which goes before the linkage.",
        )
    if way == "nominal ratio":
        return replace(
            _BY_LINKAGE,
            symbols={"i": "rocker.nominal_ratio", "s": "rocker:lobe_lift"},
            steps=(("gross_lift", "i*s"),),
            publication="definition",
            note="The arms are not all known here, so the ratio that the rocker was bought as is taken.",
        )
    return _BY_LINKAGE.at(setup, results, index) if _BY_LINKAGE.at else _BY_LINKAGE


_BY_LINKAGE = circular(
    Explanation(
        "gross_lift",
        "rocker",
        "what the valve would lift at no lash",
        {**ARMS, "s": "rocker:lobe_lift"},
        (*closed(), *risen(), ("gross_lift", "a*(sin(phi0) - sin(phi))")),
        CLOSURE,
        LINKAGE_NOTE,
    )
)


def _lash(setup: Setup, results: Mapping[str, Any], index: int) -> Explanation:
    """Lash along the stem, as measured or from the pushrod's side."""
    if setup.trains[index].lash.at != "pushrod":
        return _LASH
    ratio = ratio_at("r + q - h", "i")
    symbols = {"q": "lash.lash", **{symbol: source for symbol, source in ARMS.items() if symbol != "g"}}
    return replace(
        _LASH,
        symbols={**symbols, "n": "rocker.nominal_ratio"},
        steps=(*ratio, ("lash", "q*either(i, n)")),
        publication=CLOSURE,
        note="Measured at the pushrod, so times the ratio on the base circle, or the nominal one.",
    )


_LASH = Explanation(
    "lash",
    "rocker",
    "gap between pad and tip on the base circle, along the stem",
    {"q": "lash.lash"},
    (("lash", "q"),),
    "measured",
)


def _top_of_table(setup: Setup, result: Any, index: int) -> float:
    curve = lobe_curve(setup.trains[index].lobe)
    return nan if curve is None else curve.max_lift


def _table_source(setup: Setup, index: int) -> str:
    table = setup.trains[index].lobe.table
    return table.source if table else "the lobe's law"


def _lobe_lift(setup: Setup, results: Mapping[str, Any], index: int) -> Explanation:
    """Lobe lift from the first of three places that has it."""
    lobe = setup.trains[index].lobe
    symbols: dict[str, str | Plain] = {"w": "lobe.lift"}
    if lobe.measured_lift is not None:
        symbols = {"w": "lobe.measured_lift"}
    elif lobe.lift is None and not isnan(_top_of_table(setup, None, index)):
        source = _table_source(setup, index)
        symbols = {"w": Plain("rocker", "top of the lobe's lift curve", "length", _top_of_table, source)}
    return replace(_LOBE_LIFT, symbols=symbols)


_LOBE_LIFT = Explanation(
    "lobe_lift",
    "rocker",
    "tappet rise off the base circle",
    {"w": "lobe.lift"},
    (("lobe_lift", "w"),),
    "measured",
    "As found at this valve (lobe_lift in the table of valves), else as the lobe should have it: "
    "written, or the top of its table.",
)


def _ratio(name: str, doc: str, share: str, rise: str) -> Explanation:
    """Ratio at a share of net lift."""
    symbols = {symbol: source for symbol, source in ARMS.items() if symbol != "g"}
    if share != "0":
        symbols["L"] = "rocker:net_lift"
    return circular(Explanation(name, "rocker", doc, symbols, ratio_at(rise, name), CLOSURE, LINKAGE_NOTE))


def _tip(
    name: str, doc: str, last: str, more: Mapping[str, str] | None = None, check: str = ""
) -> Explanation:
    """Explain a number of the pattern on the tip."""
    steps = (*_ENDS, (name, last))
    told = Explanation(
        name, "rocker", doc, {**_LIFTED_TIP, **(more or {})}, steps, _DERIVED, _ENDS_NOTE, check
    )
    return circular(told)


def _shim(name: str, doc: str, share: str, more: Mapping[str, str | Plain], note: str) -> Explanation:
    """Explain a stand shim that has the arm square at a share of net lift."""
    told = Explanation(
        name,
        "rocker",
        doc,
        {**_LIFTED_TIP, **more, "beta": "shaft.stand_angle"},
        ((name, f"(r - {share}*L - h)/cos(beta)"),),
        _SQUARE,
        note,
    )
    return of_circle(told)


_W = {"w": "shaft.setback"}
_TOTAL = "thickness under the stand, in all, "
_ONE_FOR_ALL = (
    "One stand shim serves every valve of a shaft: `rocker` says which one in stock suits the worst of them."
)
_SQUARE_AT = Plain(
    "rocker",
    "share of net lift at which the arm is wanted square",
    "fraction",
    lambda setup, result, index: result.square_at_wanted,
    "option --square-at, else half",
)

EXPLANATIONS = (
    replace(_LOBE_LIFT, symbols={"w": "lobe.lift"}, at=_lobe_lift),
    replace(_LASH, at=_lash),
    replace(_BY_LINKAGE, at=_gross_lift),
    Explanation(
        "net_lift",
        "rocker",
        "what the valve lifts: gross lift less lash",
        {"G": "rocker:gross_lift", "g": "rocker:lash"},
        (("net_lift", "max(G - g, 0)"),),
        "definition",
    ),
    Explanation(
        "mean_ratio",
        "rocker",
        "gross lift over lobe lift",
        {"G": "rocker:gross_lift", "s": "rocker:lobe_lift"},
        (("mean_ratio", "G/s"),),
        "definition",
    ),
    _ratio("ratio_at_opening", "pad drop per tappet rise with the lash just taken up", "0", "r - h"),
    _ratio("ratio_at_half_lift", "pad drop per tappet rise at half lift", "0.5", "r - h - 0.5*L"),
    _ratio("ratio_at_full_lift", "pad drop per tappet rise at full lift", "1", "r - h - L"),
    _tip("sweep_width", "range of the contact across the tip", "far - near"),
    _tip(
        "sweep_share",
        "sweep width as a share of gross lift",
        "(far - near)/G",
        {"G": "rocker:gross_lift"},
        "sweep_width",
    ),
    _tip("sweep_middle", "middle of the sweep from the stem axis", "(far + near)/2 - w", _W),
    _tip("contact_closed", "contact from the stem axis, lash just taken up", "x0 - w", _W),
    _tip("contact_full", "contact from the stem axis at full lift", "x1 - w", _W),
    _tip(
        "chamfer_distance",
        "least distance from the contact to the tip's chamfer",
        "d/2 - c - max(abs(far - w), abs(near - w))",
        {**_W, "d": "valve.stem_diameter", "c": "valve.tip_chamfer"},
        "contact_on_tip",
    ),
    of_circle(
        Explanation(
            "least_sweep_width",
            "rocker",
            "least sweep that this arm and lift allow",
            {"a": "rocker.pad_arm", "L": "rocker:net_lift"},
            (("least_sweep_width", "a*(1 - sqrt(1 - (L/(2*a))^2))"),),
            "own derivation: the arm square to the stem at half lift; about L^2/(8 a)",
        )
    ),
    Explanation(
        "sweep_over_least",
        "rocker",
        "sweep width over the least that this arm and lift allow",
        {"w": "rocker:sweep_width", "m": "rocker:least_sweep_width"},
        (("sweep_over_least", "w/m"),),
        "own definition: 1 at the best height of the shaft",
        check="sweep_over_least",
    ),
    Explanation(
        "tip_height",
        "rocker",
        "stem height less the middle of its role",
        {
            "s": "valve.stem_height",
            "m": Plain(
                "rocker",
                "middle of the role's stem heights",
                "length",
                lambda setup, result, index: role_middle(setup, setup.roles[index]),
            ),
        },
        (("tip_height", "s - m"),),
        "own definition",
        check="tip_height",
    ),
    Explanation(
        "lift_lost_share",
        "rocker",
        "gross lift lost to the shaft's height, over gross lift",
        {"d": "rocker:lift_lost_to_height", "G": "rocker:gross_lift"},
        (("lift_lost_share", "d/G"),),
        "own definition",
        check="lift_lost",
    ),
    of_circle(
        Explanation(
            "square_at_lift_fraction",
            "rocker",
            "fraction of net lift at which the arm is square to the stem",
            {"r": "rocker.pad_radius", "h": "shaft.height", "L": "rocker:net_lift"},
            (("square_at_lift_fraction", "(r - h)/L"),),
            "own derivation: the pad's center is then level with the shaft",
            check="square_at",
        )
    ),
    _shim(
        "stand_shim_change_for_least_sweep",
        "stand shim to add (minus: take out) for the least sweep at this valve",
        "0.5",
        {},
        _ONE_FOR_ALL,
    ),
    Explanation(
        "stand_shim_for_least_sweep",
        "rocker",
        f"{_TOTAL}for the least sweep at this valve",
        {"t": "shaft.stand_shim", "c": "rocker:stand_shim_change_for_least_sweep"},
        (("stand_shim_for_least_sweep", "t + c"),),
        "definition",
    ),
    _shim(
        "stand_shim_change_for_square_at",
        "stand shim to add that has the arm square at the fraction of lift wanted",
        "f",
        {"f": _SQUARE_AT},
        _ONE_FOR_ALL,
    ),
    of_circle(
        Explanation(
            "stand_shim_change_for_centered_sweep",
            "rocker",
            "stand shim to add that brings the middle of the sweep onto the stem axis",
            {**_LIFTED_TIP, **_W, "beta": "shaft.stand_angle"},
            (),
            _DERIVED,
            "Found by halving the interval in which the middle of the sweep crosses the stem axis; the "
            "smaller of two, or none where the arm does not suit the setback.",
            proof=(
                ("h2", "h + stand_shim_change_for_centered_sweep*cos(beta)"),
                ("w2", "w - stand_shim_change_for_centered_sweep*sin(beta)"),
                *((symbol, step.replace("h", "h2")) for symbol, step in _ENDS[:2]),
                ("far", "where(0 <= r - h2 <= L, a, max(x0, x1))"),
                ("near", "min(x0, x1)"),
                ("middle", "(far + near)/2 - w2"),
            ),
        )
    ),
    Explanation(
        "stand_shim_for_centered_sweep",
        "rocker",
        f"{_TOTAL}for a centered sweep",
        {"t": "shaft.stand_shim", "c": "rocker:stand_shim_change_for_centered_sweep"},
        (("stand_shim_for_centered_sweep", "t + c"),),
        "definition",
    ),
    Explanation(
        "lift_lost_to_height",
        "rocker",
        "gross lift that this rocker would gain at the height of its least sweep",
        {
            **ARMS,
            "s": "rocker:lobe_lift",
            "c": "rocker:stand_shim_change_for_least_sweep",
            "beta": "shaft.stand_angle",
        },
        (
            *closed(),
            *risen(),
            ("now", "a*(sin(phi0) - sin(phi))"),
            *_SHIMMED,
            ("then", "a*(sin(phi2) - sin(phi3))"),
            ("lift_lost_to_height", "then - now"),
        ),
        CLOSURE,
        "Gross lift by the linkage with the stand shim changed by c and the lash set again with another "
        f"pushrod length, less gross lift by the linkage now. {LINKAGE_NOTE} With 2 and 3: with the shim, "
        "closed and lifted.",
    ),
)
