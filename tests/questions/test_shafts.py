"""Each question says per shaft what is per shaft: the pump vee, an invented V8 on two shafts."""

import json

import pytest
from click.testing import CliRunner

from tests.questions.fit.two_shaft_engines import NAMES
from valvetrain_cli.main import main

SHEET = "sample_geometry/pump_vee"
LEFT = [f"{cylinder}{role}" for cylinder in range(1, 5) for role in "IE"]


@pytest.fixture(scope="module")
def said(request):
    root = request.config.rootpath

    def asked(command):
        result = CliRunner().invoke(main, [command, str(root / SHEET), "--json"])
        return json.loads(result.stdout)["results"]

    return {command: asked(command) for command in ("oil", "lash", "rocker")}


def test_the_oil_of_a_shaft_is_that_of_its_rockers(said):
    found = said["oil"]
    flow = {row["valve"]: row["rocker_flow"]["value"] for row in found["valves"]}
    share = {row["valve"]: row["rocker_share"]["value"] for row in found["valves"]}
    assert [one["shaft"] for one in found["shafts"]] == list(NAMES)
    assert found["shafts"][0]["valves"] == LEFT
    for one in found["shafts"]:
        assert one["flow"]["value"] == pytest.approx(sum(flow[valve] for valve in one["valves"]))
        assert one["worst"] == min(one["valves"], key=share.get)


def test_the_lash_of_a_shaft_grows_as_its_valves_do(said):
    found = said["lash"]
    growth = {row["valve"]: row["growth"]["value"] for row in found["valves"]}
    for one in found["shafts"]:
        for role, letter in (("intake", "I"), ("exhaust", "E")):
            own = [growth[valve] for valve in one["valves"] if letter in valve]
            assert min(own) <= one["growth"][role]["value"] <= max(own)


def test_the_stand_shim_is_planned_shaft_by_shaft(said):
    assert [one["name"] for one in said["rocker"]["shafts"]] == list(NAMES)
    assert said["rocker"]["shafts"][0]["valves"] == LEFT
