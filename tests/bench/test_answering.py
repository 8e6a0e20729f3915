"""After a change only what depends on it is asked anew, and the answers are those of asking everything."""

import random

import numpy as np
import pytest

from tests.engine_folders import engine_folder
from valvetrain.bench.answering import Answering
from valvetrain.questions.compare.study import answers
from valvetrain.questions.registry import question
from valvetrain.setup.editing.changed import changed
from valvetrain.setup.editing.differences import differences
from valvetrain.setup.editing.place import described_as, place_of
from valvetrain.setup.faults import SheetError
from valvetrain.setup.read import read_setup
from valvetrain.setup.schema import SECTIONS
from valvetrain.setup.setup import Setup

COLUMNS = (
    "offset",
    "end_clearance",
    "stem_height",
    "installed_height",
    "solid_height",
    "lash",
    "lobe_lift",
    "exposure",
)


def said(found, setup):
    """What the answers say, as JSON would."""
    return {
        name: (question(name).document(found.results[name], setup.units), [vars(each) for each in own])
        for name, own in found.checks.items()
    }


def must_be_the_same(one, other):
    if isinstance(one, dict):
        assert one.keys() == other.keys()
        for key in one:
            must_be_the_same(one[key], other[key])
    elif isinstance(one, list | tuple):
        assert len(one) == len(other)
        for first, second in zip(one, other, strict=True):
            must_be_the_same(first, second)
    elif isinstance(one, float | np.floating):
        assert one == other or (one != one and other != other)
    else:
        assert one == other


def every_key(setup: Setup):
    """Every quantity that the sheet gives: keys of its sections, and cells of every column."""
    found = []
    for section in SECTIONS:
        part = getattr(setup, section, None) or getattr(setup.trains[0], section, None)
        for name in vars(part) if part is not None and section not in ("lash", "instruments") else ():
            key = f"{section}.{name}"
            spec = described_as(place_of(key))
            value = getattr(part, name)
            if spec is not None and spec.dimension and not spec.many and value is not None:
                found.append((key, value.value, spec.dimension))
    for column in COLUMNS:
        found += [(f"{valve}.{column}", None, "") for valve in setup.valves[:4]]
    return found


@pytest.mark.parametrize("name", ["plain_six", "faulted_six"])
def test_the_same_as_asking_everything(name):
    setup = read_setup(engine_folder(name))
    answering = Answering()
    answering.answers(setup, setup.units)
    rng = random.Random(7)
    tried = reached = 0
    keys = every_key(setup)
    while tried < 24:
        key, value, dimension = rng.choice(keys)
        if value is None:
            written = None if rng.random() < 0.5 else "0.0200" if key.endswith(("lash", "exposure")) else None
        else:
            from valvetrain.setup.units import from_si

            written = f"{from_si(value, dimension, setup.units) * (1 + 1e-4 * rng.random()):.8g}"
        try:
            other = changed(setup, {key: written})
        except SheetError:
            continue
        if not differences(setup, other):
            continue
        tried += 1
        found = answering.answers(other, setup.units)
        reached += len(answering.asked)
        must_be_the_same(said(found, other), said(answers(other, setup.units), other))
        if rng.random() < 0.5:
            setup = other
        else:
            answering.answers(setup, setup.units)
    assert reached < 24 * 9 * 0.75  # it does spare asking


@pytest.mark.parametrize(
    ("values", "anew"),
    [
        ({"3E.installed_height": "1.62"}, {"spring", "pushrod", "control"}),
        ({"3E.offset": "0.01"}, {"center"}),
        ({"piston.intake.relief_depth": "0.062"}, {"clearance"}),
        ({"limits.seat_load.low": "70"}, {"spring"}),
        ({"sheet.title": "Another"}, set()),
        ({"oil.temperature": "200 degF"}, set()),
    ],
)
def test_what_is_asked_anew(values, anew):
    setup = read_setup(engine_folder("plain_six"))
    answering = Answering()
    answering.answers(setup, "inch")
    answering.answers(changed(setup, values), "inch")
    asked = set(answering.asked)
    assert anew <= asked
    # what builds on a result that was made anew may follow, and two that take the setup whole
    assert asked <= anew | ({"pushrod", "control"} if "spring" in anew else set()) | {"events", "clearance"}


def test_an_engine_with_other_valves_is_asked_whole():
    answering = Answering()
    answering.answers(read_setup(engine_folder("plain_six")), "inch")
    twin = read_setup(engine_folder("pump_twin"))
    found = answering.answers(twin, "metric")
    must_be_the_same(said(found, twin), said(answers(twin, "metric"), twin))
