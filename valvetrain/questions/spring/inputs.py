"""What the springs' quantities are computed from: columns of the sheet, lifts, and the set's solid height."""

from collections.abc import Mapping

import numpy as np

from valvetrain.mechanics.arrays import FloatArray
from valvetrain.questions.rocker.study import RockerResult
from valvetrain.questions.spring.curves import SpringCurves
from valvetrain.setup.setup import Column, Setup

__all__ = ["set_solid", "spring_inputs"]


def spring_inputs(setup: Setup, rocker: RockerResult, curves: SpringCurves) -> dict[str, Column]:
    """Return the columns from which the study's quantities are computed; what is zero when left out is 0."""
    lift = rocker.net_lift
    inputs = dict(curves.columns) | {
        f"spring.{key}": setup.column("spring", key)
        for key in ("installed_height", "retainer_to_seal", "retainer_to_guide", "damper_friction")
    }
    inputs["valve.stem_height"] = setup.column("valve", "stem_height")
    for key in ("seat_recession", "tip_ground"):
        column = setup.column("spring", key)
        inputs[f"spring.{key}"] = Column(np.nan_to_num(column.value), column.uncertainty, column.source)
    inputs["net lift"] = Column(
        lift.value, np.nan_to_num(lift.uncertainty), ("the rocker study",) * len(lift.value)
    )
    return inputs


def set_solid(rows: Mapping[str, FloatArray], curves: SpringCurves) -> FloatArray:
    """Height of the set at which its first spring goes solid [m]."""
    solid = np.asarray(rows["spring.solid_height"], float)
    for section in curves.sections[1:]:
        own = (
            rows[f"{section}.solid_height"] + rows[f"{section}.seat_step"] + rows[f"{section}.retainer_step"]
        )
        solid = np.maximum(solid, own)
    return solid
