"""Samples, their results and small readers of plots, shared by the tests of plots and of what they show."""

import functools
from typing import Any

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure

from tests.engine_folders import engine_folder
from valvetrain.questions.center.study import centering_study
from valvetrain.questions.events.lift_path import lift_path_study
from valvetrain.questions.events.study import events_study
from valvetrain.questions.rocker.positions import rocker_positions_study
from valvetrain.questions.rocker.study import rocker_study
from valvetrain.questions.spring.study import spring_study
from valvetrain.setup.read import read_setup
from valvetrain.setup.setup import Setup

# Exact by definition: the international inch and pound-force (NIST SP 811, memory).
UNIT = {
    "inch": {"length": 0.0254, "force": 4.4482216152605},
    "metric": {"length": 1e-3, "force": 1.0},
}


@functools.cache
def setup_of(sample: str) -> Setup:
    return read_setup(engine_folder(sample))


@functools.cache
def result_of(sample: str, study: str) -> Any:
    setup = setup_of(sample)
    if study == "rocker":
        return rocker_study(setup)
    if study == "events":
        return events_study(setup)
    if study == "path":
        return lift_path_study(setup)
    rocker = result_of(sample, "rocker")
    studies = {"positions": rocker_positions_study, "center": centering_study, "spring": spring_study}
    return studies[study](setup, rocker)


def line_of(ax: Axes, label: str) -> np.ndarray:
    """The points [n, 2] of the only line of that label."""
    (line,) = [each for each in ax.lines if each.get_label() == label]
    return np.asarray(line.get_xydata())


def words_of(ax: Axes) -> str:
    """All that is written in and above a panel."""
    inside = [each.get_text() for each in ax.texts]
    return "\n".join([ax.get_title("left"), ax.get_title("right"), *inside])


def own_figure(ax: Axes) -> Figure:
    figure = ax.figure
    assert isinstance(figure, Figure)
    return figure
