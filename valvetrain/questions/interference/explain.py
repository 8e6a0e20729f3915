"""How the clearances of rocker, retainer, seal and stand come about."""

from collections.abc import Mapping
from dataclasses import replace
from typing import Any

from valvetrain.answers.explanation import Explanation, Plain
from valvetrain.setup.setup import Setup

__all__ = ["EXPLANATIONS"]

_DERIVED = "own derivation: distance of two polygons (shapely), then of their nearest points"
_SWING: Mapping[str, str | Plain] = {
    "a": "rocker.pad_arm",
    "r": "rocker.pad_radius",
    "h": "shaft.height",
    "w": "shaft.setback",
    "g": "rocker:lash",
}
_RETAINER = {
    "Dr": "shapes.retainer_diameter",
    "tr": "shapes.retainer_below_tip",
    "dr": "shapes.retainer_depth",
}
_ROCKER = {"db": "shapes.rocker_depth", "H": "shapes.hub_diameter"}
# clearance -> the sheet's keys that shape the parts, and move them
_SHAPED: Mapping[str, Mapping[str, str | Plain]] = {
    "rocker_to_retainer": {**_SWING, **_ROCKER, **_RETAINER},
    "retainer_to_seal": {**_RETAINER, "Ds": "shapes.seal_diameter", "q": "spring.retainer_to_seal"},
    "rocker_to_stand": {**_SWING, **_ROCKER, "B": "shapes.stand_width", "T": "shapes.stand_top"},
}
_PARTS = {
    "rocker_to_retainer": ("rocker", "retainer"),
    "retainer_to_seal": ("retainer", "seal"),
    "rocker_to_stand": ("rocker", "stand"),
}
_DOCS = {
    "rocker_to_retainer": "least clearance of the rocker's underside to the retainer",
    "retainer_to_seal": "least clearance of the retainer to seal or guide",
    "rocker_to_stand": "least clearance of the rocker to its stand",
}
_NOTE = (
    "The two outlines (the sheet's, or boxes and a bar from [shapes]) are set up on the base circle and at "
    "fifteen positions from the lash taken up to full lift, the rocker turned about the shaft, the retainer "
    "lowered by the lift, then at nine between the neighbors of the nearest. The least counts, and of "
    "positions as near to 0.0001 in (2.5 micrometers) the first."
)


def _share(name: str) -> Plain:
    return Plain(
        "interference",
        "share of net lift at which it is least",
        "fraction",
        lambda setup, result, index: float(result.lift_share[name][index]),
    )


def _point(name: str, part: int, axis: int) -> Plain:
    """Return a coordinate of one part's nearest point."""
    where = ("across the tip, away from the shaft", "along the stem, up from the closed tip")[axis]
    return Plain(
        "interference",
        f"nearest point of the {_PARTS[name][part]}, {where}",
        "length",
        lambda setup, result, index: float(result.nearest[name][index, part, axis]),
    )


def _clearance(name: str) -> Explanation:
    """Explain a least clearance by the nearest points."""
    points: dict[str, str | Plain] = {
        f"{letter}{part + 1}": _point(name, part, axis) for part in (0, 1) for axis, letter in enumerate("xy")
    }
    own = Explanation(
        name,
        "interference",
        _DOCS[name],
        {**_SHAPED[name], "L": "rocker:net_lift", "f": _share(name), **points},
        ((name, "hypot(x2 - x1, y2 - y1)"),),
        _DERIVED,
        _NOTE,
        name,
    )

    def at(setup: Setup, results: Mapping[str, Any], index: int) -> Explanation:
        result = results["interference"]
        shapes = result.shapes[index]
        note = f"{_NOTE} Here: {shapes}." if shapes else _NOTE
        if not getattr(result, name).value[index] <= 0:
            return replace(own, note=note)
        met = (
            "The outlines overlap: by how deep a corner is in the other, or by the width of what they share."
        )
        return replace(own, steps=(), note=f"{note} {met}")

    return replace(own, at=at)


def _at(name: str) -> Explanation:
    """Explain the lift at which a clearance is least."""
    return Explanation(
        f"{name}_at",
        "interference",
        f"valve lift at which the {_PARTS[name][0]} is nearest to the {_PARTS[name][1]}",
        {"f": _share(name), "L": "rocker:net_lift", "c": f"interference:{name}"},
        ((f"{name}_at", "f*L"),),
        _DERIVED,
        _NOTE,
    )


EXPLANATIONS = (*(_clearance(name) for name in _PARTS), *(_at(name) for name in _PARTS))
