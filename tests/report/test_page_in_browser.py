"""The page in real Chromium: read, moved by mouse and keys, printed, and checked for accessibility.

Every test also holds that the console stays empty and nothing is requested (the fixture `opened`).
"""

import os
import re
from pathlib import Path

import pytest

from tests.report.report_pages import Seen, made, missing
from valvetrain.report.html import html_page


def moved_to(page, angle):
    page.eval_on_selector(
        "#mv-crank", "(slider, at) => { slider.value = at; slider.dispatchEvent(new Event('input')); }", angle
    )


def center(page, selector):
    """Where a circle's center is drawn [mm], in the valve's own frame."""
    return page.eval_on_selector(
        selector,
        """circle => {
            const scene = document.getElementById('mv-scene');
            const here = scene.getScreenCTM().inverse().multiply(circle.getScreenCTM());
            const at = new DOMPoint(circle.cx.baseVal.value, circle.cy.baseVal.value).matrixTransform(here);
            return [at.x, -at.y];
        }""",
    )


def test_first_screen_says_the_verdicts(opened):
    headline = opened.locator(".headline")
    assert "to put right" in headline.inner_text()
    table = opened.locator("table.glance")
    box = table.bounding_box()
    assert box["y"] + box["height"] < 900
    row = table.locator("tr", has=opened.locator("a[href='#q-rocker']"))
    assert row.inner_text().count("OUT") == 2


@pytest.mark.parametrize("share", [0.35, 0.7, 1.0])
def test_pad_is_drawn_where_the_contact_is_computed(opened, reground, share):
    own = next(each for each in reground[1].moving["valves"] if each["name"] == "2E")
    opened.select_option("#mv-valve", "2E")
    lift = own["valve_lift"]
    top = lift.index(max(lift))
    place = next(k for k in range(top + 1) if lift[k] >= share * max(lift) - 1e-9)
    moved_to(opened, 2 * place)
    x, y = center(opened, "#mv-pad")
    # A round pad touches a flat tip straight below its center, and the tip is down by the lift.
    assert x == pytest.approx(own["contact_x"][place], abs=0.01)
    assert y - own["size"]["pad_radius"] == pytest.approx(-lift[place], abs=0.01)
    pointer = opened.locator("#mv-point").get_attribute("transform")
    assert float(re.search(r"translate\((-?[\d.]+)", pointer)[1]) == pytest.approx(
        own["contact_x"][place], abs=1e-6
    )
    assert opened.locator("#mv-contact").inner_text().startswith(f"{own['readings']['contact'][place]:.4f}")
    assert opened.locator("#mv-lift").inner_text() == f"{own['readings']['lift'][place]:.4f} in"
    assert opened.locator("#mv-ratio").inner_text() == f"{own['ratio'][place]:.3f}"
    assert opened.locator("#mv-load").inner_text() == f"{own['readings']['load'][place]:.1f} lbf"


def test_on_the_base_circle_the_lash_is_open(opened, reground):
    own = reground[1].moving["valves"][0]
    place = own["valve_lift"].index(0)
    moved_to(opened, 2 * place)
    assert opened.locator("#mv-gap").inner_text() == f"{own['readings']['gap'][place]:.4f} in"
    assert opened.locator("#mv-contact").inner_text() == "not touching"
    assert opened.locator("#mv-point").get_attribute("visibility") == "hidden"


def test_keys_move_the_rocker(opened):
    moved_to(opened, 60)
    before = center(opened, "#mv-pad")
    opened.focus("#mv-crank")
    opened.keyboard.press("ArrowRight")
    assert opened.locator("#mv-angle").inner_text() == "62 deg"
    opened.keyboard.press("PageUp")
    assert opened.locator("#mv-angle").inner_text() == "82 deg"
    assert center(opened, "#mv-pad") != before
    opened.keyboard.press("Home")
    assert opened.locator("#mv-angle").inner_text() == "0 deg"


def test_valve_selector_holds_every_drawn_valve(opened, reground):
    names = opened.eval_on_selector_all("#mv-valve option", "all => all.map(each => each.value)")
    assert names == [each["name"] for each in reground[1].moving["valves"]]
    assert "6E" in opened.locator("#mv-note").inner_text()
    opened.select_option("#mv-valve", "4I")
    assert "4I" in opened.locator("#mv-title").text_content()


def test_play_runs_and_pauses(opened):
    opened.click("#mv-play")
    assert opened.locator("#mv-play").get_attribute("aria-pressed") == "true"
    first = opened.locator("#mv-angle").inner_text()
    opened.wait_for_function("text => document.getElementById('mv-angle').textContent !== text", arg=first)
    opened.keyboard.press("Enter")
    assert opened.locator("#mv-play").get_attribute("aria-pressed") == "false"
    at = opened.locator("#mv-angle").inner_text()
    assert at == f"{opened.input_value('#mv-crank')} deg"


def test_less_motion_is_honored(browser, reground_html):
    context = browser.new_context(reduced_motion="reduce")
    page = context.new_page()
    page.goto(reground_html.as_uri())
    moved_to(page, 100)
    page.click("#mv-play")
    assert page.locator("#mv-angle").inner_text() == "110 deg"
    page.wait_for_timeout(150)
    assert page.locator("#mv-angle").inner_text() == "110 deg"
    context.close()


@pytest.mark.parametrize("width", [768, 640, 400])
def test_nothing_runs_out_of_the_side(opened, width):
    """A tablet, and 200 % zoom of a 1280 and an 800 screen."""
    opened.set_viewport_size({"width": width, "height": 600})
    assert opened.evaluate("document.documentElement.scrollWidth") <= width


@pytest.mark.parametrize("paper", ["Letter", "A4"])
def test_prints_the_card_on_its_own_pages(opened, paper):
    import io

    from pypdf import PdfReader

    texts = [page.extract_text() for page in PdfReader(io.BytesIO(opened.pdf(format=paper))).pages]
    first = next(number for number, text in enumerate(texts) if "At a glance" in text)
    assert 1 <= first <= 2
    card = " ".join(texts[:first])
    assert "Bench card" in card
    assert "Fit, valve by valve" in card
    assert "Set, and write what is found" in card
    assert "Bench card" not in " ".join(texts[first:])
    # What is folded on the screen is open on paper.
    assert "Limits, and what they rest on" in " ".join(texts)
    assert "your own limit" in " ".join(texts)


def test_formulas_are_printed_where_they_are_asked_for(opened):
    import io

    from pypdf import PdfReader

    def printed(button):
        opened.evaluate("() => { window.print = () => {}; }")
        opened.click(f"[data-print='{button}']")
        pages = PdfReader(io.BytesIO(opened.pdf(format="A4"))).pages
        return len(pages), "\n".join(page.extract_text() for page in pages)

    card, text = printed("card")
    assert card <= 2
    assert "At a glance" not in text
    opened.evaluate("() => document.body.classList.remove('card-only')")
    found, text = printed("found")
    assert "Inputs and result: gross lift" not in text
    assert "Limits, and what they rest on" in text
    every, text = printed("all")
    assert "Inputs and result: gross lift" in text
    assert every > found > card


def test_no_serious_accessibility_fault(browser, reground_html):
    path = os.environ.get("AXE_PATH")
    if not path or not Path(path).is_file():
        missing("axe-core (AXE_PATH)")
    context = browser.new_context(bypass_csp=True)
    page = context.new_page()
    page.goto(reground_html.as_uri())
    page.evaluate("() => document.querySelectorAll('details').forEach(each => { each.open = true; })")
    page.evaluate(Path(path).read_text(encoding="utf-8"))
    found = page.evaluate("async () => (await axe.run(document)).violations")
    bad = [
        (each["id"], each["nodes"][0]["html"][:120])
        for each in found
        if each["impact"] in ("serious", "critical")
    ]
    assert bad == []
    context.close()


def test_hostile_title_does_nothing(browser, tmp_path, sample, edited):
    folder = sample("pump_twin")
    hostile = (
        "<script>document.title='gone'</script><img src=x onerror=\\\"document.title='gone'\\\">"
        " \u05e9\u05dc\u05d5\u05dd \U0001f527"
    )
    edited(folder / "setup.toml", ('title = "Pump twin (invented engine)"', f'title = "{hostile}"'))
    path = tmp_path / "page.html"
    path.write_text(html_page(made(folder)[1]), encoding="utf-8")
    page = browser.new_page()
    seen = Seen(page)
    page.goto(path.as_uri())
    assert page.title().startswith("<script>")
    assert page.locator("h1").inner_text() == hostile.replace('\\"', '"')
    seen.assert_quiet(path)
    page.close()
