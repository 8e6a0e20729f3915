"""What every sample's README says is planted, held against the command: those faults, and no other.

A README says "**Planted:** nothing." or gives a table: valves, fault, what a check says of it.
"""

from pathlib import Path

import pytest

SAMPLES = Path(__file__).parents[2] / "sample_geometry"

QUESTIONS = ("check", "wear", "oil")
WORDS = {"out", "unsure"}


def planted(readme):
    """Faults {(valve, check, verdict)} and the valves not measured, as a README states them."""
    _, mark, told = readme.partition("**Planted:**")
    assert mark, "the README does not say what is planted"
    if told.split()[0] == "nothing.":
        return set(), set()
    faults, blank = set(), set()
    rows = [line for line in told.splitlines() if line.startswith("|")][2:]
    assert rows, "the README names faults and lists none"
    for row in rows:
        valves, _, verdicts = (cell.strip() for cell in row.strip("|").split("|")[:3])
        names = valves.replace(",", " ").split()
        if verdicts == "not measured":
            blank.update(names)
            continue
        for each in verdicts.split(";"):
            *check, verdict = each.split()
            assert verdict in WORDS
            faults.update((name, "_".join(check), verdict) for name in names)
    return faults, blank


def found(document, folder):
    """Faults {(valve, check, verdict)} and the valves with a check unmeasured, over every question."""
    faults, blank = set(), set()
    for question in QUESTIONS:
        for check in document(question, folder)["checks"]:
            if check["verdict"] == "unmeasured":
                blank.add(check["valve"])
            elif check["verdict"] != "ok":
                faults.add((check["valve"], check["id"], check["verdict"]))
    return faults, blank


@pytest.mark.parametrize("folder", sorted(each.name for each in SAMPLES.iterdir() if each.is_dir()))
def test_a_readme_plants_what_is_found_and_no_other(folder, document):
    stated = planted((SAMPLES / folder / "README.md").read_text(encoding="utf-8"))
    assert found(document, SAMPLES / folder) == stated


def test_a_healthy_sample_s_verdicts_are_there(document):
    # "Nothing planted" is no claim where nothing was asked.
    asked = {check["id"] for name in QUESTIONS for check in document(name, SAMPLES / "pump_vee")["checks"]}
    assert {"sweep_width", "seat_load", "control_margin", "hot_lash"} <= asked
    assert {"lobe_edge_margin", "rocker_oil_share"} <= asked


def test_a_table_of_faults_is_read_by_the_word():
    rows = "| 1I, 2E | x | lobe wear out; taper unsure |\n| 3I | y | not measured |"
    table = f"**Planted:** this.\n\n| a | b | c |\n|-|-|-|\n{rows}"
    assert planted(table) == (
        {(v, *rest) for v in ("1I", "2E") for rest in (("lobe_wear", "out"), ("taper", "unsure"))},
        {"3I"},
    )
