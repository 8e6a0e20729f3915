"""The elastic train written again, plainly, for a general-purpose integrator: the second route of the tests.

Forces with max(0, .) straight from Newton's law in physical units (kg, m, s), one train, one speed.
"""

import numpy as np
from scipy.integrate import solve_ivp


def reference(
    train, lift, velocity, cam_speed, cycles, modes=2, rtol=1e-6, atol=None, events=True, t_eval=None
):
    """solve_ivp (LSODA) over some cycles; lift(angle), velocity(angle) per cam radian, angle 0 half a turn
    before the nose. Returns the solution; its rows are [3 + modes places, their velocities]."""
    t = {k: float(np.asarray(v)) for k, v in vars(train).items()}
    free = 3 + modes
    mass = np.zeros((free, free))
    mass[0, 0], mass[1, 1] = t["tappet_mass"], t["rocker_mass"]
    mass[2, 2] = t["valve_mass"] + t["spring_mass"] / 3
    mode = np.arange(1, modes + 1)
    stiff = t["spring_rate"] * (mode * np.pi) ** 2 / 2
    damp = 2 * t["spring_damping"] * np.sqrt(stiff * t["spring_mass"] / 2)
    for i in mode:
        mass[2 + i, 2 + i] = t["spring_mass"] / 2
        mass[2, 2 + i] = mass[2 + i, 2] = t["spring_mass"] * (-1) ** (i + 1) / (i * np.pi)
    inverse = np.linalg.inv(mass)
    seated = t["seat_load"] / t["seat_stiffness"]

    def gaps(time, y):
        return (
            lift(cam_speed * time) - y[0],
            y[0] - y[1],
            y[1] - t["lash"] - y[2],
            seated - y[2],
        )

    def press(name, gap, rate):
        return max(0.0, t[name + "_stiffness"] * gap + t[name + "_damping"] * rate) if gap > 0 else 0.0

    def slope(time, y):
        v = y[free:]
        gap = gaps(time, y)
        lobe = press("lobe", gap[0], cam_speed * velocity(cam_speed * time) - v[0])
        rod = press("pushrod", gap[1], v[0] - v[1])
        tip = press("tip", gap[2], v[1] - v[2])
        seat = press("seat", gap[3], -v[2])
        force = np.empty(free)
        force[0] = lobe - rod - t["tappet_weight"]
        force[1] = rod - tip - t["rocker_weight"]
        force[2] = tip + seat - t["seat_load"] - t["spring_rate"] * y[2] - t["guide_damping"] * v[2]
        force[3:] = -stiff * y[3:free] - damp * v[3:]
        return np.concatenate([v, inverse @ force])

    watch = [lambda time, y, i=i: gaps(time, y)[i] for i in range(4)] if events else None
    start = np.zeros(2 * free)
    start[0] = -(t["tappet_weight"] + t["rocker_weight"]) / t["lobe_stiffness"]
    start[1] = start[0] - t["rocker_weight"] / t["pushrod_stiffness"]
    span = 2 * np.pi / cam_speed
    if atol is None:
        atol = np.r_[np.full(free, rtol * 1e-2), np.full(free, rtol * 1e-2 * 1e3)]
    return solve_ivp(
        slope,
        (0.0, cycles * span),
        start,
        method="LSODA",
        rtol=rtol,
        atol=atol,
        events=watch,
        t_eval=t_eval,
        max_step=span / 200,
    )
