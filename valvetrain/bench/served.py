"""The bench's pages, made by templates that escape every text."""

from functools import cache
from importlib.resources import files
from typing import TYPE_CHECKING, Any

from valvetrain.answers.table import Table
from valvetrain.report.model import BOX

if TYPE_CHECKING:
    from jinja2 import Environment

__all__ = ["SERVED", "page", "served"]

# what may be asked for by name: (package, type)
SERVED = {
    "bench.js": ("valvetrain.bench", "text/javascript"),
    "shop.js": ("valvetrain.bench", "text/javascript"),
    "bench.css": ("valvetrain.bench", "text/css"),
    "page.css": ("valvetrain.report", "text/css"),
    "moving.js": ("valvetrain.report", "text/javascript"),
}


@cache
def served(name: str) -> tuple[str, str]:
    """Return text and type of a file of the page; KeyError for any other name."""
    package, kind = SERVED[name]
    folder = files(package)
    place = folder.joinpath("pages", name) if package == "valvetrain.bench" else folder.joinpath(name)
    return place.read_text(encoding="utf-8"), kind


def page(template: str, /, **told: Any) -> str:
    """Fill in a template."""
    return _environment().get_template(f"{template}.html.j2").render(**told)


@cache
def _environment() -> "Environment":
    from jinja2 import Environment, PackageLoader, StrictUndefined

    environment = Environment(
        loader=PackageLoader("valvetrain.bench", "pages"),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    environment.globals["box"] = BOX
    environment.tests["table"] = lambda block: isinstance(block, Table)
    return environment
