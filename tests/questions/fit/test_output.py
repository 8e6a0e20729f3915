"""What `fit -o` writes: a sheet whose tables are its own, and nothing that was there is changed."""

import pytest


@pytest.fixture
def folder(sample, edited):
    folder = sample()
    with (folder / "readings.csv").open("a") as file:
        file.write("3E,closed mark,,0.137,rim\n")
    return folder


@pytest.fixture
def fitted(folder, run):
    def fit(output, *more, sheet="bench.toml"):
        return run("fit", folder / sheet, "--readings", folder / "readings.csv", "-o", output, *more)

    return fit


def contents(folder):
    return {str(each.relative_to(folder)): each.read_bytes() for each in folder.rglob("*") if each.is_file()}


def test_a_second_sheet_beside_the_first_leaves_its_tables_alone(folder, fitted):
    assert fitted(folder / "first.toml").exit_code in (0, 1)
    before = contents(folder)
    assert "first_correlation.csv" in before
    assert fitted(folder / "second.toml").exit_code in (0, 1)
    after = contents(folder)
    assert {name: after[name] for name in before} == before
    assert set(after) - set(before) >= {"second.toml", "second_correlation.csv"}


def test_tables_of_that_name_that_are_there_are_kept_also_with_force(folder, fitted, document):
    (folder / "first_correlation.csv").write_text("mine")
    assert fitted(folder / "first.toml").exit_code in (0, 1)
    assert (folder / "first_correlation.csv").read_text() == "mine"
    assert 'correlation = "first_correlation_2.csv"' in (folder / "first.toml").read_text()
    before = contents(folder)
    assert fitted(folder / "first.toml", "--force").exit_code in (0, 1)
    after = contents(folder)
    assert {name for name in before if after[name] != before[name]} == {"first.toml"}
    assert 'correlation = "first_correlation_3.csv"' in (folder / "first.toml").read_text()
    assert document("rocker", folder / "first.toml")["results"]["valves"]


def test_tables_in_folders_inside_go_with_the_sheet(folder, fitted, edited, document, tmp_path):
    (folder / "tables").mkdir()
    (folder / "intake_lobe.csv").rename(folder / "tables" / "intake_lobe.csv")
    edited(folder / "bench.toml", ('"intake_lobe.csv"', '"tables/intake_lobe.csv"'))
    new = tmp_path / "new"
    assert fitted(new).exit_code in (0, 1)
    assert (new / "tables" / "intake_lobe.csv").read_bytes() == (
        folder / "tables/intake_lobe.csv"
    ).read_bytes()
    assert document("rocker", new)["results"]["valves"]
    assert {each.name.startswith(".") for each in tmp_path.iterdir()} == {False}


def test_a_table_outside_is_not_lost_on_the_way(folder, fitted, edited, tmp_path):
    (folder / "intake_lobe.csv").rename(tmp_path / "intake_lobe.csv")
    edited(folder / "bench.toml", ('"intake_lobe.csv"', '"../intake_lobe.csv"'))
    result = fitted(tmp_path / "new")
    assert result.exit_code == 2
    assert "outside the sheet's folder" in result.stderr
    assert not (tmp_path / "new").exists()


def test_another_table_in_the_new_folder_is_kept(folder, fitted, tmp_path):
    new = tmp_path / "new"
    new.mkdir()
    (new / "intake_lobe.csv").write_text("mine")
    result = fitted(new, "--force")
    assert result.exit_code == 2
    assert "intake_lobe.csv: exists already and holds something else" in result.stderr
    assert contents(new) == {"intake_lobe.csv": b"mine"}
