"""Small invented sheets for the tests of cam events: one cylinder, lobes of one's own choice."""

from pathlib import Path

import numpy as np

ENGINE = """
[sheet]
title = "test engine (invented)"
units = "metric"

[engine]
cylinders = 1
bore = 90
stroke = 88.392
rod_length = 144.78
redline = 4000
"""

# The linkage of an invented rocker near 1.5 to 1.
LINKAGE = """
[shaft]
setback = 30.0
height = 8.0

[rocker]
pad_arm = 30.5
pad_radius = 12.0
socket_arm = 20.3
arm_angle = 172.0
nominal_ratio = 1.5
thread_pitch = 1.0

[pushrod]
length = 240.0

[tappet]
setback = 20.0
angle = 0.0
"""
NOMINAL = """
[rocker]
nominal_ratio = "1.5 +/- 0"
thread_pitch = 1.0
"""
LAW = """
[lobe]
law = "cycloidal"
lift = 6.6
rise_angle = 60
"""
CAM = """
[cam]
intake_centerline = 108
exhaust_centerline = 112
"""


def sheet(folder: Path, *parts: str, lash: str = "0.4", state: str = "cold") -> Path:
    """Write a sheet of these parts and return its folder."""
    both = "\n".join(f'{role} = "{lash} +/- 0 mm"' for role in ("intake", "exhaust"))
    text = "\n".join((ENGINE, *parts, f'[lash]\n{both}\nat = "valve"\nstate = "{state}"\n'))
    folder.mkdir(exist_ok=True)
    (folder / "setup.toml").write_text(text)
    return folder


def lift_table(path: Path, angle: np.ndarray, lift: np.ndarray, header: str) -> None:
    """Write a lift table: angles in degrees, lifts in millimeters."""
    rows = [f"{a:.10g},{value:.12g}" for a, value in zip(angle, lift, strict=True)]
    path.write_text("\n".join([header, *rows]) + "\n")
