"""The page as one HTML file: every text escaped, nothing fetched from anywhere."""

import base64
import hashlib
import json
from importlib.resources import files
from typing import TYPE_CHECKING, Any

from valvetrain.report.figures import data_address
from valvetrain.report.model import Page, Table

if TYPE_CHECKING:
    from jinja2 import Environment

__all__ = ["html_page", "script_json"]

WORDS = {"ok": "ok", "out": "OUT", "unsure": "unsure", "unmeasured": "not measured", "": "-"}


def html_page(page: Page) -> str:
    """Write the page."""
    folder = files("valvetrain.report")
    template = _environment().get_template("page.html.j2")
    script = "\n" + folder.joinpath("moving.js").read_text(encoding="utf-8") + "\n"
    return template.render(
        page=page,
        words=WORDS,
        style=folder.joinpath("page.css").read_text(encoding="utf-8"),
        script=script,
        # The browser runs this script and no other, whatever a text of the sheet may hold.
        script_hash=base64.b64encode(hashlib.sha256(script.encode()).digest()).decode(),
        data=script_json(page.moving) if page.moving else "",
    )


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
    environment.filters["address"] = data_address
    environment.tests["table"] = lambda block: isinstance(block, Table)
    return environment
