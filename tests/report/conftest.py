"""Pages of the samples, and a real browser to read them in."""

import shutil

import pytest

from tests.engine_folders import engine_folder
from tests.report.report_pages import Seen, made, missing
from valvetrain.report.html import html_page


@pytest.fixture(scope="session")
def reground():
    return made(engine_folder("faulted_six"))


@pytest.fixture(scope="session")
def reground_html(reground, tmp_path_factory):
    path = tmp_path_factory.mktemp("page") / "reground.html"
    path.write_text(html_page(reground[1]), encoding="utf-8")
    return path


@pytest.fixture(scope="session")
def browser():
    """Chromium without a window."""
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


@pytest.fixture
def opened(browser, reground_html):
    """The page of reground_head in a window, and what it did; it must have been quiet at the end."""
    context = browser.new_context(viewport={"width": 1280, "height": 900})
    page = context.new_page()
    seen = Seen(page)
    page.goto(reground_html.as_uri())
    yield page
    seen.assert_quiet(reground_html)
    context.close()
