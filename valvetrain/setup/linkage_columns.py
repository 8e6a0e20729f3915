"""The measured columns of the rocker's linkage, lobe lift and shaft height at every valve among them."""

from collections.abc import Mapping
from dataclasses import replace

import numpy as np

from valvetrain.mechanics.arrays import FloatArray
from valvetrain.parts.lobe_curve import lobe_curve
from valvetrain.setup.setup import Column, Setup

__all__ = ["LINKAGE_KEYS", "height_over_tip", "linkage_columns", "lobe_lift", "lobe_lift_as_made"]

LINKAGE_KEYS = (
    "shaft.setback",
    "shaft.height",
    "rocker.pad_arm",
    "rocker.pad_radius",
    "rocker.socket_arm",
    "rocker.arm_angle",
    "pushrod.length",
    "pushrod.splay",
    "tappet.setback",
    "tappet.angle",
    "rocker.nominal_ratio",
    "lash.lash",
)


Rows = Mapping[str, FloatArray]


def linkage_columns(setup: Setup) -> dict[str, Column]:
    """Return the columns of the linkage, the shaft's height over each valve's own tip among them.

    Where the sheet gives the stem height at which the shaft's height was measured, every other valve's height
    follows from its own stem height, and is unknown where that was not measured.
    """
    columns = {key: setup.column(*key.split(".")) for key in LINKAGE_KEYS}
    # A straight pushrod is what a sheet without splay describes.
    splay = columns["pushrod.splay"]
    columns["pushrod.splay"] = replace(splay, value=np.nan_to_num(splay.value))
    columns["shaft.reference_stem_height"] = setup.column("shaft", "reference_stem_height")
    columns["valve.stem_height"] = setup.column("valve", "stem_height")
    columns["lobe.lift"] = lobe_lift(setup)
    return columns


def lobe_lift(setup: Setup) -> Column:
    """Return the lobe lift at every valve: as found there, or else as the lobe should be."""
    should = lobe_lift_as_made(setup)
    found = setup.column("lobe", "measured_lift")
    missing = np.isnan(found.value)
    return Column(
        np.where(missing, should.value, found.value),
        np.where(missing, should.uncertainty, found.uncertainty),
        tuple(
            made if gone else own
            for made, own, gone in zip(should.source, found.source, missing, strict=True)
        ),
    )


def lobe_lift_as_made(setup: Setup) -> Column:
    """Return the lobe lift that every valve should have: as written, or the top of its table."""
    written = setup.column("lobe", "lift")
    value, uncertainty, source = written.value.copy(), written.uncertainty.copy(), list(written.source)
    for index, train in enumerate(setup.trains):
        if np.isnan(value[index]):
            curve = lobe_curve(train.lobe)
            if curve is not None:
                value[index] = curve.max_lift
                uncertainty[index] = curve.lift_doubt(curve.peak_angle)
                source[index] = train.lobe.table.source if train.lobe.table else "the lobe's law"
    return Column(value, uncertainty, tuple(source))


def height_over_tip(rows: Rows) -> FloatArray:
    """Shaft axis above each valve's own closed tip [m]."""
    reference = rows["shaft.reference_stem_height"]
    raised = rows["valve.stem_height"] - reference
    return np.asarray(rows["shaft.height"] - np.where(np.isnan(reference), 0.0, raised))
