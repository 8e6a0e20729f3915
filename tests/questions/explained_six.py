"""The sample six changed, and its explanations held against what its studies report."""

import math
import shutil

import pytest

from tests.engine_folders import engine_folder
from valvetrain.answers.explanation import explained
from valvetrain.questions.asking import asked
from valvetrain.questions.registry import explanations
from valvetrain.setup.read import read_setup

SIX = engine_folder("plain_six")


def six_with(tmp_path, changes):
    """Setup of a copy of the sample, (old, new) replaced once each in its sheet."""
    folder = tmp_path / "six"
    shutil.copytree(SIX, folder)
    sheet = folder / "setup.toml"
    text = sheet.read_text()
    for old, new in changes:
        assert text.count(old) == 1
        text = text.replace(old, new)
    sheet.write_text(text)
    return read_setup(folder)


def steps_give_what_is_reported(setup, name, results=None, without=()):
    """Hold every explanation of a question against the study at every valve; how many numbers are known.

    `results` are the studies', asked here where left out; `without`: quantities that are told in words only.
    """
    results = asked(setup, (name,)) if results is None else results
    seen = 0
    for (question, quantity), explanation in explanations().items():
        if question != name or quantity in without:
            continue
        for valve in setup.valves:
            answer = explained(setup, results, explanation, valve, "inch")
            if answer.explanation.steps or not math.isnan(answer.value):
                assert answer.evaluated == pytest.approx(answer.value, rel=1e-6, abs=1e-12, nan_ok=True)
            if answer.proof and not math.isnan(answer.value):
                assert answer.proof[-1].outcome == pytest.approx(0.0, abs=1e-8)
            seen += not math.isnan(answer.value)
    return seen
