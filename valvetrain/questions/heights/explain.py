"""How the numbers of the height stack come about."""

from collections.abc import Mapping
from dataclasses import replace
from math import isnan
from typing import Any

from valvetrain.answers.explanation import Explanation, Plain
from valvetrain.mechanics.rocker.height_ledger import ITEMS
from valvetrain.parts.adjuster import HeightChange
from valvetrain.questions.rocker.explain_linkage import ARMS, LINKAGE_NOTE, closed
from valvetrain.setup.setup import Setup

__all__ = ["EXPLANATIONS"]

_STACK = (
    "own derivation, to first order: what lies between cam and shaft moves the adjuster, what lies between "
    "shaft and tip moves it through the rocker's turn"
)
_ARMS: Mapping[str, str | Plain] = {**ARMS, "m": "adjuster.axis_lean"}
_CHANGE: Mapping[str, str | Plain] = {"x": "adjuster.exposure", "x0": "adjuster.exposure_before"}
# Thread per reach (ir) and per rise (is), with an unchanged pushrod and the lash set again.
_RATES = (
    *closed(),
    ("across", "e + b*cos(psi0)"),
    ("along", "b*sin(psi0) - y0"),
    ("screw", "across*cos(psi0 + pi/2 - m) + along*sin(psi0 + pi/2 - m)"),
    ("ir", "-along/screw"),
    ("iz", "(along*cos(psi0) - across*sin(psi0))*b/(a*cos(phi0)*screw)"),
)
_NOMINAL = (("ir", "1"), ("iz", "1/n"))
_RATES_NOTE = (
    "ir, iz: change of the thread showing for each change of reach (tappet to shaft) and of rise (tip to "
    "shaft); across, along: upper ball from the lower, square to the tappet's bore and along it; screw: how "
    "the way between the balls goes with the screw, times that way."
)


def _by_rates(
    name: str, doc: str, symbols: Mapping[str, str | Plain], last: str, note: str = ""
) -> Explanation:
    """Explain a number that follows from the rates, through the linkage or without it."""
    own = Explanation(
        name,
        "heights",
        doc,
        {**_ARMS, **symbols},
        (*_RATES, (name, last)),
        _STACK,
        f"{note} {_RATES_NOTE} {LINKAGE_NOTE}".strip(),
    )

    def at(setup: Setup, results: Mapping[str, Any], index: int) -> Explanation:
        keys = [source.split(".") for source in ARMS.values() if isinstance(source, str) and "." in source]
        known = all(not isnan(setup.column(*key).value[index]) for key in keys if key[1] != "splay")
        if known and not isnan(results["rocker"].lash.value[index]):
            return own
        plain = "The linkage is not known here: an upright pushrod, and the rocker's nominal ratio n."
        return replace(
            own,
            symbols={"n": "rocker.nominal_ratio", **symbols},
            steps=(*_NOMINAL, (name, last)),
            note=f"{note} {plain}".strip(),
        )

    return replace(own, at=at)


def _line(change: HeightChange) -> Plain:
    """Return one line of the ledger."""
    value = change.change.value if change.change is not None else float("nan")
    return Plain(
        "heights",
        f"{change.item}: {ITEMS[change.item][2]}",
        "length",
        lambda setup, result, index: value,
        change.source,
    )


def _known(name: str, doc: str, place: int) -> Explanation:
    """Explain what the known lines change, each with its sign."""

    def at(setup: Setup, results: Mapping[str, Any], index: int) -> Explanation:
        symbols: dict[str, str | Plain] = {}
        terms = []
        for each in setup.heights:
            share = ITEMS[each.item][0] if place == 0 else ITEMS[each.item][1]
            if each.change is None or share == 0 or each.valve not in ("", setup.valves[index]):
                continue
            symbol = f"{each.item}_{len(symbols) + 1}"
            symbols[symbol] = _line(each)
            terms.append(f"{'-' if share < 0 else '+'} {symbol}")
        if not terms:
            return own
        return replace(own, symbols=symbols, steps=((name, " ".join(terms).removeprefix("+ ")),))

    none = Plain(
        "heights", "no known line moves it here", "length", lambda *_: 0.0, "ledger, [tables] heights"
    )
    own = Explanation(
        name,
        "heights",
        doc,
        {"lines": none},
        ((name, "lines"),),
        "definition",
        "Sum of the known changes, each with its sign. Lines of unknown amount stay out.",
    )
    return replace(own, at=at)


_MEAN = Plain(
    "heights",
    "mean of the valves that agree, weighted by their uncertainties",
    "length",
    lambda setup, result, index: float(result.total.value),
)
_KNOWN: Mapping[str, str | Plain] = {"kr": "heights:known_reach", "kz": "heights:known_rise"}

EXPLANATIONS = (
    Explanation(
        "exposure_change",
        "heights",
        "thread showing now less before",
        _CHANGE,
        (("exposure_change", "x - x0"),),
        "definition",
    ),
    _known("known_reach", "what the known lines of the ledger change between tappet and shaft", 0),
    _known("known_rise", "what the known lines change between tip and shaft", 1),
    _by_rates(
        "known_exposure_change",
        "what the known lines explain of the thread's change",
        _KNOWN,
        "kr*ir + kz*iz",
    ),
    _by_rates(
        "unknown_reach",
        "what is left, if all of it lies between cam and shaft",
        {"x": "heights:exposure_change", **_KNOWN},
        "(x - kr*ir - kz*iz)/ir",
        "What the known lines do not explain of the thread's change, as a change of reach.",
    ),
    _by_rates(
        "unknown_rise",
        "what is left, if all of it lies between shaft and tip",
        {"u": "heights:unknown_reach"},
        "u*ir/iz",
        "The same as a change of rise: the thread alone cannot tell the two apart.",
    ),
    Explanation(
        "own_part",
        "heights",
        "the valve's own part of what is left",
        {"u": "heights:unknown_reach", "M": _MEAN},
        (("own_part", "u - M"),),
        "definition",
        "Unknown reach less the mean of the set that agrees.",
    ),
    _by_rates(
        "pushrod_change",
        "longer pushrod that brings the thread back (minus: shorter)",
        {"x": "heights:exposure_change"},
        "x/ir",
        "A longer pushrod takes up as much reach as it is longer.",
    ),
    _by_rates(
        "stand_shim_change",
        "stand shim that brings the thread back (minus: less)",
        {"x": "heights:exposure_change"},
        "-x/(ir + iz)",
        "A shim under the stand adds as much to reach and to rise; it moves the pattern on the tip as well.",
    ),
)
