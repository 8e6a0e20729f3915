"""The page as one HTML file: every text escaped, nothing fetched from anywhere."""

import base64
import hashlib
import json
from importlib.resources import files
from typing import TYPE_CHECKING, Any

from valvetrain.answers.table import Table
from valvetrain.report.figures import data_address
from valvetrain.report.model import BOX, Page

if TYPE_CHECKING:
    from jinja2 import Environment

__all__ = ["html_page", "script_json"]

# Width of letter paper without its margins and the ticks' indent, and A4's height in use [points].
_ACROSS, _DOWN = 500.0, 0.95 * 720.0

WORDS = {"ok": "ok", "out": "OUT", "unsure": "unsure", "unmeasured": "not measured", "": "-"}


def html_page(page: Page) -> str:
    """Write the page."""
    folder = files("valvetrain.report")
    template = _environment().get_template("page.html.j2")
    script = "\n" + folder.joinpath("moving.js").read_text(encoding="utf-8") + "\n"
    return template.render(
        page=page,
        words=WORDS,
        letters=card_letters(page),
        style=folder.joinpath("page.css").read_text(encoding="utf-8"),
        script=script,
        # The browser runs this script and no other, whatever a text of the sheet may hold.
        script_hash=base64.b64encode(hashlib.sha256(script.encode()).digest()).decode(),
        data=script_json(page.moving) if page.moving else "",
    )


def card_letters(page: Page) -> float:
    """Return the largest letters [points] with which the printed bench card should take two pages.

    A browser tells a page nothing of its paper: the height is reckoned from the length of the texts, for the
    shorter and narrower of letter and A4, with a share to spare.
    """
    tables = [each for each in (page.card.fit, page.card.set_up) if each is not None]
    for letters in (12.0, 11.0, 10.0, 9.0):
        across = _ACROSS / (0.47 * letters)
        lines = 3.0
        for stage in page.stages:
            steps = [len(step.where) + len(step.what) + 6 for step in stage.steps] or [len(stage.none)]
            lines += 1.1 + sum(0.15 + -(-length // across) for length in steps)
        cautions = sum(len(caution) + 9 for caution in page.cautions) / across * 0.5 + 2.0
        # Tables are not broken over pages: one that no longer fits begins the next.
        pages, used = 1, 1.25 * letters * lines
        for rows in [len(table.rows) + 3.5 for table in tables]:
            height = 1.75 * letters * rows
            if used + height > _DOWN:
                pages, used = pages + 1, 0.0
            used += height
        if pages + (used + 1.25 * letters * cautions > _DOWN) <= 2:
            break
    return letters


def script_json(data: Any) -> str:
    """Write JSON that may stand inside a script element: no text in it can end the element."""
    text = json.dumps(data, ensure_ascii=False, allow_nan=False, separators=(",", ":"))
    return (
        text.replace("&", "\\u0026")
        .replace("<", "\\u003c")
        .replace(">", "\\u003e")
        .replace("\u2028", "\\u2028")
        .replace("\u2029", "\\u2029")
    )


def _environment() -> "Environment":
    from jinja2 import Environment, PackageLoader, StrictUndefined

    environment = Environment(
        loader=PackageLoader("valvetrain.report", ""),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    environment.globals["box"] = BOX
    environment.filters["address"] = data_address
    environment.tests["table"] = lambda block: isinstance(block, Table)
    return environment
