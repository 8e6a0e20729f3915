"""The JSON document's names, and that both unit systems say the same."""

import tomllib

import pytest

ROCKER = {
    "valve",
    "gross_lift",
    "net_lift",
    "ratio_at_opening",
    "ratio_at_half_lift",
    "ratio_at_full_lift",
    "mean_ratio",
    "sweep_width",
    "sweep_middle",
    "contact_closed",
    "contact_full",
    "least_sweep_width",
    "stand_shim_for_least_sweep",
    "stand_shim_for_centered_sweep",
}
CENTER = {"valve", "offset_before", "offset_after", "end_clearance", "front_shims", "rear_shims"}
SPRING = {"valve", "rate", "shims"} | {
    f"{name}{when}"
    for name in ("installed_height", "seat_load", "open_load", "bind_clearance")
    for when in ("", "_after")
}
LOBES = {
    "role",
    "lash",
    "checking_lift",
    "checked_at",
    "opens",
    "closes",
    "duration",
    "centerline",
    "max_lift",
}


@pytest.mark.parametrize(
    ("command", "rows", "names"),
    [
        ("rocker", "valves", ROCKER),
        ("center", "valves", CENTER),
        ("spring", "valves", SPRING),
        ("events", "lobes", LOBES),
    ],
)
def test_names_of_the_contract(command, rows, names, sample, document):
    answer = document(command, sample("reground_head"))
    assert answer["command"] == command
    assert len(answer["results"][rows]) == 12
    for row in answer["results"][rows]:
        assert names <= set(row)


def test_events_carry_the_overlap(sample, document):
    answer = document("events", sample())
    assert set(answer["results"]["overlap"]) == {"value", "unit", "u"}
    assert len(answer["results"]["overlap_by_cylinder"]) == 6


def quantities(node, path=()):
    """Yield every quantity of a document."""
    if isinstance(node, dict):
        if "unit" in node and "value" in node:
            yield path, node
        for key, each in node.items():
            yield from quantities(each, (*path, key))
    elif isinstance(node, list):
        for index, each in enumerate(node):
            yield from quantities(each, (*path, index))


FACTOR = {"in": 25.4, "lbf": 4.4482216152605, "lbf/in": 4.4482216152605 / 25.4, "deg": 1.0, "": 1.0, "%": 1.0}


def metric_copy(folder):
    """Rewrite an inch sheet in millimeters and newtons, number by number."""
    sheet = tomllib.loads((folder / "setup.toml").read_text())
    lengths = {
        "engine": ("bore", "stroke", "rod_length"),
        "shaft": ("setback", "height", "reference_stem_height", "diameter", "stand_shim"),
        "rocker": ("pad_arm", "pad_radius", "pad_width", "socket_arm", "thread_pitch"),
        "pushrod": ("length", "outside_diameter", "wall"),
        "tappet": ("setback", "face_diameter", "crown_radius"),
    }
    text = (folder / "setup.toml").read_text()
    lines, section = [], ""
    for line in text.splitlines():
        if line.startswith("["):
            section = line.strip("[]").split(".")[0]
        key, sign, value = line.partition(" = ")
        if sign and key in lengths.get(section, ()):
            value = value.split("#")[0].strip().strip('"')
            line = f'{key} = "{value} in"'
        lines.append(line)
    assert sheet["sheet"]["units"] == "inch"
    text = "\n".join(lines).replace('units = "inch"', 'units = "metric"')
    for role in ("intake", "exhaust"):
        for old in ("stem_diameter", "tip_chamfer", "head_diameter", "base_radius", "width"):
            value = sheet.get("valve", {}).get(role, {}).get(old) or sheet["lobe"][role].get(old)
            text = text.replace(f"{old} = {value}\n", f'{old} = "{value} in"\n')
    for old, new in (
        ("tip_chamfer = 0.030", 'tip_chamfer = "0.030 in"'),
        ('lift = "0.260 +/- 0.0003"', 'lift = "0.260 +/- 0.0003 in"'),
        ("stem_diameter = 0.3410", 'stem_diameter = "0.3410 in"'),
        ("free_length = 2.00", 'free_length = "2.00 in"'),
        ("seat_load_target = 80", 'seat_load_target = "80 lbf"'),
        ("retainer_to_seal = 0.52", 'retainer_to_seal = "0.52 in"'),
        ("intake = 0.019", 'intake = "0.019 in"'),
        ("exhaust = 0.021", 'exhaust = "0.021 in"'),
        ("spring_shim_stack = 0.060", 'spring_shim_stack = "0.060 in"'),
        ("pushrod_step = 0.050", 'pushrod_step = "0.050 in"'),
        ("low = -0.030, high = 0.030", 'low = "-0.030 in", high = "0.030 in"'),
        ("stand_shims = [0.015, 0.030, 0.060]", 'stand_shims = ["0.015 in", "0.030 in", "0.060 in"]'),
    ):
        assert old in text or new in text, old
        text = text.replace(old, new)
    import re

    def with_inches(match):
        values = ", ".join(f'"{each.strip()} in"' for each in match[2].split(","))
        return f"{match[1]} = [{values}]"

    text = re.sub(r"^(\w+_shims) = \[([\d., ]+)\]", with_inches, text, flags=re.M)
    (folder / "setup.toml").write_text(text)
    valves = folder / "valves.csv"
    header, *rows = [line for line in valves.read_text().splitlines() if not line.startswith("#")]
    metric = {
        "offset",
        "end_clearance",
        "stem_height",
        "installed_height",
        "solid_height",
        "lash",
        "lobe_lift",
    }
    names = header.split(",")
    out = [",".join(f"{name} [mm]" if name in metric else name for name in names)]
    for row in rows:
        cells = [
            repr(float(cell) * 25.4) if name in metric and cell else cell
            for name, cell in zip(names, row.split(","), strict=True)
        ]
        out.append(",".join(cells))
    valves.write_text("\n".join(out))


@pytest.mark.parametrize("command", ["rocker", "center", "spring", "events"])
def test_inch_and_metric_sheets_give_the_same(command, sample, document):
    folder = sample()
    inch = dict(quantities(document(command, folder)["results"]))
    metric_copy(folder)
    metric = dict(quantities(document(command, folder)["results"]))
    assert set(inch) == set(metric)
    assert len(inch) > 50
    for path, one in inch.items():
        other = metric[path]
        for key in ("value", "u"):
            if one.get(key) is None:
                assert other.get(key) is None, path
                continue
            assert other[key] == pytest.approx(one[key] * FACTOR[one["unit"]], rel=1e-9, abs=1e-9), (
                path,
                key,
            )


@pytest.mark.parametrize("command", ["rocker", "center", "spring", "events"])
def test_units_option_shows_the_same_results_in_the_other_system(command, sample, document):
    folder = sample()
    inch = dict(quantities(document(command, folder)["results"]))
    metric = dict(quantities(document(command, folder, "--units", "metric")["results"]))
    for path, one in inch.items():
        if one["value"] is not None:
            assert metric[path]["value"] == pytest.approx(
                one["value"] * FACTOR[one["unit"]], rel=1e-12, abs=1e-12
            )
