"""A train cut free link by link: forces by numpy from the motion that the lobe asks for (derived)."""

import numpy as np
from scipy.interpolate import CubicSpline
from scipy.optimize import minimize_scalar

from .engine import DEG


class Train:
    """One rocker's motion over cam angle, and the forces in it."""

    def __init__(self, model, lobe, seat, rate, masses=(0.0, 0.0, 0.0), friction=0.0):
        self.model, self.lobe = model, lobe
        grid = np.linspace(0.0, lobe.height, 121)
        angles = np.array([model.angle(s) for s in grid])
        self.phi = CubicSpline(grid, angles)
        self.drop = CubicSpline(grid, [self.model.lash - self.model.pad(p)[1] for p in angles])
        self.seat, self.rate, self.friction = seat, rate, friction
        self.valve_side, self.inertia, self.follower = masses

    def forces(self, theta, cam_speed):
        """Tip, side, rod, lobe and shaft force at one cam angle, and the contact's place."""
        m = self.model
        s, v, a = (float(x) for x in self.lobe.curves(theta))
        phi, phi1, phi2 = (float(self.phi(s, k)) for k in range(3))
        turning = cam_speed**2 * (phi1 * a + phi2 * v * v)
        falling = cam_speed**2 * (float(self.drop(s, 1)) * a + float(self.drop(s, 2)) * v * v)
        lift = float(self.drop(s)) - m.lash
        tip = self.seat + self.rate * lift + self.valve_side * falling if lift > 0 else 0.0
        contact = np.array([m.pad_arm * np.cos(phi) - m.setback, -lift, 0.0])
        # The pad turns with the rocker and rolls nothing: its lowest point slides along +x with the turn.
        below = m.pad_arm * np.sin(phi) - m.pad_radius
        slides = -phi1 * v * below
        side = self.friction * max(tip, 0.0) * (np.sign(slides) if abs(slides) > 1e-9 else 0.0)
        travel = m.closed()[1]
        upper, lower = m.balls(phi, travel + s)
        rod = (upper - lower) / np.linalg.norm(upper - lower)
        shaft = np.array([-m.setback, m.height, 0.0])
        on_rocker = np.array([-side, tip, 0.0])
        arm = np.array([m.pad_arm * np.cos(phi), below, 0.0])
        # About the shaft: inertia x turning = moment of the tip's force + push x moment of the rod's
        # direction.
        push = (self.inertia * turning - np.cross(arm, on_rocker)[2]) / np.cross(upper - shaft, rod)[2]
        bore = np.array([-np.sin(m.tappet_angle), np.cos(m.tappet_angle), 0.0])
        lobe = push * (rod @ bore) + self.follower * cam_speed**2 * a
        return {"tip": tip, "side": side, "cup": push, "lobe": lobe, "shaft": on_rocker + push * rod,
                "contact": contact, "v": v, "lift": lift, "turn": phi1 * v, "slides": slides,
                "rise": s, "a": a}  # fmt: skip

    def least(self, speed):
        """Least force of lobe on tappet over the nose at a crank speed, and where on the cam."""
        at = np.linspace(-60 * DEG, 60 * DEG, 161)
        force = lambda t: self.forces(t, speed / 2)["lobe"]  # noqa: E731
        start = at[int(np.argmin([force(t) for t in at]))]
        found = minimize_scalar(
            force, bounds=(start - DEG, start + DEG), method="bounded", options={"xatol": 1e-6}
        )
        return found.fun, found.x

    def limit(self):
        """Crank speed at which the least force is zero: it falls straight with the square of the speed."""
        theta = np.linspace(-60 * DEG, 60 * DEG, 241)
        still = np.array([self.forces(t, 0.0)["lobe"] for t in theta])
        per = still - np.array([self.forces(t, 1.0)["lobe"] for t in theta])
        square = np.where(per > 0, still / np.where(per > 0, per, 1.0), np.inf)
        k = int(np.argmin(square))

        def speed(t):
            at_rest = self.forces(t, 0.0)["lobe"]
            return at_rest / (at_rest - self.forces(t, 1.0)["lobe"])

        found = minimize_scalar(
            speed, bounds=(theta[k - 1], theta[k + 1]), method="bounded", options={"xatol": 1e-7}
        )
        return 2 * np.sqrt(found.fun), found.x
