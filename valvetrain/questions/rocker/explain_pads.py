"""Where a pad was measured point by point the circular pad's formula does not serve: what does."""

from collections.abc import Mapping
from dataclasses import replace
from typing import Any

import numpy as np

from valvetrain.answers.explanation import Explanation, Plain
from valvetrain.questions.rocker.explain_linkage import ARMS, closed, risen
from valvetrain.setup.setup import Setup

__all__ = ["circular", "of_circle"]

_NOTE = (
    "This valve's pad was measured (pad_outline): it is followed over the tip point by point, at 41 shares "
    "of net lift, in place of a circular pad."
)
_PUBLICATION = "own derivation: contact of an outline with a flat tip; ratio by virtual work"


def _end(of: str, pick: Any, meaning: str) -> Plain:
    """Return a number of the followed pad's curve."""
    dimension = "length" if of == "contact" else "ratio"
    return Plain(
        "rocker",
        meaning,
        dimension,
        lambda setup, result, index: float(pick(getattr(result.pads, of)[index])),
    )


_LEAST = _end("contact", np.min, "least contact from the stem axis, over the lift")
_GREATEST = _end("contact", np.max, "greatest contact from the stem axis, over the lift")
_CURVES: dict[str, tuple[dict[str, str | Plain], str]] = {
    "sweep_width": ({"near": _LEAST, "far": _GREATEST}, "far - near"),
    "sweep_share": ({"near": _LEAST, "far": _GREATEST, "G": "rocker:gross_lift"}, "(far - near)/G"),
    "sweep_middle": ({"near": _LEAST, "far": _GREATEST}, "(far + near)/2"),
    "contact_closed": ({"x": _end("contact", lambda row: row[0], "contact followed, lash taken up")}, "x"),
    "contact_full": ({"x": _end("contact", lambda row: row[-1], "contact followed, at full lift")}, "x"),
    "ratio_at_opening": ({"i": _end("ratio", lambda row: row[0], "ratio followed, lash taken up")}, "i"),
    "ratio_at_half_lift": ({"i": _end("ratio", lambda row: row[20], "ratio followed, at half lift")}, "i"),
    "ratio_at_full_lift": ({"i": _end("ratio", lambda row: row[-1], "ratio followed, at full lift")}, "i"),
}


def circular(explanation: Explanation) -> Explanation:
    """Return the explanation with what holds in its place at a valve with a measured pad."""
    name = explanation.name

    def at(setup: Setup, results: Mapping[str, Any], index: int) -> Explanation:
        pads = results["rocker"].pads
        if pads is None or name not in pads.values or np.isnan(pads.values[name][index]):
            return replace(explanation, at=None)
        own = replace(explanation, at=None, proof=(), publication=_PUBLICATION, note=_NOTE)
        if name in _CURVES:
            symbols, formula = _CURVES[name]
            return replace(own, symbols=symbols, steps=((name, formula),))
        if name == "chamfer_distance":
            symbols = {"near": _LEAST, "far": _GREATEST, "d": "valve.stem_diameter", "c": "valve.tip_chamfer"}
            at_edge = pads.values[name][index] == 0.0
            last = (
                "min(d/2 - c - max(abs(far), abs(near)), 0)"
                if at_edge
                else "d/2 - c - max(abs(far), abs(near))"
            )
            return replace(own, symbols=symbols, steps=((name, last),))
        return replace(own, symbols={"near": _LEAST, "far": _GREATEST}, steps=())

    return replace(explanation, at=at)


def of_circle(explanation: Explanation) -> Explanation:
    """Return an explanation that takes the circular pad's net lift L even where the pad was measured."""
    circle = (*closed(), *risen(), ("L", "max(a*(sin(phi0) - sin(phi)) - g, 0)"))
    note = f"The pad was measured here; this number is that of a circular pad of radius r. {explanation.note}"

    def at(setup: Setup, results: Mapping[str, Any], index: int) -> Explanation:
        result = results["rocker"]
        plain = replace(explanation, at=None)
        if result.pads is None or np.isnan(result.pads.values["net_lift"][index]):
            return plain
        if result.lift_from[index] == "dial":
            return plain
        symbols = {**ARMS, "s": "rocker:lobe_lift", **explanation.symbols}
        del symbols["L"]
        return replace(
            plain,
            symbols=symbols,
            steps=(*circle, *explanation.steps) if explanation.steps else (),
            proof=(*circle, *explanation.proof) if explanation.proof else (),
            note=note.strip(),
        )

    return replace(explanation, at=at)
