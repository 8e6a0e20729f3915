"""The JSON document's names, and that both unit systems say the same."""

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
PUSHROD = {"valve", "length", "adjuster_exposure"}
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
        ("pushrod", "valves", PUSHROD),
        ("events", "lobes", LOBES),
    ],
)
def test_names_of_the_contract(command, rows, names, sample, document):
    answer = document(command, sample("faulted_six"))
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


FACTOR = {
    "in*deg": 25.4,
    "in": 25.4,
    "lbf": 4.4482216152605,
    "lbf/in": 4.4482216152605 / 25.4,
    "deg": 1.0,
    "": 1.0,
    "%": 1.0,
    "psi": 6894.757293168e-6,
    "Hz": 1.0,
    "rpm": 1.0,
}


def with_own_units(folder):
    """Rewrite an inch sheet as a metric one whose every plain number carries its inch unit."""
    import re

    from valvetrain.parts.row import RowText
    from valvetrain.parts.spec import spec_of
    from valvetrain.setup.schema import SECTIONS
    from valvetrain.setup.tables.columns import COLUMNS
    from valvetrain.setup.units import display_unit

    parts = SECTIONS | {"row": RowText}

    def quoted(value, unit):
        value = value.strip()
        if value.startswith("["):
            return "[" + ", ".join(quoted(each, unit) for each in value.strip("[]").split(",")) + "]"
        plain = value.strip('"')
        if re.search(r"[A-Za-z%]", plain.replace("e", "")):
            return value
        return f'"{plain} {unit}"'

    lines, section = [], ""
    for line in (folder / "setup.toml").read_text().splitlines():
        if line.startswith("["):
            section = line.split("]")[0].strip("[ ").split(".")[0]
        key, sign, value = line.partition(" = ")
        value = value.split("#")[0].strip()
        unit = ""
        if sign and ((section == "lash" and key in ("intake", "exhaust")) or key.endswith("_shims")):
            unit = "in"
        elif sign and section in parts and not value.startswith("[{"):
            try:
                dimension = spec_of(parts[section], key).dimension
            except KeyError:
                dimension = None
            unit = display_unit(dimension, "inch") if dimension else ""
        if unit:
            line = f"{key} = {quoted(value, unit)}"
        elif section == "row":
            line = re.sub(r'"((?:cut )?(?:shim|spacer)) ([0-9.]+)"', r'"\1 \2 in"', line)
        elif section == "limits" and "=" in line:
            line = re.sub(r"(low|high) = (-?[0-9.]+)(?=[ ,}])", r'\1 = "\2 in"', line)
        lines.append(line)
    text = "\n".join(lines)
    assert 'units = "inch"' in text
    (folder / "setup.toml").write_text(text.replace('units = "inch"', 'units = "metric"'))
    valves = folder / "valves.csv"
    header, *rows = [line for line in valves.read_text().splitlines() if not line.startswith("#")]
    names = header.split(",")
    lengths = [name in COLUMNS and COLUMNS[name][2].dimension == "length" for name in names]
    out = [
        ",".join(
            f"{name} [mm]" if is_length else name for name, is_length in zip(names, lengths, strict=True)
        )
    ]
    for row in rows:
        cells = [
            repr(float(cell) * 25.4) if is_length and cell else cell
            for cell, is_length in zip(row.split(","), lengths, strict=True)
        ]
        out.append(",".join(cells))
    valves.write_text("\n".join(out))


@pytest.mark.parametrize("command", ["rocker", "center", "spring", "pushrod", "events"])
def test_inch_and_metric_sheets_give_the_same(command, sample, document):
    folder = sample()
    inch = dict(quantities(document(command, folder)["results"]))
    with_own_units(folder)
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


@pytest.mark.parametrize("command", ["rocker", "center", "spring", "pushrod", "events"])
def test_units_option_shows_the_same_results_in_the_other_system(command, sample, document):
    folder = sample()
    inch = dict(quantities(document(command, folder)["results"]))
    metric = dict(quantities(document(command, folder, "--units", "metric")["results"]))
    for path, one in inch.items():
        if one["value"] is not None:
            assert metric[path]["value"] == pytest.approx(
                one["value"] * FACTOR[one["unit"]], rel=1e-12, abs=1e-12
            )
