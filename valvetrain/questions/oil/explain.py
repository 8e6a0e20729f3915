"""How the numbers of the oil to the rockers come about."""

from collections.abc import Callable
from math import nan
from typing import Any

import numpy as np

from valvetrain.answers.explanation import Explanation, Plain
from valvetrain.setup.setup import Setup

__all__ = ["EXPLANATIONS"]

_FLOW = (
    "flows balanced at every joint (own derivation); pipes, orifices and thin gaps: White, Fluid Mechanics, "
    "chapter 6 (memory)"
)


def _oil(field: str, meaning: str, dimension: str) -> Plain:
    """Return a property of the oil at its temperature."""

    def pick(setup: Setup, result: Any, index: int) -> float:
        return float(getattr(result.oil, field))

    return Plain("oil", meaning, dimension, pick, "oil of [oil] at its temperature, see `oil`")


def _gallery(setup: Setup, result: Any, index: int) -> float:
    return nan if setup.oil.gallery_pressure is None else setup.oil.gallery_pressure.value


def _gallery_at(setup: Setup, index: int) -> str:
    given = setup.oil.gallery_pressure
    return given.source if given else "not in the sheet, oil.gallery_pressure"


def _case(value: Callable[[Any], float]) -> Callable[[Setup, Any, int], float]:
    """Return a number of the case that the verdicts are on: the engine as built."""

    def pick(setup: Setup, result: Any, index: int) -> float:
        found = (case for case in result.cases if case.layout == "as built" and case.condition == result.now)
        return next((value(case) for case in found), nan)

    return pick


def _best(setup: Setup, result: Any, index: int) -> float:
    """Flow of the best fed rocker, as built and new."""
    return float(np.nanmax(result.cases[0].flow)) if result.cases else nan


_KNOWN: dict[str, str | Plain] = {
    "p0": Plain("oil", "pressure in the gallery", "oil_pressure", _gallery, _gallery_at),
    "nu": _oil("kinematic", "kinematic viscosity", "viscosity"),
    "rho": _oil("density", "density", "density"),
    "Q": Plain("oil", "oil that all passages take together", "flow", _case(lambda case: case.fed)),
}
_SOLVED = (
    "Found by Newton's method on all passages of the table together: at every joint as much flows out as in, "
    "and on every passage the pressures at its ends differ by its drop: a pipe's by its Reynolds number, a "
    "hole's by the square of its flow, a gap's by its flow. Known are the sizes in the table, the "
    "gallery's pressure p0, and nought in the open air."
)

EXPLANATIONS = (
    Explanation(
        "rocker_pressure",
        "oil",
        "oil pressure where the rocker's own passage begins",
        {**_KNOWN, "q": "oil:rocker_flow"},
        (),
        _FLOW,
        _SOLVED,
    ),
    Explanation(
        "rocker_flow",
        "oil",
        "oil that reaches the rocker",
        {**_KNOWN, "p": "oil:rocker_pressure"},
        (),
        _FLOW,
        f"Sum of what passes the rocker's own drillings, or without any its bore's leak. {_SOLVED}",
    ),
    Explanation(
        "rocker_share",
        "oil",
        "oil that reaches the rocker over that of the best fed one, as built and new",
        {
            "q": "oil:rocker_flow",
            "B": Plain("oil", "flow of the best fed rocker, as built and new", "flow", _best),
        },
        (("rocker_share", "q/B"),),
        "definition",
        "",
        "rocker_oil_share",
    ),
)
