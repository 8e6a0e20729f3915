"""The command `control`: verdicts, what is missing, bad input, JSON, both unit systems, the page."""

import json
import re

import pytest

from tests.cli.test_bad_input import rejected
from tests.cli.test_contract import FACTOR, quantities, with_own_units

VALVE = {
    "valve",
    "role",
    "limit_speed",
    "limit_angle",
    "control_margin",
    "seat_load",
    "seat_load_needed",
    "nose_load",
    "gain_by_seat_load",
    "gain_by_rate",
    "gain_by_valve_side",
    "nose_load_by_seat_load",
    "lobe_from",
    "estimated",
    "missing",
}
LIMITS = {"lobe", "pushrod", "tip", "bounce"}
FACTORS = FACTOR | {
    "rpm": 1.0,
    "lbm": 453.59237,
    "lbm*in**2": 0.45359237 * 25.4**2,
    "lbf*in": 4.4482216152605 * 0.0254,
    "ft/s": 0.3048,
}


def rows(answer):
    return {row["valve"]: row for row in answer["results"]["valves"]}


def verdicts(answer, limit="control_margin"):
    return {check["valve"]: check["verdict"] for check in answer["checks"] if check["id"] == limit}


@pytest.mark.parametrize("name", ["plain_six", "pump_twin"])
def test_samples_are_under_control_to_their_redline(name, sample, document):
    answer = document("control", sample(name))
    assert set(verdicts(answer).values()) == {"ok"}
    redline = answer["results"]["redline"]["value"]
    for row in answer["results"]["valves"]:
        assert set(row) >= VALVE
        limit = row["limit_speed"]
        assert limit["value"] - 2 * limit["u"] > redline
        assert row["missing"] == []


def test_card_is_far_less_sure_than_a_table(sample, document):
    table = rows(document("control", sample("plain_six")))["1I"]
    card = rows(document("control", sample("pump_twin")))["1I"]
    assert (table["lobe_from"], card["lobe_from"]) == ("table", "card")
    share = [row["limit_speed"]["u"] / row["limit_speed"]["value"] for row in (table, card)]
    # The limit goes with the root of the acceleration, which a card of three lifts leaves open by 16 %.
    assert share[0] < 0.05 < 0.16 / 2 < share[1]


def test_coarse_table_says_so_and_widens_the_uncertainty(sample, document, run):
    folder = sample()
    fine = rows(document("control", folder))["1I"]["limit_speed"]
    path = folder / "intake_lobe.csv"
    lines = path.read_text().splitlines()
    path.write_text("\n".join([*lines[:2], *lines[2::3]]))
    coarse = rows(document("control", folder))["1I"]
    assert coarse["coarse"] is True
    assert coarse["limit_speed"]["u"] > 1.25 * fine["u"]
    assert "too coarse for accelerations (1I, 2I" in run("control", folder).stdout


def test_a_worn_lobe_is_said_to_be_scaled(sample, document, run):
    folder = sample("faulted_six")
    found = rows(document("control", folder))
    assert [valve for valve, row in found.items() if row["worn"]] == ["4I"]  # the lobe planted
    assert "Worn lobe (4I): taken as the whole lobe scaled down" in run("control", folder).stdout
    assert "Worn lobe" not in run("control", sample()).stdout


def test_a_spring_whose_rate_grows_is_said_to_be_taken_as_straight(sample, document, run, edited):
    """60 lbf + 180 x + 60 x^2 stays 60 L^2/4 below its chord at half lift L/2."""
    folder = sample()
    assert "whose rate grows" not in run("control", folder).stdout
    edited(folder / "setup.toml", ("[spring]", '[spring]\nkind = "progressive"'))
    lines = ["spring,height,load"]
    for number in range(1, 13):
        lines += [f"S{number},{1.7 - x},{60 + 180 * x + 60 * x * x}" for x in (0.0, 0.1, 0.2, 0.3, 0.4, 0.5)]
    (folder / "springs.csv").write_text("\n".join(lines))
    lift = {row["valve"]: row["net_lift"]["value"] for row in document("rocker", folder)["results"]["valves"]}
    bow = rows(document("control", folder))["3E"]["spring_bow"]
    assert bow["value"] == pytest.approx(60 * lift["3E"] ** 2 / 4, rel=1e-6)
    text = " ".join(run("control", folder).stdout.split())
    assert "Springs whose rate grows (1I, 1E, 2I" in text
    assert f"up to {60 * max(lift.values()) ** 2 / 4:.1f} lbf less" in text


def test_lobe_that_would_have_to_pull_is_said_to_be_left(sample, document, run):
    """At the limit without friction, friction takes what is left of the force."""
    folder = sample("pump_twin")
    least = [
        role["peaks"]["least_lobe"]["values"] for role in document("control", folder)["results"]["roles"]
    ]
    assert sum(value < 0 for role in least for value in role) == 2
    assert run("control", folder).stdout.count("off it") == 2


def test_redline_above_the_limit_is_out_and_says_what_holds_it(sample, document, edited):
    folder = sample()
    limit = rows(document("control", folder))["1I"]["limit_speed"]["value"]
    edited(folder / "setup.toml", ("redline = 3800", f"redline = {1.2 * limit:.0f}"))
    answer = document("control", folder)
    assert verdicts(answer)["1I"] == "out"
    (advice,) = [each["advice"] for each in answer["checks"] if each["valve"] == "1I"]
    needed = rows(answer)["1I"]["seat_load_needed"]["value"]
    assert f"{needed:.1f} lbf holds it" in advice
    assert "rpm" in advice
    edited(folder / "setup.toml", (f"redline = {1.2 * limit:.0f}", f"redline = {limit:.0f}"))
    assert verdicts(document("control", folder))["1I"] == "unsure"


def test_needed_seat_load_holds_the_train_to_the_redline(sample, document, edited):
    """The advice taken: with the load that is said to be needed the limit is the redline."""
    folder = sample("pump_twin")
    edited(folder / "setup.toml", ("redline = 2400", "redline = 5500"))
    row = rows(document("control", folder))["1I"]
    needed, rate = row["seat_load_needed"]["value"], 9.5
    edited(folder / "valves.csv", ("0,11;39,9", f"0,11;{63.0 - needed / rate:.6f}"))
    assert rows(document("control", folder))["1I"]["limit_speed"]["value"] == pytest.approx(5500, rel=2e-3)


def test_gains_are_what_the_changes_bring(sample, document, edited):
    folder = sample("pump_twin")
    before = rows(document("control", folder))["1E"]
    seat = before["seat_load"]["value"]
    edited(folder / "valves.csv", ("0,13;40,1", f"0,13;{40.1 - 0.01 * seat / 9.5:.7f}"))  # a tenth of a tenth
    after = rows(document("control", folder))["1E"]
    gained = after["limit_speed"]["value"] - before["limit_speed"]["value"]
    assert gained == pytest.approx(0.1 * before["gain_by_seat_load"]["value"], rel=0.02)
    added = after["nose_load"]["value"] - before["nose_load"]["value"]
    assert added == pytest.approx(0.1 * before["nose_load_by_seat_load"]["value"], rel=1e-3)


def test_without_masses_check_does_not_ask_and_control_says_what_to_weigh(sample, document, run, edited):
    folder = sample()
    text = (folder / "setup.toml").read_text()
    start, end = text.index("[masses]"), text.index("[control]")
    (folder / "setup.toml").write_text(
        (text[:start] + text[end:]).replace("mass = 0.215\n", "").replace("mass = 0.190\n", "")
    )
    answer = document("check", folder)
    assert verdicts(answer) == {}
    assert "not asked" in run("check", folder, "--tables").stdout
    answer = document("control", folder)
    assert set(verdicts(answer).values()) == {"unmeasured"}
    assert all("Weigh valve.mass" in check["advice"] for check in answer["checks"])
    assert rows(answer)["1I"]["limit_speed"]["value"] is None


def test_without_a_redline_there_is_a_speed_and_no_verdict(sample, document, edited):
    folder = sample()
    edited(folder / "setup.toml", ("redline = 3800\n", ""))
    answer = document("control", folder)
    assert set(verdicts(answer).values()) == {"unmeasured"}
    assert "redline" in answer["checks"][0]["advice"]
    assert rows(answer)["1I"]["limit_speed"]["value"] > 3800


def test_estimated_masses_are_marked_and_less_sure(sample, document, edited):
    folder = sample("pump_twin")
    before = rows(document("control", folder))["1I"]
    assert "masses.tappet_mass" in before["estimated"]
    edited(folder / "setup.toml", ("[masses]", "[masses]\ntappet_mass = 70.0"))
    after = rows(document("control", folder))["1I"]
    assert "masses.tappet_mass" not in after["estimated"]
    assert after["follower_mass"]["u"] < before["follower_mass"]["u"]


def test_rocker_known_by_its_ratio_only(sample, document, edited):
    """A card-only engine without a measured linkage: the ratio it is sold as serves."""
    folder = sample("pump_twin")
    by_linkage = rows(document("control", folder))["1I"]["limit_speed"]["value"]
    edited(folder / "setup.toml", ('arm_angle = "171.0 +/- 0.5"\n', ""))
    by_ratio = rows(document("control", folder))["1I"]["limit_speed"]["value"]
    assert by_ratio == pytest.approx(by_linkage, rel=0.04)


@pytest.mark.parametrize(
    ("old", "new", "words"),
    [
        ("tappet_mass = 0.190", "tappet_mass = 0", ["[masses] tappet_mass", "range"]),
        ("retainer_mass = 0.044", "retainer_mass = -0.044", ["retainer_mass", "-0.044"]),
        ("redline = 3800", "redline = 0", ["[engine] redline", "range"]),
        ("light_spring_load = 12", "train_stiffness = 0", ["train_stiffness", "range"]),
        ("light_spring_load = 12", "lobe_stiffness = -5", ["lobe_stiffness", "-5"]),
        ('tests = "springs.csv"', "rate = 0", ["rate", "range"]),
        ("rocker_mass = 0.300", "rocker_inertia = 0", ["rocker_inertia", "range"]),
    ],
)
def test_impossible_values_are_refused(old, new, words, sample, run, edited):
    folder = sample()
    edited(folder / "setup.toml", (old, new))
    rejected(run("control", folder), *words)


def test_spring_that_does_not_reach_the_valve(sample, run, edited):
    folder = sample()
    edited(folder / "valves.csv", ("1.899,1.597", "2.010,1.990"))
    rejected(run("control", folder), "1I", "does not reach the closed valve")


def test_sizes_no_valve_can_have(sample, run, edited):
    folder = sample("pump_twin")
    edited(folder / "setup.toml", ("tappet_wall = 3.0", "tappet_wall = 12.0"))
    rejected(run("control", folder), "tappet", "thinner")


def test_speeds_and_top_out_of_range(sample, run):
    folder = sample()
    assert run("control", folder, "--elastic", "--speeds", "3").exit_code == 2
    rejected(run("control", folder, "--elastic", "--to", "40"), "--to", "rpm")


def test_both_unit_systems_say_the_same(sample, document, edited):
    folder = sample()
    inch = dict(quantities(document("control", folder)["results"]))
    metric = dict(quantities(document("control", folder, "--units", "metric")["results"]))
    with_own_units(folder)
    own = dict(quantities(document("control", folder)["results"]))
    assert set(inch) == set(metric) == set(own)
    assert len(inch) > 100
    for path, one in inch.items():
        for key in ("value", "u"):
            if one.get(key) is None:
                assert metric[path].get(key) is None
                continue
            wanted = one[key] * FACTORS[one["unit"]]
            assert metric[path][key] == pytest.approx(wanted, rel=1e-12, abs=1e-12), path
            assert own[path][key] == pytest.approx(wanted, rel=1e-9, abs=1e-9), path


def test_loads_over_the_cycle(sample, document):
    answer = document("control", sample("pump_twin"), "--curves")
    for role in answer["results"]["roles"]:
        curves = role["curves"]
        speeds = role["crank_speed"]["values"]
        assert speeds[0] == 0
        assert len(curves["lobe"]) == len(speeds)
        for index in range(len(speeds)):
            assert max(curves["lobe"][index]["values"]) == role["peaks"]["lobe"]["values"][index]
        # turned slowly, the pad presses with the spring's load
        spring = dict(zip(curves["crank_angle"]["values"], curves["spring"]["values"], strict=True))
        tip = dict(zip(curves["crank_angle"]["values"], curves["tip"][0]["values"], strict=True))
        assert tip[0.0] == pytest.approx(spring[0.0], rel=1e-12)
    assert "curves" not in document("control", sample("plain_six"))["results"]["roles"][0]


def test_elastic_limits_and_the_page(sample, run, tmp_path):
    folder, page = sample(), tmp_path / "page.png"
    result = run("control", folder, "--elastic", "--speeds", "24", "--json", "--plot", page)
    assert result.exit_code == 0, result.stderr
    assert page.read_bytes()[:4] == b"\x89PNG"
    answer = json.loads(result.stdout)
    for role in answer["results"]["elastic"]["roles"]:
        assert set(role["limits"]) == LIMITS
        rigid = rows(answer)[role["valve"]]["limit_speed"]["value"]
        parting = min(role["limits"][name]["value"] for name in LIMITS - {"bounce"})
        assert 3800 < parting < rigid  # an elastic train parts before a rigid one would
        for limit in role["limits"].values():
            assert limit["within"] == (limit["bound"] is None) == ("u" in limit)
            assert limit["value"] > 3800
            assert not limit["within"] or limit["u"] > 0
        assert role["stiffness_from"] == "measured"
        assert len(role["measures"]["seating_speed"]["values"]) == 24
    assert {check["id"] for check in answer["checks"]} == {
        "control_margin",
        "elastic_control_margin",
        "bounce_margin",
    }
    again = run("control", folder, "--elastic", "--speeds", "24", "--plot", page)
    assert again.exit_code == 2
    assert "exists already" in again.stderr


@pytest.mark.parametrize("known", ["keeper_mass = 4.0\n", "shaft_span = 60.0\n"])
def test_page_of_what_is_not_known_says_so_and_is_drawn(known, sample, run, edited, tmp_path):
    folder, page = sample("pump_twin"), tmp_path / "page.svg"
    edited(folder / "setup.toml", (known, ""))
    assert run("control", folder, "--plot", page).exit_code == 0
    drawn = page.read_text()
    assert "<svg" in drawn
    assert ("not measured" in drawn) == ("keeper" in known)


def test_loads_past_every_limit_are_not_given(sample, run, edited):
    folder = sample("pump_twin")
    assert "2I at 2400 rpm: seats at" in run("control", folder, "--elastic", "--speeds", "12").stdout
    edited(folder / "setup.toml", ("redline = 2400", "redline = 8000"))
    text = run("control", folder, "--elastic", "--speeds", "12").stdout
    assert "2I at 8000 rpm: no two cycles are alike" in text
    assert "seats at" not in text


def test_elastic_without_stiffness_is_unmeasured_and_says_what_to_read(sample, run, edited):
    folder = sample()
    edited(folder / "setup.toml", ('real_spring_lift = "0.3654 +/- 0.0002"\n', ""))
    result = run("control", folder, "--elastic")
    assert result.exit_code == 0
    assert "light checking spring" in result.stdout
    assert "Not measured: no verdict" in result.stdout
    assert run("control", folder, "--elastic", "--strict").exit_code == 1


def test_a_cards_doubt_of_the_nose_is_in_the_elastic_limits_too(sample, document):
    """Speeds go as one over the root of the accelerations, of rigid and elastic trains alike."""
    answer = document("control", sample("pump_twin"), "--elastic", "--speeds", "24")
    for role in answer["results"]["elastic"]["roles"]:
        assert role["doubt_from"] == "the lobe's shape"
        rigid = rows(answer)[role["valve"]]["limit_speed"]
        parting = role["limits"]["lobe"]
        assert parting["u"] / parting["value"] > 0.8 * rigid["u"] / rigid["value"]


def test_elastic_sweep_of_a_rocker_known_by_its_ratio_only(sample, document, edited):
    """A card-only engine without a measured linkage: nearly what the linkage of that ratio says."""
    folder = sample("pump_twin")
    asked = ("control", folder, "--elastic", "--speeds", "12")
    by_linkage = document(*asked)["results"]["elastic"]["roles"]
    edited(folder / "setup.toml", ('arm_angle = "171.0 +/- 0.5"\n', ""))
    by_ratio = document(*asked)["results"]["elastic"]["roles"]
    # At the lowest speed of the sweep: an onset is a grazing contact, and jumps with less.
    for one, other in zip(by_linkage, by_ratio, strict=True):
        for name in ("peak_lobe", "peak_tip", "lost_lift", "seating_speed"):
            first, again = (role["measures"][name]["values"][0] for role in (one, other))
            assert again == pytest.approx(first, rel=0.1), name


def test_lift_that_is_not_lost_tells_nothing(sample, document, edited):
    folder = sample()
    edited(folder / "setup.toml", ('real_spring_lift = "0.3654', 'real_spring_lift = "0.3711'))
    answer = document("control", folder, "--elastic")
    assert set(verdicts(answer, "elastic_control_margin").values()) == {"unmeasured"}
    assert "dial can tell" in answer["results"]["elastic"]["roles"][0]["reason"]


def test_table_fits_and_cautions(sample, run):
    text = run("control", sample("plain_six")).stdout
    assert max(map(len, text.splitlines())) <= 110
    for words in (
        "What would raise the limit",
        "Estimated, not weighed",
        "not a licence",
        "seat load 10 % more",
    ):
        assert words in text


def test_loads_that_are_not_known_say_what_they_need(sample, run, edited):
    folder = sample("pump_twin")
    text = (folder / "setup.toml").read_text()
    gone = re.sub(r"(?m)^pad_radius .*\n", "", text)
    assert gone != text
    (folder / "setup.toml").write_text(gone)
    printed = run("control", folder).stdout
    assert "The loads on lobe, cup, shaft and stem, and the torque, need rocker.pad_radius." in printed
    assert "need rocker" not in run("control", sample("plain_six")).stdout


def test_linkage_that_is_not_measured_is_named_and_the_spring_not_blamed(sample, run):
    folder = sample("pump_twin")
    text = (folder / "setup.toml").read_text()
    head, tappet = text.split("[tappet]", 1)
    (folder / "setup.toml").write_text(
        re.sub(r"(?m)^nominal_ratio.*\n", "", head)
        + "[tappet]"
        + re.sub(r"(?m)^angle .*\n", "", tappet, count=1)
    )
    printed = run("control", folder).stdout
    assert "tappet.angle" in printed
    assert "does not press" not in printed


def test_unsure_says_to_which_speed_it_is_sure(sample, document):
    folder = sample("pump_twin")
    limits = [row["limit_speed"]["value"] for row in rows(document("control", folder)).values()]
    # below the speed at which any train leaves its lobe, and above it, by less than it is known to
    for redline in (0.98 * min(limits), 1.02 * max(limits)):
        text = (folder / "setup.toml").read_text()
        (folder / "setup.toml").write_text(re.sub(r"(?m)^redline = \S+", f"redline = {redline:.0f}", text))
        answer = document("control", folder)
        for row, check in zip(rows(answer).values(), answer["checks"], strict=True):
            assert check["verdict"] == "unsure"
            speed = row["limit_speed"]
            sure = speed["value"] - 2 * speed["u"]
            told = float(re.search(r"Stay below (\d+) rpm", check["advice"])[1])
            assert told == pytest.approx(sure, abs=1)
