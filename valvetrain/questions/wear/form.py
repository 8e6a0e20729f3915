"""The slow contact at the nose, the form of lobe and face, and measured wear, each with its uncertainty."""

from collections.abc import Mapping

import numpy as np

from valvetrain.answers.quantity import Quantity, computed
from valvetrain.mechanics.arrays import FloatArray
from valvetrain.mechanics.contact.hertz import crowned_tappet_on_lobe
from valvetrain.questions.record.measured_wear import (
    FORM_KEYS,
    bushing_clearance,
    crown_curvature,
    taper_slope,
)
from valvetrain.questions.rocker.study import RockerResult
from valvetrain.questions.spring.study import SpringResult
from valvetrain.questions.wear.contact_motion import ContactMotion
from valvetrain.questions.wear.lobe_contact import contact_modulus
from valvetrain.setup.setup import Column, Setup

__all__ = ["wear_form"]

_FORM = {
    "nose_load": "force",
    "nose_stress": "pressure",
    "crown_radius": "length",
    "lobe_taper": "length",
    "rotation_arm": "length",
    "lobe_edge_margin": "length",
    "tappet_hardness": "rockwell",
    "bore_clearance": "length",
    "stem_in_guide": "length",
}


def wear_form(
    setup: Setup, rocker: RockerResult, spring: SpringResult, motion: ContactMotion, form: FloatArray
) -> dict[str, Quantity]:
    """Compute them at every valve.

    `form` is the sign of each tappet's crown, see `measured_wear.face_forms`.
    """
    full = int(np.abs(motion.angle).argmin())
    second = motion.curves.tappet_acceleration[:, full]
    count = len(setup.valves)
    inputs = {key: setup.column(*key.split(".")) for key in FORM_KEYS}
    inputs |= {
        "lobe.base_radius": setup.column("lobe", "base_radius"),
        "contact.bore_offset": setup.column("contact", "bore_offset"),
        "contact.tappet_hardness": setup.column("contact", "tappet_hardness"),
        "contact.stem_in_guide": setup.column("contact", "stem_in_guide"),
        "rocker.bore_clearance": bushing_clearance(setup),
        "spring.open_load": _as_column(spring.open_load, "the spring study"),
        "ratio at full lift": _as_column(rocker.ratio_at_full_lift, "the rocker study"),
        "lobe lift": _as_column(rocker.lobe_lift, "the lobe"),
        "acceleration at the nose": Column(
            second, np.abs(second) * motion.shapes.doubt, ("the lobe's curve",) * count
        ),
        "contact modulus": Column(
            contact_modulus(setup), 0.05 * np.nan_to_num(contact_modulus(setup)), ("materials",) * count
        ),
    }
    offset = inputs["contact.bore_offset"]
    # A bore whose offset was not measured is taken over the lobe's middle.
    inputs["contact.bore_offset"] = Column(np.nan_to_num(offset.value), offset.uncertainty, offset.source)

    def quantities(rows: Mapping[str, FloatArray]) -> dict[str, FloatArray]:
        with np.errstate(divide="ignore", invalid="ignore"):
            crown = 1 / crown_curvature(rows, form)
        slope = taper_slope(rows)
        flat = np.isinf(crown)
        with np.errstate(over="ignore"):  # a face as good as flat
            reach = np.where(flat, rows["contact.bore_offset"], slope * np.where(flat, 0.0, crown))
        middle = np.where(flat, 0.0, reach - rows["contact.bore_offset"])
        load = rows["spring.open_load"] * rows["ratio at full lift"]
        radius = rows["lobe.base_radius"] + rows["lobe lift"] + rows["acceleration at the nose"]
        touch = crowned_tappet_on_lobe(
            load=load,
            lobe_radius=np.where(radius == 0, np.nan, radius),
            crown_radius=crown,
            lobe_width=rows["lobe.width"],
            modulus=rows["contact modulus"],
            contact_offset=np.nan_to_num(middle),
        )
        half = np.where(flat, 0.0, touch.uncut_half_length)
        margin = 0.5 * rows["lobe.width"] - np.abs(middle) - half
        return {
            "nose_load": load,
            "nose_stress": touch.pressure,
            "crown_radius": np.where(flat, np.nan, crown),
            "lobe_taper": np.abs(np.tan(slope) * rows["lobe.width"]),
            "rotation_arm": np.abs(reach),
            "lobe_edge_margin": np.where(flat, np.nan, margin),
            "tappet_hardness": rows["contact.tappet_hardness"],
            "bore_clearance": rows["rocker.bore_clearance"],
            "stem_in_guide": rows["contact.stem_in_guide"],
        }

    return computed(quantities, inputs, _FORM)


def _as_column(quantity: Quantity, source: str) -> Column:
    return Column(quantity.value, np.nan_to_num(quantity.uncertainty), (source,) * len(quantity.value))
