"""Verdicts on the rubbing pairs: only what a limit can be named for is judged."""

import math

import numpy as np

from valvetrain.answers.quantity import Quantity
from valvetrain.answers.verdict import Check, judged
from valvetrain.questions.wear.study import WearResult
from valvetrain.setup.setup import Setup
from valvetrain.setup.units import shown

__all__ = ["wear_checks"]


def wear_checks(setup: Setup, result: WearResult, system: str) -> list[Check]:
    """Judge contact, rotation and measured wear at every valve.

    What the sheet gives for no valve at all is not judged; contact stress only where the user gave a limit.
    Roller tappets have no face to judge.
    """
    pairs = result.pairs
    flat = not all(train.tappet.kind == "roller" for train in setup.trains)
    checks: list[Check] = []
    limit = setup.limits["contact_stress"]
    if flat and (math.isfinite(limit.low) or math.isfinite(limit.high)):
        checks += judged(
            setup,
            "contact_stress",
            result.peak_stress,
            needs=("lobe.base_radius", "lobe.width", "tappet.crown_radius"),
            cure=_same(
                setup, "Less spring, more base circle or a wider lobe lowers it; look at the film first."
            ),
            system=system,
        )
    for name, quantity, needs, cure in (
        ("lobe_curvature", result.lobe_curvature, ("lobe.base_radius",), _UNDERCUT),
        ("face_margin", result.face_margin, ("tappet.face_diameter", "lobe.width"), _face(result, system)),
        ("lobe_edge_margin", result.lobe_edge_margin, ("lobe.width", "tappet.crown_radius"), _EDGE),
        ("lobe_taper", result.lobe_taper, ("lobe.width",), _TAPER),
        ("crown_radius", result.crown_radius, ("tappet.crown_radius",), _CROWN),
        ("tappet_hardness", result.tappet_hardness, ("contact.tappet_hardness",), _HARDNESS),
    ):
        if flat and _known(quantity):
            checks += judged(setup, name, quantity, needs=needs, cure=_each(setup, cure), system=system)
    if flat and _known(result.rotation_arm):
        checks += _rotation(setup, result, system)
    for name, quantity, needs, cure in (
        ("tip_edge_margin", pairs.tip_edge_margin, ("valve.stem_diameter", "valve.tip_chamfer"), _TIP),
        ("bore_clearance", result.bore_clearance, ("rocker.bore_clearance",), _BORE),
        ("stem_in_guide", result.stem_in_guide, ("contact.stem_in_guide",), _GUIDE),
        ("oil_hole_clear", pairs.hole_apart, ("contact.oil_hole_angle",), _HOLE),
    ):
        if _known(quantity):
            checks += judged(setup, name, quantity, needs=needs, cure=_each(setup, cure), system=system)
    return checks


_UNDERCUT = (
    "At zero the lobe comes to a point, below zero it would be undercut: no lobe on this base circle gives a "
    "flat tappet that lift. Check the lift table (noise in it does this) and the base radius; if both hold, "
    "it is a lobe for another follower or a larger base circle."
)
_EDGE = (
    "Less taper or crown, or the bore nearer the lobe's large side, keeps the contact off the lobe's edge."
)
_TAPER = "Have the lobes ground with taper in this range, all to one side that suits the bores' offset."
_CROWN = "Regrind the tappet's face to a crown in this range."
_HARDNESS = "Do not run a soft tappet: change it, and look at its lobe."
_TIP = "Bring the sweep back to the middle of the tip first (see `rocker`)."
_BORE = "Bush or replace the rocker, or the shaft where it is worn under the rocker."
_GUIDE = "Change or sleeve the guide; an oval one comes from side load (see `rocker`)."
_HOLE = "Turn the shaft so that its holes open away from the load: mark which way it was fitted."


def _rotation(setup: Setup, result: WearResult, system: str) -> list[Check]:
    """Judge what turns the tappets; each obstacle is told in the advice."""
    checks = judged(
        setup,
        "rotation_arm",
        result.rotation_arm,
        needs=("lobe.taper", "lobe.width", "tappet.crown_radius"),
        system=system,
    )
    out = []
    for check, obstacles in zip(checks, result.obstacles, strict=True):
        names = [name for name, _ in obstacles]
        verdict, advice = check.verdict, check.advice
        told = " ".join(f"{sentence[0].upper()}{sentence[1:]}." for _, sentence in obstacles)
        # A flat face may still turn by its bore's offset; a hollow one, or a contact past the edge, does not.
        if "hollow face" in names or "past the edge" in names:
            verdict, advice = "out", told
        elif names and "unmeasured" not in names:
            verdict, advice = "unsure", f"{told} Mark a pushrod and look whether it turns at idle."
        out.append(
            Check(
                check.id, check.valve, check.quantity, check.dimension, check.value, check.uncertainty,
                check.low, check.high, verdict, check.basis, advice,
            )
        )  # fmt: skip
    return out


def _face(result: WearResult, system: str) -> tuple[str, ...]:
    return tuple(
        f"It needs a face of {shown(float(each), 'length', system)} at least: a larger tappet, or a lobe "
        "with less speed of lift or nearer the tappet's axis."
        for each in result.least_face_diameter.value
    )


def _known(quantity: Quantity) -> bool:
    return bool(np.isfinite(quantity.value).any())


def _same(setup: Setup, cure: str) -> tuple[str, ...]:
    return (cure,) * len(setup.valves)


def _each(setup: Setup, cure: str | tuple[str, ...]) -> tuple[str, ...]:
    return _same(setup, cure) if isinstance(cure, str) else cure
