"""The rubbing pairs by every way: faces crowned, flat or hollow, taper read or given, rollers."""

import pytest

from tests.questions.explained_six import SIX, six_with, steps_give_what_is_reported
from valvetrain.answers.explanation import explained
from valvetrain.questions.asking import asked
from valvetrain.questions.registry import explanations
from valvetrain.setup.read import read_setup

CONTACT = "[contact]\n"
CROWN = 'crown_radius = "66 +/- 3"\n'
READ = 'taper_front = 0.0000\ntaper_rear = "0.0007 +/- 0.00004"\ntaper_distance = 0.45\n'
TAPER = "width = 0.62\n\n[lobe.exhaust]"
WAYS = {
    "as it is": [],
    "flat on a taper": [(CROWN, ""), (CONTACT, CONTACT + 'face_form = "flat"\n')],
    "flat without taper": [(CROWN, ""), (READ, ""), (CONTACT, CONTACT + 'face_form = "flat"\n')],
    "hollow": [(CONTACT, CONTACT + 'face_form = "hollow"\n')],
    "crown by its rise": [(CROWN, ""), (CONTACT, CONTACT + "crown_rise = 0.0018\ncrown_span = 0.98\n")],
    "crown by gaps": [
        (CROWN, ""),
        (CONTACT, CONTACT + "crown_gap_1 = 0.0018\ncrown_gap_2 = 0.0020\ncrown_span = 0.98\n"),
    ],
    "crown not measured": [(CROWN, "")],
    "taper not measured": [(READ, "")],
    "taper given, bore leans": [
        (READ, 'bore_lean = "0.05 deg"\n'),
        (TAPER, "width = 0.62\ntaper = -0.001\n\n[lobe.exhaust]"),
    ],
    "edge cuts the contact": [
        (TAPER, "width = 0.30\n\n[lobe.exhaust]"),
        ('crown_radius = "66 +/- 3"', "crown_radius = 200"),
    ],
    "own friction": [(CONTACT, CONTACT + "friction = 0.12\nseat_friction = 0.05\nlobe_poisson = 0.30\n")],
    "roller tip": [('tip = "pad"', 'tip = "roller"')],
    "roller tappet": [('kind = "flat"', 'kind = "roller"')],
    "clearances": [
        (CONTACT, CONTACT + "bushing_bore = 0.8765\nshaft_at_rocker = 0.8743\nstem_in_guide = 0.0025\n"),
    ],
    "no redline": [("redline = 3800\n", "")],
}


@pytest.mark.parametrize("way", WAYS)
def test_steps_give_what_the_study_reports(way, tmp_path):
    assert steps_give_what_is_reported(six_with(tmp_path, WAYS[way]), "wear") > 100


@pytest.mark.parametrize(
    ("name", "words"),
    [
        ("wear.rotation_arm", "same at every angle"),
        ("wear.shaft_severity", "not the greatest of each"),
        ("oil.rocker_share", "best fed"),
    ],
)
def test_words_say_what_is_worked_out(name, words):
    told = explanations()[tuple(name.split("."))]
    setup = read_setup(SIX)
    answer = explained(setup, asked(setup, ("wear", "oil")), told, "1I", "inch")
    assert words in f"{answer.explanation.doc} {answer.explanation.note}"
