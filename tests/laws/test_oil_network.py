"""Oil network against closed forms of single passages, series and parallel, and its faults.

Closed forms: White, *Fluid Mechanics*, chapter 6 (memory). `fluids` (MIT, comes with `chemicals`) is an
independent source of Haaland's factor and of the laminar law.
"""

import fluids
import numpy as np
import pytest
from scipy.integrate import quad

from valvetrain.mechanics.oil.network import (
    ATMOSPHERE,
    AnnularLeak,
    Edge,
    Orifice,
    Pipe,
    solved_network,
)
from valvetrain.mechanics.oil.passages import darcy_factor, orifice_drop, pipe_drop

MU, RHO, GALLERY = 0.012, 850.0, 3.0e5


def solved(*edges: Edge, viscosity: float = MU, **fixed: float) -> object:
    return solved_network(edges, fixed or {"gallery": GALLERY}, viscosity=viscosity, density=RHO)


def test_hagen_poiseuille() -> None:
    found = solved(Pipe("gallery", ATMOSPHERE, 2e-3, 0.5))
    assert found.reynolds[0] < 2300
    assert found.flow[0] == pytest.approx(np.pi * 2e-3**4 * GALLERY / (128 * MU * 0.5), rel=1e-9)
    # Turned round, the same flow has the other sign.
    assert solved(Pipe(ATMOSPHERE, "gallery", 2e-3, 0.5)).flow[0] == pytest.approx(-found.flow[0])


def test_turbulent_pipe_with_bends() -> None:
    diameter, length, roughness, loss = 8e-3, 3.0, 5e-6, 2.5
    found = solved(Pipe("gallery", ATMOSPHERE, diameter, length, roughness, loss), viscosity=0.004)
    reynolds = float(found.reynolds[0])
    assert reynolds > 4000
    factor = fluids.friction.Haaland(Re=reynolds, eD=roughness / diameter)
    speed = reynolds * 0.004 / (RHO * diameter)
    drop = (factor * length / diameter + loss) * 0.5 * RHO * speed**2
    assert drop == pytest.approx(GALLERY, rel=1e-9)


def test_friction_factor_is_continuous_and_its_slope_right() -> None:
    for border in (2300.0, 4000.0):
        low, high = darcy_factor(np.array([border * (1 - 1e-9), border * (1 + 1e-9)]), np.full(2, 1e-3))[0]
        assert low == pytest.approx(high, rel=1e-7)
    reynolds, rough = np.array([50.0, 1500.0, 3000.0, 5e3, 1e5]), np.full(5, 2e-3)
    step = 1e-5 * reynolds
    numeric = (darcy_factor(reynolds + step, rough)[0] - darcy_factor(reynolds - step, rough)[0]) / (2 * step)
    np.testing.assert_allclose(darcy_factor(reynolds, rough)[1], numeric, rtol=1e-6)


def test_slopes_of_the_drops_and_rest() -> None:
    flow = np.array([-1e-4, -1e-6, 0.0, 1e-6, 1e-4])
    size = np.full(5, 6e-3)

    def pipe(q: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
        return pipe_drop(q, size, np.full(5, 0.3), np.zeros(5), np.full(5, 1.5), RHO, 0.004)

    def hole(q: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
        return orifice_drop(q, size, np.full(5, 0.6), RHO)

    for law in (pipe, hole):
        numeric = (law(flow + 1e-10)[0] - law(flow - 1e-10)[0]) / 2e-10
        np.testing.assert_allclose(
            law(flow)[1], numeric, rtol=1e-4, atol=200.0
        )  # the difference at rest is not zero
    assert pipe(flow)[0][2] == 0.0


def test_orifice() -> None:
    found = solved(Orifice("gallery", ATMOSPHERE, 1.5e-3, 0.62))
    area = np.pi / 4 * 1.5e-3**2
    assert found.flow[0] == pytest.approx(0.62 * area * np.sqrt(2 * GALLERY / RHO), rel=1e-9)


@pytest.mark.parametrize("eccentricity", [0.0, 0.4, 1.0])
def test_annulus_against_the_integral_over_the_gap(eccentricity: float) -> None:
    diameter, clearance, length = 20e-3, 40e-6, 12e-3
    found = solved(AnnularLeak("gallery", ATMOSPHERE, diameter, clearance, length, eccentricity))
    # Plane flow h^3/(12 mu L) through every bit of the circumference, h = c (1 + e cos t).
    cube = quad(lambda t: (clearance * (1 + eccentricity * np.cos(t))) ** 3, 0, 2 * np.pi)[0]
    assert found.flow[0] == pytest.approx(diameter / 2 * cube * GALLERY / (12 * MU * length), rel=1e-9)


def test_thin_annulus_is_near_the_exact_one() -> None:
    inner, clearance, length = 10e-3, 40e-6, 12e-3
    outer = inner + clearance
    exact = (
        np.pi / (8 * MU) * GALLERY / length
        * (outer**4 - inner**4 - (outer**2 - inner**2) ** 2 / np.log(outer / inner))
    )  # fmt: skip
    found = solved(AnnularLeak("gallery", ATMOSPHERE, 2 * inner, clearance, length))
    assert found.flow[0] == pytest.approx(exact, rel=0.005)


def test_series_and_parallel_laminar() -> None:
    def resistance(d: float, length: float) -> float:
        return 128 * MU * length / (np.pi * d**4)

    r1, r2, r3 = resistance(2e-3, 0.4), resistance(1.5e-3, 0.3), resistance(1e-3, 0.2)
    found = solved(
        Pipe("gallery", "shaft", 2e-3, 0.4),
        Pipe("shaft", ATMOSPHERE, 1.5e-3, 0.3),
        Pipe("shaft", ATMOSPHERE, 1e-3, 0.2),
    )
    both = 1 / (1 / r2 + 1 / r3)
    assert found.pressure["shaft"] == pytest.approx(GALLERY * both / (r1 + both), rel=1e-9)
    assert found.flow[0] == pytest.approx(GALLERY / (r1 + both), rel=1e-9)
    assert found.flow[0] == pytest.approx(found.flow[1] + found.flow[2], rel=1e-9)
    assert found.supply["gallery"] == pytest.approx(found.flow[0])
    assert found.supply[ATMOSPHERE] == pytest.approx(-found.flow[0])


def test_series_of_holes_and_a_balanced_bridge() -> None:
    found = solved(Orifice("gallery", "a", 2e-3, 0.6), Orifice("a", ATMOSPHERE, 1e-3, 0.6))
    # Drops share as 1/A^2: 1/16 to 1.
    assert found.pressure["a"] == pytest.approx(GALLERY * 16 / 17, rel=1e-9)
    bridge = solved(
        Orifice("gallery", "a", 2e-3, 0.6),
        Orifice("gallery", "b", 2e-3, 0.6),
        Orifice("a", "b", 1e-3, 0.6),
        Orifice("a", ATMOSPHERE, 1e-3, 0.6),
        Orifice("b", ATMOSPHERE, 1e-3, 0.6),
    )
    assert bridge.pressure["a"] == pytest.approx(GALLERY * 16 / 17, rel=1e-9)
    assert abs(bridge.flow[2]) < 1e-5 * bridge.flow[0]


def shaft(rockers: int, clearance: float) -> list[Edge]:
    edges: list[Edge] = [Pipe("gallery", "place 0", 3e-3, 0.25, loss=2.0)]
    for i in range(rockers):
        edges += [
            Pipe(f"place {i}", f"place {i + 1}", 12e-3, 0.04),
            Orifice(f"place {i}", f"rocker {i}", 2.5e-3, 0.65),
            AnnularLeak(f"rocker {i}", ATMOSPHERE, 22e-3, clearance, 10e-3, 0.5),
            Orifice(f"rocker {i}", ATMOSPHERE, 0.8e-3, 0.8),
        ]
    return edges


@pytest.mark.parametrize("viscosity", [1e-3, 0.01, 0.5])
def test_large_network_balances_at_every_place(viscosity: float) -> None:
    edges = shaft(100, 30e-6)
    found = solved(*edges, viscosity=viscosity)
    left = dict.fromkeys(found.pressure, 0.0)
    for edge, flow in zip(edges, found.flow, strict=True):
        left[edge.start] -= flow
        left[edge.end] += flow
        fall = found.pressure[edge.start] - found.pressure[edge.end]
        assert flow * fall >= -1e-12  # oil runs downhill
    scale = found.flow.max()
    assert len(found.pressure) >= 200
    assert max(abs(v) for name, v in left.items() if name not in ("gallery", ATMOSPHERE)) < 1e-10 * scale


def test_worn_bores_starve_the_far_rocker() -> None:
    new, worn = solved(*shaft(6, 25e-6)), solved(*shaft(6, 120e-6))
    assert worn.pressure["rocker 5"] < 0.5 * new.pressure["rocker 5"]
    assert worn.supply["gallery"] > new.supply["gallery"]


def test_a_joint_without_resistance_is_allowed_once() -> None:
    found = solved(Pipe("gallery", "a", 2e-3, 0.0), Pipe("a", ATMOSPHERE, 2e-3, 0.5))
    assert found.pressure["a"] == pytest.approx(GALLERY)
    assert found.flow[0] == pytest.approx(found.flow[1])


@pytest.mark.parametrize(
    ("edges", "fixed", "text"),
    [
        pytest.param(
            [Pipe("gallery", ATMOSPHERE, 1e-3, 1.0), Pipe("x", "y", 1e-3, 1.0)],
            {"gallery": 1e5},
            "x, y to a known pressure: an island",
            id="island",
        ),
        pytest.param(
            [
                Pipe("gallery", "a", 1e-3, 0.0),
                Pipe("a", "b", 1e-3, 0.0),
                Pipe("b", "gallery", 1e-3, 0.0),
                Pipe("b", ATMOSPHERE, 1e-3, 1.0),
            ],
            {"gallery": 1e5},
            "closes a loop without resistance",
            id="bare loop",
        ),
        pytest.param(
            [Pipe("gallery", ATMOSPHERE, 1e-3, 0.0)], {"gallery": 1e5}, "without resistance", id="short"
        ),
        pytest.param([Pipe("gallery", "a", 1e-3, 1.0)], {"gallery": 1e5}, "no drain", id="no drain"),
        pytest.param([Pipe("a", "b", 1e-3, 1.0)], {}, "known pressure", id="no pressure"),
        pytest.param(
            [Pipe("gallery", ATMOSPHERE, 1e-3, 1.0)],
            {"gallery": 1e5, "pump": 2e5},
            "'pump', but no passage meets it",
            id="unused",
        ),
        pytest.param([Pipe("a", "a", 1e-3, 1.0)], {"a": 1e5}, "same place", id="to itself"),
        pytest.param([Pipe("a", ATMOSPHERE, 0.0, 1.0)], {"a": 1e5}, "diameter is 0.0", id="diameter"),
        pytest.param(
            [AnnularLeak("a", ATMOSPHERE, 0.02, 1e-5, 0.01, 1.5)], {"a": 1e5}, "eccentricity", id="e"
        ),
        pytest.param([Orifice("a", ATMOSPHERE, 1e-3, 0.0)], {"a": 1e5}, "coefficient", id="coefficient"),
        pytest.param([], {"a": 1e5}, "no passages", id="empty"),
    ],
)
def test_faults_are_named(edges: list[Edge], fixed: dict[str, float], text: str) -> None:
    with pytest.raises(ValueError, match=text):
        solved_network(edges, fixed, viscosity=MU, density=RHO)


def test_negative_viscosity_is_named() -> None:
    with pytest.raises(ValueError, match=r"viscosity is -0\.01"):
        solved(Pipe("gallery", ATMOSPHERE, 1e-3, 1.0), viscosity=-0.01)
