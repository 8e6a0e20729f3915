"""What a shop step of each dimension does: lift, pattern and ratio, from the symbolic partial derivatives.

A stand shim moves the shaft along its stand; the lower ball stays on the tappet and the lash is set again, so
the distance between the balls changes with it: its derivative is the sum of those of height, setback, tappet
setback and pushrod length along that move. Derived; tested against the whole linkage.
"""

from dataclasses import dataclass

import numpy as np

from valvetrain.mechanics.arrays import FloatArray
from valvetrain.mechanics.rocker.linkage import ClosedPosition
from valvetrain.mechanics.rocker.stand_shims import shimmed
from valvetrain.questions.fit.linkage_partials import PARAMETERS, linkage_partials
from valvetrain.questions.rocker.study import RockerResult
from valvetrain.setup.setup import Setup

__all__ = ["STEPS", "SensitivityResult", "sensitivity_study"]

# Dimension -> (what a shop calls it, its kind). "stand shim" is the shaft moved along its stand.
STEPS = {
    "stand_shim": ("stand shim", "length"),
    "height": ("shaft height over the tip", "length"),
    "setback": ("shaft setback", "length"),
    "pad_arm": ("pad arm", "length"),
    "pad_radius": ("pad radius", "length"),
    "socket_arm": ("socket arm", "length"),
    "arm_angle": ("arm angle", "angle"),
    "lash": ("lash", "length"),
    "pushrod_planar_length": ("pushrod length, the tappet's place with it", "length"),
    "tappet_setback": ("tappet setback", "length"),
    "tappet_angle": ("tappet angle", "angle"),
    "tappet_lift": ("lobe lift", "length"),
}


@dataclass(frozen=True)
class SensitivityResult:
    """Derivatives at full lift, each [steps, valves] in the order of STEPS; NaN where the linkage is unknown.

    Attributes:
        gross_lift: of gross lift, per m or rad.
        contact: of the contact at full lift.
        middle: of the middle between the contacts at the tappet lifts of opening and full lift.
        ratio: of the ratio at full lift.
    """

    valves: tuple[str, ...]
    roles: tuple[str, ...]
    gross_lift: FloatArray
    contact: FloatArray
    middle: FloatArray
    ratio: FloatArray


def sensitivity_study(setup: Setup, rocker: RockerResult) -> SensitivityResult:
    """Differentiate every valve's linkage, as the rocker study found it."""
    closed = rocker.side.closed
    parameters = {name: np.asarray(getattr(closed, name), float) for name in PARAMETERS}
    lift = rocker.side.rows["lobe.lift"]
    opening = _tappet_lift_at_opening(closed)
    both = np.stack([opening, lift], axis=-1)
    partials = linkage_partials(parameters, both).partial
    shim = _along_stand(closed, rocker.side.stand_angle)
    found: dict[str, list[FloatArray]] = {"pad_drop": [], "contact_x": [], "ratio": [], "middle": []}
    for name in STEPS:
        weights = shim if name == "stand_shim" else {name: np.ones(lift.shape)}
        for output in ("pad_drop", "contact_x", "ratio"):
            each = sum(weight[..., np.newaxis] * partials[output][key] for key, weight in weights.items())
            found[output].append(np.asarray(each)[..., 1])
            if output == "contact_x":
                found["middle"].append(np.asarray(each).mean(axis=-1))
    return SensitivityResult(
        valves=setup.valves,
        roles=setup.roles,
        gross_lift=np.array(found["pad_drop"]),
        contact=np.array(found["contact_x"]),
        middle=np.array(found["middle"]),
        ratio=np.array(found["ratio"]),
    )


def _tappet_lift_at_opening(closed: ClosedPosition) -> FloatArray:
    from valvetrain.mechanics.rocker.linkage import tappet_lift_at_pad_drop

    with np.errstate(invalid="ignore"):
        return tappet_lift_at_pad_drop(closed, closed.lash[..., np.newaxis])[..., 0]


def _along_stand(closed: ClosedPosition, stand_angle: FloatArray) -> dict[str, FloatArray]:
    """How the linkage's dimensions change with a stand shim [m/m], the pushrod's among them."""
    lean = stand_angle + closed.tappet_angle
    step = 1e-7
    with np.errstate(invalid="ignore"):
        up, down = (shimmed(closed, way * step, stand_angle=stand_angle) for way in (1.0, -1.0))
    return {
        "height": np.cos(stand_angle),
        "setback": -np.sin(stand_angle),
        "tappet_setback": np.sin(lean),
        "pushrod_planar_length": (up.pushrod_planar_length - down.pushrod_planar_length) / (2 * step),
    }
