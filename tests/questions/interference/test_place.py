"""The place of the least clearance through the lift: against every position, moved by shapely's affinity."""

import numpy as np
import pytest
import shapely
from shapely import affinity

from valvetrain.mechanics.shapes.interference import rocker_to_retainer, rocker_to_stand
from valvetrain.questions.interference.shapes import moved_by
from valvetrain.questions.interference.study import interference_study
from valvetrain.questions.rocker.study import rocker_study
from valvetrain.setup.read import read_setup

IN = 0.0254
PAIRS = ("rocker_to_retainer", "retainer_to_seal", "rocker_to_stand")


def studied(folder):
    setup = read_setup(folder)
    rocker = rocker_study(setup)
    return setup, rocker, interference_study(setup, rocker)


def brute(parts, setup, rocker, index, pair, shares):
    """Clearance at many shares of net lift, the angle of the arm from its sine."""
    name = setup.valves[index]
    assert name == rocker.valves[index]
    arm = setup.column("rocker", "pad_arm").value[index]
    radius = setup.column("rocker", "pad_radius").value[index]
    lash, net = rocker.lash.value[index], rocker.net_lift.value[index]
    height = parts.pivot[1]
    start = np.arcsin((radius + lash - height) / arm)
    found = []
    for share in shares:
        lift = net * share
        angle = np.arcsin((radius - height - lift) / arm) - start
        bodies = {
            "rocker": affinity.rotate(
                shapely.Polygon(parts.rocker), angle, origin=tuple(parts.pivot), use_radians=True
            ),
            "retainer": affinity.translate(shapely.Polygon(parts.retainer), 0, -lift),
            "seal": shapely.Polygon(parts.seal),
            "stand": shapely.Polygon(parts.stand),
        }
        first, second = pair.split("_to_")
        found.append(bodies[first].distance(bodies[second]))
    return np.array(found)


@pytest.fixture
def passing(sample):
    return ridged(sample(), 0.55)


def ridged(folder, share):
    """Give a sheet a rocker whose corner passes over a ridge of the stand at this share of its swing."""
    path = folder / "setup.toml"
    setup = read_setup(folder)
    parts = interference_study(setup, rocker_study(setup)).parts.by_valve[0]
    pivot = parts.pivot / IN
    turn = share * parts.rotation[-1]
    corner = np.array([0.0, -0.60])  # from the shaft
    ahead = np.array([[np.cos(turn), -np.sin(turn)], [np.sin(turn), np.cos(turn)]]) @ corner
    nose = corner + np.array([[0.0, 0.0], [0.05, 0.35], [-0.05, 0.35]]) + pivot
    ridge = ahead * 1.02 + np.array([[0.0, 0.0], [-0.2, -0.7], [0.05, -0.7]]) + pivot
    for name, points in (("rocker", nose), ("stand", ridge)):
        lines = [f"{x:.9f},{y:.9f}" for x, y in points]
        (folder / f"{name}.csv").write_text("\n".join(["x,y", *lines]) + "\n")
    given = '[shapes]\nrocker_outline = "rocker.csv"\nstand_outline = "stand.csv"'
    path.write_text(path.read_text().replace("[shapes]", given))
    return folder


def test_least_in_mid_lift_is_found_between_the_positions_first_tried(passing):
    setup, rocker, result = studied(passing)
    shares = np.linspace(0, 1, 1401)
    for index in (0, 1):
        every = brute(result.parts.by_valve[index], setup, rocker, index, "rocker_to_stand", shares)
        assert 0.2 < shares[every.argmin()] < 0.9
        assert result.rocker_to_stand.value[index] == pytest.approx(every.min(), abs=5e-6)
        assert result.lift_share["rocker_to_stand"][index] == pytest.approx(shares[every.argmin()], abs=0.02)
        assert result.rocker_to_stand_at.value[index] == pytest.approx(
            rocker.net_lift.value[index] * shares[every.argmin()], abs=0.02 * IN
        )


@pytest.mark.parametrize("pair", PAIRS)
def test_simple_shapes_against_every_position(pair, sample):
    setup, rocker, result = studied(sample())
    for index in (0, 5):
        every = brute(result.parts.by_valve[index], setup, rocker, index, pair, np.linspace(0, 1, 201))
        least = getattr(result, pair).value[index]
        assert least == pytest.approx(every.min(), abs=3e-6)


@pytest.mark.parametrize("pair", PAIRS)
def test_nearest_points_are_as_far_apart_as_the_clearance_says(pair, passing):
    _, _, result = studied(passing)
    points = result.nearest[pair]
    apart = np.linalg.norm(points[:, 1] - points[:, 0], axis=-1)
    assert (apart > 0).all()
    assert apart == pytest.approx(getattr(result, pair).value)


def test_a_clearance_that_stays_the_same_is_named_where_it_is_first_so(sample):
    # The pad rests on the tip all the way, so that the retainer under it is as far from it all the way too.
    _, _, result = studied(sample())
    assert (result.lift_share["rocker_to_retainer"] == 0).all()
    assert result.rocker_to_retainer.value == pytest.approx(np.full(12, 0.22 * IN), abs=3e-6)


def test_hub_is_drawn_round_the_circle_and_never_too_small(sample):
    # Height of the shaft over the stand less half the hub (derived), whatever the swing.
    _, _, result = studied(sample())
    wanted = (0.75 - 0.60) * IN
    assert (result.rocker_to_stand.value <= wanted + 1e-12).all()
    assert result.rocker_to_stand.value == pytest.approx(np.full(12, wanted), abs=0.0003 * IN)


def test_one_valve_with_an_unknown_shape_leaves_the_others_known(sample):
    folder = sample()
    whole = studied(folder)[2]
    path = folder / "valves.csv"
    rows = path.read_text().splitlines()
    at = next(number for number, row in enumerate(rows) if row.startswith("valve,"))
    column = rows[at].split(",").index("stem_height")
    for number, row in enumerate(rows):
        cells = row.split(",")
        if cells[0] == "3E":
            cells[column] = ""
            rows[number] = ",".join(cells)
    path.write_text("\n".join(rows) + "\n")
    setup = folder / "setup.toml"
    if "reference_stem_height" not in setup.read_text():
        setup.write_text(setup.read_text().replace("[shaft]", "[shaft]\nreference_stem_height = 1.899"))
    _, _, result = studied(folder)
    missing = whole.valves.index("3E")
    known = np.arange(12) != missing
    for pair in ("rocker_to_retainer", "rocker_to_stand"):
        assert np.isnan(getattr(result, pair).value[missing])
        assert np.isnan(getattr(result, pair).uncertainty[missing])
        assert np.isnan(result.nearest[pair][missing]).all()
        assert np.isfinite(getattr(result, pair).value[known]).all()
        assert np.isfinite(getattr(result, pair).uncertainty[known]).all()


def test_many_outlines_at_once_are_each_by_itself():
    rng = np.random.default_rng(11)
    rocker = rng.uniform(-1, 1, (3, 1, 2)) + np.array([[0, 0], [5, 0.5], [2, 3.0]])
    other = rng.uniform(-1, 1, (3, 1, 2)) + np.array([[1, -9], [4, -8], [2, -7.0]])
    pivot = rng.uniform(-2, 2, (3, 2))
    rotation, lift = rng.uniform(-0.4, 0.4, (3, 5)), rng.uniform(0, 1, (3, 5))
    many = rocker_to_retainer(rocker, other, pivot, rotation, lift)
    still = rocker_to_stand(rocker, other, pivot, rotation)
    for index in range(3):
        one = rocker_to_retainer(rocker[index], other[index], pivot[index], rotation[index], lift[index])
        assert many.clearance[index] == pytest.approx(one.clearance)
        assert many.first_point[index] == pytest.approx(one.first_point)
        alone = rocker_to_stand(rocker[index], other[index], pivot[index], rotation[index])
        assert still.clearance[index] == pytest.approx(alone.clearance)
        assert still.second_point[index] == pytest.approx(alone.second_point)


def test_what_can_move_a_pair():
    # The seal's place follows from the retainer's, and the valve moves along its stem, whatever the shaft.
    assert "height" not in moved_by("retainer_to_seal")
    assert {"height", "lash", "hub_diameter", "stand_top"} <= set(moved_by("rocker_to_stand"))
    assert not {"stand_top", "seal_diameter"} & set(moved_by("rocker_to_retainer"))


def test_contributions_where_the_swing_ends_over_the_ridge_are_moves_of_whole_studies(sample):
    folder = ridged(sample(), 1.3)
    sheet, valves = folder / "setup.toml", folder / "valves.csv"
    setup, _, base = studied(folder)
    found = base.rocker_to_stand
    assert base.lift_share["rocker_to_stand"][0] == 1
    for path, key, was in (
        (sheet, "shaft.height", 'height = "0.313 +/- 0.003"'),
        (sheet, "shaft.reference_stem_height", "reference_stem_height = 1.900"),
        (sheet, "rocker.pad_arm", 'pad_arm = "1.200 +/- 0.003"'),
        (sheet, "rocker.socket_arm", 'socket_arm = "0.800 +/- 0.003"'),
        (valves, "valve.stem_height", "1.899"),
    ):
        doubt = setup.column(*key.split(".")).uncertainty[0]
        number = float(was.split()[-1] if "+/-" not in was else was.split('"')[1].split()[0])
        text = path.read_text()
        assert was in text
        path.write_text(text.replace(was, was.replace(f"{number:.3f}", f"{number + doubt / IN:.9f}"), 1))
        shift = studied(folder)[2].rocker_to_stand.value[0] - found.value[0]
        path.write_text(text)
        # A longer arm swings less for a lift, and lifts more: together nearly nothing.
        assert (abs(shift) > 0.05 * doubt) == (key != "rocker.pad_arm"), key
        assert found.contributions[key][0] == pytest.approx(shift, rel=0.02, abs=0.005 * doubt), key


def test_nothing_is_said_of_parts_that_the_sheet_does_not_describe(sample):
    _, _, result = studied(sample("pump_twin"))
    for pair in PAIRS:
        quantity = getattr(result, pair)
        assert np.isnan(quantity.value).all()
        assert np.isnan(quantity.uncertainty).all()
        assert np.isnan(result.nearest[pair]).all()
        assert np.isnan(getattr(result, f"{pair}_at").value).all()
    assert not result.asked
    assert set(result.shapes) == {""}
