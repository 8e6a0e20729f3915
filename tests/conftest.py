"""Fixtures that tests share: a copy of a sample sheet to change, and the command line."""

import json
import os
import shutil
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner, Result

from tests.engine_folders import engine_folder

# As the command does: the matrices are small, and two workers share two cores.
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")


@pytest.fixture
def sample(tmp_path: Path) -> Callable[[str], Path]:
    """Give a copy of a sample's folder that a test may change."""

    def copied(name: str = "plain_six") -> Path:
        return Path(shutil.copytree(engine_folder(name), tmp_path / name))

    return copied


@pytest.fixture
def run() -> Callable[..., Result]:
    """Run the command line in this process."""

    def invoked(*arguments: object) -> Result:
        from valvetrain_cli.main import main

        result = CliRunner().invoke(main, [str(each) for each in arguments])
        if result.exception is not None and not isinstance(result.exception, SystemExit):
            raise result.exception
        return result

    return invoked


@pytest.fixture
def document(run: Callable[..., Result]) -> Callable[..., dict[str, Any]]:
    """Run the command line with --json and read its document."""

    def read(*arguments: object) -> dict[str, Any]:
        result = run(*arguments, "--json")
        assert result.exit_code in (0, 1), result.output
        found: dict[str, Any] = json.loads(result.stdout)
        return found

    return read


@pytest.fixture
def edited() -> Callable[..., None]:
    """Replace text in a file; the text must be there."""

    def replace(path: Path, *pairs: tuple[str, str]) -> None:
        text = path.read_text()
        for old, new in pairs:
            assert old in text, f"{old!r} is not in {path.name}"
            text = text.replace(old, new)
        path.write_text(text)

    return replace


@pytest.fixture(scope="session")
def browser():
    """Chromium without a window; one for all tests of a process, as a second would not start beside it."""
    from tests.report.report_pages import missing

    program = shutil.which("chromium") or shutil.which("chromium-browser")
    if program is None:
        missing("chromium")
    try:
        from playwright.sync_api import sync_playwright
    except ImportError:
        missing("playwright")
    with sync_playwright() as running:
        opened = running.chromium.launch(executable_path=program, args=["--no-sandbox"])
        yield opened
        opened.close()
