"""Exact derivatives of the linkage against finite differences of the numerical one, on random geometries."""

import numpy as np
import pytest

from valvetrain.mechanics.rocker.linkage import closed_position, swung
from valvetrain.mechanics.uncertainty.propagation import propagated
from valvetrain.questions.fit.linkage_partials import (
    OUTPUTS,
    PARAMETERS,
    linkage_partials,
    linkage_propagated,
)

LIFT = np.linspace(0.0, 7.0e-3, 8)


def geometries(count, seed=1):
    """Invented, wide around what is built."""
    generator = np.random.default_rng(seed)
    low_high = {
        "setback": (30e-3, 45e-3),
        "height": (0.0, 14e-3),
        "pad_arm": (32e-3, 44e-3),
        "pad_radius": (6e-3, 16e-3),
        "socket_arm": (20e-3, 30e-3),
        "arm_angle": (2.6, 3.2),
        "lash": (0.0, 0.6e-3),
        "pushrod_planar_length": (0.15, 0.28),
        "tappet_setback": (18e-3, 32e-3),
        "tappet_angle": (-0.2, 0.3),
    }
    return {name: generator.uniform(*low_high[name], count) for name in PARAMETERS}


def numerical(parameters, lift):
    swing = swung(closed_position(**parameters), lift)
    return {name: getattr(swing, name) for name in OUTPUTS}


@pytest.mark.parametrize("name", [*PARAMETERS, "tappet_lift"])
def test_against_finite_differences(name):
    parameters = geometries(200)
    lift = np.broadcast_to(LIFT, (200, LIFT.size)) + 1e-4
    exact = linkage_partials(parameters, lift)
    assert np.mean(np.isnan(exact.value["pad_drop"])) < 0.02
    # Fourth-order central differences; the step is large enough for rounding to stay below 1e-8.
    step = 1e-4 * (1.0 if "angle" in name else 0.05)

    def moved(amount):
        if name == "tappet_lift":
            return numerical(parameters, lift + amount)
        return numerical(parameters | {name: parameters[name] + amount}, lift)

    tables = {amount: moved(amount * step) for amount in (-2, -1, 1, 2)}
    for output in OUTPUTS:
        one, two = tables[1][output] - tables[-1][output], tables[2][output] - tables[-2][output]
        expected = (8.0 * one - two) / (12.0 * step)
        found = exact.partial[output][name]
        both = ~np.isnan(expected) & ~np.isnan(found)
        assert both.mean() > 0.97
        largest = np.max(np.abs(expected[both]), initial=1e-3)
        assert found[both] == pytest.approx(expected[both], rel=1e-6, abs=1e-7 * largest)


def test_lift_derivative_of_the_drop_is_the_ratio():
    exact = linkage_partials(geometries(50, seed=2), LIFT)
    assert exact.partial["pad_drop"]["tappet_lift"] == pytest.approx(
        exact.value["ratio"], rel=1e-10, nan_ok=True
    )


def test_derivatives_known_beforehand():
    exact = linkage_partials(geometries(50, seed=3), LIFT)
    reachable = ~np.isnan(exact.value["pad_drop"])
    # Where the shaft stands sideways shifts the contact by as much the other way, and nothing else.
    assert np.all(exact.partial["contact_x"]["setback"][reachable] == -1.0)
    assert np.all(exact.partial["pad_drop"]["setback"][reachable] == 0.0)
    # Only pad_radius + lash - height counts for the pad.
    for output in OUTPUTS:
        height, radius, lash = (exact.partial[output][name] for name in ("height", "pad_radius", "lash"))
        assert radius == pytest.approx(-height, rel=1e-9, abs=1e-12, nan_ok=True)
        assert lash == pytest.approx(-height, rel=1e-9, abs=1e-12, nan_ok=True)


def test_uncertainty_agrees_with_the_numerical_propagation():
    parameters = geometries(20, seed=4)
    spread = {name: np.full(20, 2e-4 if "angle" in name else 2e-5) for name in PARAMETERS}
    exact = linkage_propagated(parameters, spread, np.array([5e-3]))
    moved = propagated(
        lambda inputs: {name: one[..., 0] for name, one in numerical(dict(inputs), np.array([5e-3])).items()},
        parameters,
        spread,
    )
    for output in OUTPUTS:
        assert exact.uncertainty[output][:, 0] == pytest.approx(
            moved.uncertainty[output], rel=1e-4, nan_ok=True
        )
        for name in PARAMETERS:
            assert exact.contributions[output][name][:, 0] == pytest.approx(
                moved.contributions[output][name], rel=1e-3, abs=1e-9, nan_ok=True
            )


def test_missing_parameter_is_named():
    parameters = geometries(1)
    del parameters["height"]
    with pytest.raises(ValueError, match="height"):
        linkage_partials(parameters, LIFT)


def test_unreachable_is_nan():
    parameters = geometries(1) | {"height": np.array([0.2])}
    result = linkage_partials(parameters, LIFT)
    assert np.all(np.isnan(result.partial["pad_drop"]["pad_arm"]))
