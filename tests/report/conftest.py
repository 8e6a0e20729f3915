"""Pages of the samples, and a real browser to read them in."""

import pytest

from tests.engine_folders import engine_folder
from tests.report.report_pages import Seen, made
from valvetrain.report.html import html_page


@pytest.fixture(scope="session")
def reground():
    return made(engine_folder("faulted_six"))


@pytest.fixture(scope="session")
def reground_html(reground, tmp_path_factory):
    path = tmp_path_factory.mktemp("page") / "reground.html"
    path.write_text(html_page(reground[1]), encoding="utf-8")
    return path


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
