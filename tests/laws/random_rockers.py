"""Invented shaft rockers, spread wider than engines are built, for tests over many geometries."""

import numpy as np


def random_rockers(count, seed):
    """Keyword arguments of `closed_position`, each of shape [count], and a full tappet lift [count]."""
    draw = np.random.default_rng(seed).uniform
    pad_radius = draw(0.005, 0.020, count)
    pad_arm = draw(0.028, 0.050, count)
    socket_arm = draw(0.018, 0.034, count)
    geometry = {
        "setback": pad_arm + draw(-0.002, 0.001, count),
        "height": pad_radius - draw(-0.003, 0.012, count),
        "pad_arm": pad_arm,
        "pad_radius": pad_radius,
        "socket_arm": socket_arm,
        "arm_angle": np.radians(draw(160.0, 200.0, count)),
        "lash": draw(0.0, 0.0008, count),
        "pushrod_planar_length": draw(0.12, 0.30, count),
        "tappet_setback": socket_arm * draw(0.8, 1.15, count),
        "tappet_angle": np.radians(draw(-8.0, 15.0, count)),
    }
    return geometry, draw(0.005, 0.010, count)


def one(geometry, row):
    """Row of a geometry as plain floats."""
    return {name: float(values[row]) for name, values in geometry.items()}
