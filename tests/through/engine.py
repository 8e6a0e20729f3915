"""Invented one-cylinder engines as metric sheets, and the same dimensions [m, rad] for the models."""

from typing import Any

import numpy as np

from .linkage import Linkage

MM = 1e-3
DEG = np.pi / 180


def engine(seed: int = 0) -> dict[str, Any]:
    """A sheet's sections with every dimension drawn from the seed; one stand, one intake and one exhaust."""
    draw = np.random.default_rng(1000 + seed).uniform
    pad_arm, pad_radius, socket_arm = draw(32, 42), draw(8, 15), draw(21, 28)
    return {
        "sheet": {"title": f"Invented engine {seed}", "units": "metric"},
        "engine": {"cylinders": 1, "bore": 90.0, "stroke": 95.0, "rod_length": 160.0, "redline": 3200},
        "shaft": {
            "setback": pad_arm - draw(0.1, 0.6),
            "height": pad_radius - draw(3.0, 5.0),
            "diameter": 19.0,
            "stand_shim": 0.4,
            "stand_angle": draw(-6, 6),
        },
        "rocker": {
            "pad_arm": pad_arm,
            "pad_radius": pad_radius,
            "pad_width": 9.0,
            "socket_arm": socket_arm,
            "arm_angle": draw(165, 185),
            "nominal_ratio": 1.5,
            "thread_pitch": 1.0,
        },
        "pushrod": {"length": draw(160, 230), "splay": draw(0, 9), "outside_diameter": 8.0, "wall": 1.5},
        "adjuster": {"exposure": 6.0, "exposure_wanted": 5.0, "thread_length": 28.0, "boss_thickness": 11.0,
                     "locknut_height": 5.0},
        "tappet": {"kind": "flat", "setback": socket_arm * draw(0.9, 1.05), "angle": draw(-6, 10),
                   "face_diameter": 30.0, "crown_radius": 1500.0},
        "valve": {"stem_diameter": 9.0, "tip_chamfer": 0.6, "head_diameter": 38.0},
        "lobe": {"lift": draw(6.0, 7.5), "law": "cycloidal", "rise_angle": 62.0, "nose_dwell": 6.0,
                 "ramp_height": 0.35, "ramp_angle": 28.0, "base_radius": 16.0, "width": 14.0},
        "cam": {"intake_centerline": 108.0, "exhaust_centerline": 112.0},
        "lash": {"intake": draw(0.2, 0.4), "exhaust": draw(0.3, 0.5), "at": "valve", "state": "cold"},
        "spring": {"rate": 28.0, "free_length": 52.0, "solid_height": 24.0, "installed_height": 41.0,
                   "seat_load_target": 300.0, "retainer_to_seal": 14.0},
        "stock": {"stand_shims": [0.4, 0.8, 1.5]},
    }  # fmt: skip


def linkage_of(sheet: dict[str, Any], role: str = "intake", **changes: float) -> Linkage:
    """Dimensions of one role's rocker from the sheet [m, rad]."""
    shaft, rocker = sheet["shaft"], sheet["rocker"]
    values = {
        "setback": shaft["setback"] * MM,
        "height": shaft["height"] * MM,
        "pad_arm": rocker["pad_arm"] * MM,
        "pad_radius": rocker["pad_radius"] * MM,
        "socket_arm": rocker["socket_arm"] * MM,
        "arm_angle": rocker["arm_angle"] * DEG,
        "length": sheet["pushrod"]["length"] * MM,
        "splay": sheet["pushrod"].get("splay", 0.0) * MM,
        "tappet_setback": sheet["tappet"]["setback"] * MM,
        "tappet_angle": sheet["tappet"]["angle"] * DEG,
        "lash": sheet["lash"][role] * MM,
    }
    return Linkage(**{**values, **changes})
