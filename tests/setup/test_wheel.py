"""What an installation brings: the two packages and the command, and no other top-level name."""

import subprocess
import sys
import zipfile
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]


@pytest.fixture(scope="module")
def wheel(tmp_path_factory):
    target = tmp_path_factory.mktemp("wheel")
    source = tmp_path_factory.mktemp("source")
    # Built from a copy, so that no build folder is left in the checkout.
    names = ("pyproject.toml", "README.md", "LICENSE", "valvetrain", "cli")
    subprocess.run(["cp", "-r", *(str(ROOT / name) for name in names), str(source)], check=True)
    command = [sys.executable, "-m", "pip", "wheel", "--quiet", "--no-deps", "--no-build-isolation"]
    subprocess.run([*command, "--wheel-dir", str(target), str(source)], check=True)
    (found,) = target.glob("*.whl")
    with zipfile.ZipFile(found) as archive:
        return archive.namelist(), {
            name: archive.read(name).decode() for name in archive.namelist() if name.endswith(".txt")
        }


def test_top_level_names(wheel):
    names, _ = wheel
    top = {name.split("/")[0] for name in names if ".dist-info/" not in name}
    assert top == {"valvetrain", "valvetrain_cli"}


def test_every_module_and_data_file_is_there(wheel):
    names, _ = wheel
    for package, folder in (
        ("valvetrain", ROOT / "valvetrain"),
        ("valvetrain_cli", ROOT / "cli" / "valvetrain_cli"),
    ):
        for path in folder.rglob("*"):
            if path.is_file() and "__pycache__" not in path.parts:
                assert f"{package}/{path.relative_to(folder).as_posix()}" in names


def test_command(wheel):
    _, texts = wheel
    (entry,) = [text for name, text in texts.items() if name.endswith("entry_points.txt")]
    assert "valvetrain = valvetrain_cli.start:start" in entry
