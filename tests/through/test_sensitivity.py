"""Sensitivity: a shop step of each dimension, the linkage solved again with scipy's root finder (derived)."""

from dataclasses import replace

import numpy as np
import pytest

from .answers import asked
from .engine import DEG, MM, engine, linkage_of
from .marks import checks
from .sheets import written

OUTPUTS = "step gross_lift pattern_middle contact_full ratio"
STEPS = {
    "setback": "setback",
    "height": "height",
    "pad_arm": "pad_arm",
    "pad_radius": "pad_radius",
    "socket_arm": "socket_arm",
    "arm_angle": "arm_angle",
    "tappet_setback": "tappet_setback",
    "tappet_angle": "tappet_angle",
    "pushrod_planar_length": "length",
    "lash": "lash",
    "tappet_lift": None,
    "stand_shim": None,
}
# A step of the lobe lift is not held at the pattern's middle: the command moves the contact at touch too,
# which a greater lift does not do.
LEFT = ("tappet_lift.pattern_middle",)
MARKED = " ".join(
    each for name in STEPS for output in OUTPUTS.split() if (each := f"{name}.{output}") not in LEFT
)


def outcome(model, full, opening):
    """What a step moves; the pattern's middle here lies between its ends, at touch and at full lift."""
    return {
        "gross_lift": model.drop(full),
        "pattern_middle": (model.contact(opening) + model.contact(full)) / 2,
        "contact_full": model.contact(full),
        "ratio": model.ratio(full),
    }


@pytest.mark.parametrize("seed", [0, 3])
@checks(
    "sensitivity.valves.effects", MARKED, by="scipy.optimize.brentq, central differences", status="derived"
)
def test_effect_of_a_step(tmp_path, seed):
    sheet = engine(seed)
    effects = asked("sensitivity", written(tmp_path, sheet))["valves"][0]["effects"]
    model, full = linkage_of(sheet), sheet["lobe"]["lift"] * MM
    opening = model.lift_for(model.lash)
    lean = sheet["shaft"]["stand_angle"] * DEG
    for name, field in STEPS.items():
        step = effects.si(f"{name}.step")
        angle = name.endswith("angle")
        assert step == pytest.approx(DEG if angle else 0.01 * 25.4 * MM, rel=0.25), name
        small = step / 50

        def changed(by, name=name, field=field):
            if name == "stand_shim":
                return model.raised(by, lean), full
            if name == "tappet_lift":
                return model, full + by
            if name == "pushrod_planar_length":
                planar = np.sqrt(model.length**2 - model.splay**2) + by
                return replace(model, length=float(np.hypot(planar, model.splay))), full
            return replace(model, **{field: getattr(model, field) + by}), full

        more, less = (outcome(*changed(by), opening) for by in (small, -small))
        for output in more:
            if f"{name}.{output}" in LEFT:
                continue
            slope = (more[output] - less[output]) / (2 * small)
            assert effects.si(f"{name}.{output}") == pytest.approx(
                slope * step, rel=2e-3, abs=2e-8 if output != "ratio" else 2e-6
            ), (name, output)
