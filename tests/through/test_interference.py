"""Interference: parts as prisms in a collision library (python-fcl), moved by scipy's root finder."""

import fcl
import numpy as np
import pytest
from scipy.optimize import brentq

from .answers import asked
from .engine import MM, engine, linkage_of
from .marks import checks
from .sheets import merged, written

THICK = 20.0  # mm, of the prisms


def prism(points):
    """A convex prism over a convex outline [mm]."""
    flat = np.asarray(points, float)
    n = len(flat)
    vertices = np.vstack([np.column_stack([flat, np.full(n, z)]) for z in (-THICK / 2, THICK / 2)])
    faces = [[n, *range(n)[::-1]], [n, *range(n, 2 * n)]]
    faces += [[4, k, (k + 1) % n, n + (k + 1) % n, n + k] for k in range(n)]
    return fcl.Convex(vertices, len(faces), np.concatenate(faces).astype(np.int32))


def turned(points, pivot, angle):
    c, s = np.cos(angle), np.sin(angle)
    return (np.asarray(points, float) - pivot) @ np.array([[c, s], [-s, c]]) + pivot


def between(one, other):
    """Distance [mm] of two convex outlines; -1 where they meet."""
    bodies = [fcl.CollisionObject(prism(each), fcl.Transform()) for each in (one, other)]
    request = fcl.DistanceRequest()
    return fcl.distance(*bodies, request, fcl.DistanceResult())


@pytest.mark.parametrize("seed", [0, 1, 2])
@checks(
    "interference.valves",
    "rocker_to_retainer rocker_to_retainer_at retainer_to_seal retainer_to_seal_at rocker_to_stand "
    "rocker_to_stand_at",
    by="python-fcl, prisms moved by scipy.optimize.brentq",
    status="other library",
)
def test_outlines_against_a_collision_library(tmp_path, seed):
    sheet = merged(engine(seed), shaft={"stand_angle": 0.0}, spring={"retainer_to_seal": None})
    model, full = linkage_of(sheet), sheet["lobe"]["lift"] * MM
    back, up = model.setback / MM, model.height / MM
    draw = np.random.default_rng(seed).uniform
    # Closed, from the tip: a wedge of a rocker over a sloping retainer, a seal below, a stand behind.
    nose, depth = draw(3, 5), draw(2, 4)
    parts = {
        "rocker": [(-back - 12, up - 7), (nose, 0.2), (nose + 2, 6), (-back - 12, up + 14)],
        "retainer": [(-13, -9 - depth), (13, -9 - depth), (12, -5 - depth), (-12, -5 - depth + draw(0, 1))],
        "seal": [(-6, -40), (6, -40), (5.5, -27.5 - draw(0, 2)), (-6, -28)],
        "stand": [
            (-back - 9, -50),
            (-back + 7, -50),
            (-back + 6, up - 18 - draw(0, 2)),
            (-back - 9, up - 17),
        ],
    }
    names = {name: f"{name}_outline" for name in parts}
    tables = {name: [{"x [mm]": x, "y [mm]": y} for x, y in points] for name, points in parts.items()}
    sheet["shapes"] = {key: f"{name}.csv" for name, key in names.items()}
    valve = asked("interference", written(tmp_path, sheet, **tables))["valves"].of(role="intake")

    pivot, net = np.array([-back, up]), model.drop(full) - model.lash
    start = model.closed()[0]

    def placed(lift, closed=False):
        drop = 0.0 if closed else model.lash + lift
        phi = brentq(lambda p: model.pad(p)[1] - model.lash + drop, start - 0.9, start + 0.05, xtol=1e-14)
        down = np.array([0.0, -(0.0 if closed else lift) / MM])
        return {
            "rocker": turned(parts["rocker"], pivot, phi - start),
            "retainer": np.array(parts["retainer"]) + down,
            "seal": np.array(parts["seal"], float),
            "stand": np.array(parts["stand"], float),
        }

    for pair in (("rocker", "retainer"), ("retainer", "seal"), ("rocker", "stand")):
        name = "_to_".join(pair)
        lifts = np.linspace(0.0, net, 121)
        gaps = [between(*(placed(lift)[each] for each in pair)) for lift in lifts]
        still = between(*(placed(0.0, closed=True)[each] for each in pair))
        least = min(min(gaps), still) * MM
        assert least > 0, name
        assert valve.si(name) == pytest.approx(least, abs=6e-6), name
        at = valve.si(f"{name}_at")
        there = min(between(*(placed(at)[each] for each in pair)), still if at == 0 else np.inf) * MM
        assert there == pytest.approx(least, abs=6e-6), name
