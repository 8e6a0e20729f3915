"""The guide's page in a real browser."""

import os
from pathlib import Path

import pytest

from tests.report.report_pages import Seen, missing
from valvetrain.report.guide.page import guide_page
from valvetrain.report.guide.topics import TOPICS


@pytest.fixture(scope="module")
def guide_html(tmp_path_factory):
    path = tmp_path_factory.mktemp("guide") / "guide.html"
    path.write_text(guide_page(TOPICS), encoding="utf-8")
    return path


@pytest.mark.parametrize("width", [1280, 768, 400])
def test_fits_and_is_quiet(browser, guide_html, width):
    context = browser.new_context(viewport={"width": width, "height": 700})
    page = context.new_page()
    seen = Seen(page)
    page.goto(guide_html.as_uri())
    assert page.evaluate("document.documentElement.scrollWidth") <= width
    # words of the drawings stay inside of them
    outside = page.evaluate(
        """() => [...document.querySelectorAll('svg text')].filter(word => {
            const a = word.getBoundingClientRect(), b = word.ownerSVGElement.getBoundingClientRect();
            const across = a.left < b.left - 1 || a.right > b.right + 1;
            return across || a.top < b.top - 1 || a.bottom > b.bottom + 1;
        }).map(word => word.textContent)"""
    )
    assert outside == []
    page.click("nav a[href='#ink']")
    assert page.url.endswith("#ink")
    seen.assert_quiet(guide_html)
    context.close()


def test_no_serious_accessibility_fault(browser, guide_html):
    path = os.environ.get("AXE_PATH")
    if not path or not Path(path).is_file():
        missing("axe-core (AXE_PATH)")
    context = browser.new_context(bypass_csp=True)
    page = context.new_page()
    page.goto(guide_html.as_uri())
    page.evaluate(Path(path).read_text(encoding="utf-8"))
    found = page.evaluate("async () => (await axe.run(document)).violations")
    bad = [
        (each["id"], each["nodes"][0]["html"][:120])
        for each in found
        if each["impact"] in ("serious", "critical")
    ]
    assert bad == []
    context.close()
