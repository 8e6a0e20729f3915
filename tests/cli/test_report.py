"""The command `report`: a file whole or none, and clear refusals."""

import pytest


def test_writes_html_and_says_so_on_stderr(run, sample, tmp_path, monkeypatch):
    monkeypatch.setattr("os.cpu_count", lambda: 1)
    out = tmp_path / "page.html"
    result = run("report", sample("pump_twin"), "-o", out)
    assert result.exit_code == 0, result.output
    assert result.stdout == ""
    assert "page.html" in result.stderr
    text = out.read_text(encoding="utf-8")
    assert text.startswith("<!DOCTYPE html>")
    assert "Pump twin" in text
    again = run("report", sample("plain_six"), "-o", out)
    assert again.exit_code == 2
    assert "--force" in again.stderr
    assert out.read_text(encoding="utf-8") == text


@pytest.mark.parametrize(
    ("arguments", "word"),
    [
        (["-o", "page.docx"], ".html"),
        (["-o", "nowhere/page.html"], "does not exist"),
        (["-o", "page.html", "--paper", "A4"], "--paper"),
        ([], "--output"),
    ],
)
def test_bad_targets_are_refused(run, sample, tmp_path, monkeypatch, arguments, word):
    monkeypatch.chdir(tmp_path)
    result = run("report", sample("pump_twin"), *arguments)
    assert result.exit_code == 2
    assert word in result.stderr
    assert list(tmp_path.glob("page*")) == []


def test_bad_sheet_writes_nothing(run, sample, edited, tmp_path):
    folder = sample("plain_six")
    edited(folder / "setup.toml", ("pad_width = 0.312", "pad_width = nan"))
    out = tmp_path / "page.html"
    result = run("report", folder, "-o", out)
    assert result.exit_code == 2
    assert "pad_width" in result.stderr
    assert not out.exists()


@pytest.mark.parametrize(
    ("name", "options", "status"),
    [("plain_six", [], 0), ("faulted_six", [], 1), ("pump_twin", [], 0), ("pump_twin", ["--strict"], 0)],
)
def test_status_says_what_the_page_says(run, sample, tmp_path, monkeypatch, name, options, status):
    monkeypatch.setattr("os.cpu_count", lambda: 1)
    out = tmp_path / "page.html"
    result = run("report", sample(name), "-o", out, "--quiet", *options)
    assert result.exit_code == status, result.stderr
    assert out.exists()


def test_strict_counts_what_was_not_measured(run, sample, edited, tmp_path, monkeypatch):
    monkeypatch.setattr("os.cpu_count", lambda: 1)
    folder = sample("pump_twin")
    edited(folder / "valves.csv", ("2E;0,25;0,14;", "2E;;0,14;"))
    for options, status in (([], 0), (["--strict"], 1)):
        out = tmp_path / f"page{status}.html"
        assert run("report", folder, "-o", out, "--quiet", *options).exit_code == status
