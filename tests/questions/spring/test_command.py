"""The command on springs: what it prints, its options, and bad figures of springs."""

import json
import re

import pytest


def bench(folder):
    """Take the springs off the valves: twelve heights, twelve tested springs."""
    lines = [line for line in (folder / "valves.csv").read_text().splitlines() if not line.startswith("#")]
    keep = [place for place, name in enumerate(lines[0].split(",")) if name != "spring"]
    rows = (line.split(",") for line in lines)
    (folder / "valves.csv").write_text("\n".join(",".join(row[place] for place in keep) for row in rows))
    return folder


def test_twelve_heights_and_twelve_springs_give_a_one_page_plan(sample, run):
    result = run("spring", bench(sample()))
    assert result.exit_code == 0
    lines = result.stdout.splitlines()
    assert len(lines) <= 60
    assert max(map(len, lines)) <= 110
    assert "Plan: springs and shims" in result.stdout
    for spring in range(1, 13):
        assert re.search(rf"│ +S{spring} │", result.stdout)
    assert "eye protection" in result.stdout
    assert "compressor" in result.stdout


def test_fitted_springs_are_matched_where_it_is_asked(sample, document):
    folder = sample()
    as_is, matched = document("spring", folder), document("spring", folder, "--match")
    assert [row["spring"] for row in as_is["results"]["valves"]] == [
        row["spring_after"] for row in as_is["results"]["valves"]
    ]
    assert matched["results"]["matched"]
    # Nearer to the 80 lbf that are wanted, in sum.
    now, then = (
        sum(abs(row[key]["value"] - 80.0) for row in matched["results"]["valves"])
        for key in ("seat_load", "seat_load_after")
    )
    assert then < now


def test_one_job_that_cures_two_faults_is_told_once(sample, run, edited):
    folder = sample()
    # So far up that load and height are both out; 1.597 in is the height of 1I alone.
    edited(folder / "valves.csv", ("1.597,1.165", "1.690,1.165"))
    text = " ".join(run("spring", folder).stdout.split())
    assert "1I: spring load with the valve closed" in text
    assert "Also installed height against the middle of its role" in text
    assert text.count("on the seat and") == 1


def test_plan_in_json_says_what_comes_out_and_goes_in(sample, document):
    rows = {row["valve"]: row for row in document("spring", sample("faulted_six"))["results"]["valves"]}
    plan = rows["1E"]["shim_plan"]
    assert [each["value"] for each in plan["take_out"]] == pytest.approx([0.030])
    assert plan["put_in"] == plan["in_all"] == []
    assert rows["5I"]["shim_plan"]["another_spring"]
    assert rows["5I"]["shims"] == []


def test_recession_is_asked_in_its_own_unit_and_refused_when_it_is_none(sample, run, document):
    folder = sample()
    plain = document("spring", folder)["results"]["valves"][0]
    sunk = document("spring", folder, "--recession", "0.254 mm")["results"]["valves"][0]
    gain = sunk["installed_height"]["value"] - plain["installed_height"]["value"]
    assert gain == pytest.approx(0.010)
    assert "after work" in run("spring", folder, "--recession", "0.01").stdout
    for written in ("deep", "3", "nan"):
        result = run("spring", folder, "--recession", written)
        assert result.exit_code == 2
        assert "--recession" in result.stderr
        assert "Traceback" not in result.output


@pytest.mark.parametrize("view", ["load", "set", "shims", "surge"])
def test_every_view_is_drawn_and_nothing_written_over(view, sample, run, tmp_path):
    folder, picture = bench(sample()), tmp_path / "springs.svg"
    assert run("spring", folder, "--view", view, "--plot", picture).exit_code == 0
    first = picture.read_bytes()
    assert b"<svg" in first
    assert run("spring", folder, "--view", view, "--plot", picture).exit_code == 2
    assert picture.read_bytes() == first


BAD = {
    "loads in psi": ("springs.csv", "load [lbf]", "load [psi]", ["pressure", "lbf"]),
    "one load in psi": ("springs.csv", "S4,1.600,", "S4,1.600,psi ", ["springs.csv line"]),
    "heights in thousandths taken as inches": ("springs.csv", "S2,1.700", "S2,1700", ["line", "height"]),
    "heights a tenth": ("springs.csv", "height [in]", "height [mm]", ["height"]),
    "load that rises": ("springs.csv", "S5,1.600,81.5", "S5,1.600,31.5", ["'S5'", "rises", "lbf"]),
    "unknown column": ("springs.csv", "spring,height", "coil,height", ["'coil'", "spring"]),
    "solid above installed": ("valves.csv", "1.165,", "1.665,", ["solid height", "1I"]),
    "shim without thickness": (
        "setup.toml",
        "spring_shims = [0.015, 0.030, 0.060]",
        "spring_shims = [{ count = 3 }]",
        ["spring_shims", "thickness"],
    ),
    "half a shim": (
        "setup.toml",
        "spring_shims = [0.015, 0.030, 0.060]",
        "spring_shims = [{ thickness = 0.015, count = 2.5 }]",
        ["spring_shims", "count"],
    ),
    "hardened of a sort": (
        "setup.toml",
        "spring_shims = [0.015, 0.030, 0.060]",
        "spring_shims = [{ thickness = 0.015, hardened = 'quite' }]",
        ["spring_shims", "hardened"],
    ),
    "misspelled shim key": (
        "setup.toml",
        "spring_shims = [0.015, 0.030, 0.060]",
        "spring_shims = [{ thicknes = 0.015 }]",
        ["thicknes", "Did you mean 'thickness'"],
    ),
    "shims not a list": (
        "setup.toml",
        "spring_shims = [0.015, 0.030, 0.060]",
        "spring_shims = 0.030",
        ["spring_shims", "list"],
    ),
    "unknown material": ("setup.toml", "chrome-vanadium", "brass", ["material", "music"]),
    "unknown kind": ("setup.toml", "[spring]", "[spring]\nkind = 'bent'", ["kind", "progressive"]),
    "inner spring in the wrong section": (
        "setup.toml",
        "[spring]",
        "[spring]\nseat_step = 0.1",
        ["seat_step"],
    ),
    "inner solid above free": (
        "setup.toml",
        "[lobe.intake]",
        "[inner_spring]\nfree_length = 1.2\nsolid_height = 1.3\nrate = 60\n\n[lobe.intake]",
        ["inner_spring", "1.3", "1.2"],
    ),
    "catalog loads turned round": (
        "setup.toml",
        "[spring]",
        "[spring]\ncatalog_height = 1.2\ncatalog_load = 60\ncatalog_open_height = 1.6",
        ["catalog_open_height"],
    ),
    "narrow end wider": (
        "setup.toml",
        "[spring]",
        "[spring]\nkind = 'conical'\nsmall_coil_diameter = 1.1",
        ["small_coil_diameter"],
    ),
    "coil no wider than its wire": (
        "setup.toml",
        'coil_diameter = "0.966 in"',
        'coil_diameter = "0.150 in"',
        ["coil_diameter", "wire_diameter"],
    ),
}


@pytest.mark.parametrize("name", list(BAD))
def test_bad_figures_are_one_clear_error(name, sample, run, edited, tmp_path):
    file, old, new, words = BAD[name]
    folder = sample()
    edited(folder / file, (old, new))
    result = run("spring", folder, "--plot", tmp_path / "no.png")
    assert result.exit_code == 2, result.stdout
    assert result.stdout == ""
    assert "Traceback" not in result.stderr
    for word in words:
        assert word in result.stderr
    assert not (tmp_path / "no.png").exists()


def test_a_mixed_spring_is_named(sample, run, edited):
    folder = sample()
    edited(folder / "springs.csv", ("S7,1.700,59.2", "S7,1.700,29.2"))
    assert "Remarks on figures given: 1 under spring" in run("check", folder).stdout
    for command in (("spring",), ("check", "--tables")):  # a figure that spoils every other is told with them
        assert run(command[0], folder, *command[1:]).stdout.count("Spring S7 has a rate of") == 1


def test_results_are_the_same_in_both_systems_with_a_set_and_wire(sample, run, edited):
    folder = sample()
    edited(
        folder / "setup.toml",
        (
            "[lobe.intake]",
            "[inner_spring]\nrate = 60\nfree_length = 1.95\nsolid_height = 1.0\nwire_diameter = 0.1\n"
            "coil_diameter = 0.7\nactive_coils = 5\nmaterial = 'chrome-vanadium'\n\n[lobe.intake]",
        ),
    )
    inch = json.loads(run("spring", folder, "--json").stdout)["results"]
    metric = json.loads(run("spring", folder, "--json", "--units", "metric").stdout)["results"]
    one, other = (each["stress"]["inner_spring"][0]["stress_open"] for each in (inch, metric))
    assert (one["unit"], other["unit"]) == ("psi", "MPa")
    assert other["value"] == pytest.approx(one["value"] * 6894.757293168e-6, rel=1e-9)
    assert inch["surge"][0]["meets"] == [
        pytest.approx(each, nan_ok=True) if isinstance(each, float) else each
        for each in [
            {**mine, "amplitude": own["amplitude"]}
            for mine, own in zip(metric["surge"][0]["meets"], inch["surge"][0]["meets"], strict=True)
        ]
    ]
