"""Valve control by every way: masses weighed and estimated, sets of springs, a train that never leaves."""

import pytest

from tests.questions.explained_six import SIX, six_with, steps_give_what_is_reported
from valvetrain.answers.explanation import explained
from valvetrain.questions.asking import asked
from valvetrain.questions.registry import explanations
from valvetrain.setup.read import read_setup

SIZES = (
    "[masses]\nvalve_length = 4.6\nretainer_hub = 0.62\ntappet_diameter = 0.9\ntappet_length = 2.0\n"
    "tappet_wall = 0.1\ntappet_face = 0.2\nrocker_mass = 0.300\n"
)
WEIGHED = (
    "[masses]\nretainer_mass = 0.044\nkeeper_mass = 0.010\nspring_mass = 0.130\ntappet_mass = 0.190\n"
    "rocker_mass = 0.300\n"
)
FORMED = SIZES.replace(
    "rocker_mass = 0.300", "rocker_height = 0.5\nrocker_width = 0.4\nrocker_hub_width = 1.0"
)
INNER = """
[inner_spring]
wire_diameter = 0.10
coil_diameter = 0.65
active_coils = 6.0
free_length = 1.9
material = "music"
solid_height = 0.9
"""
WAYS = {
    "weighed": [],
    "estimated": [(WEIGHED, SIZES), ("mass = 0.215\n", ""), ("mass = 0.190\n\n[spring]", "\n[spring]")],
    "rocker by its sizes": [(WEIGHED, FORMED)],
    "inertia given": [("rocker_mass = 0.300", "rocker_inertia = 0.09")],
    "set of springs": [(WEIGHED, SIZES), ("[tables]", INNER + "\n[tables]")],
    "share of the spring": [("[control]\n", "[control]\nspring_share = 0.4\n")],
    "ratio by a dial": [('arm_angle = "172.0 +/- 0.4"\n', "")],
    "redline far below": [("redline = 3800", "redline = 300")],
}


@pytest.mark.parametrize("way", WAYS)
def test_steps_give_what_the_study_reports(way, tmp_path):
    assert steps_give_what_is_reported(six_with(tmp_path, WAYS[way]), "control") > 200


def test_gains_are_told_as_what_they_are(tmp_path):
    setup = read_setup(SIX)
    results = asked(setup, ("control",))
    gain = explained(setup, results, explanations()["control", "gain_by_rate"], "1I", "inch")
    assert "not worked out again" in gain.explanation.note
    nose = explained(setup, results, explanations()["control", "nose_load_by_rate"], "1I", "inch")
    assert "exact" in nose.explanation.note
