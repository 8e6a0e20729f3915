"""The guide as one HTML file: nothing fetched, every text escaped."""

import re
from collections.abc import Sequence
from importlib.resources import files
from typing import TYPE_CHECKING

from valvetrain.report.drawing import Drawing, svg
from valvetrain.report.guide.other_views import OTHER_VIEWS
from valvetrain.report.guide.side_views import SIDE_VIEWS
from valvetrain.report.guide.topic import Topic
from valvetrain.report.guide.topics import GROUPS, entries

if TYPE_CHECKING:
    from markupsafe import Markup

__all__ = ["DRAWINGS", "guide_page"]

DRAWINGS = SIDE_VIEWS | OTHER_VIEWS
"""Name -> function that draws it."""


def guide_page(topics: Sequence[Topic]) -> str:
    """Write the page for some topics, grouped, in the order of the work."""
    from jinja2 import Environment, PackageLoader, StrictUndefined

    environment = Environment(
        loader=PackageLoader("valvetrain.report.guide", ""),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    environment.filters["ticked"] = _ticked
    sheets = (("valvetrain.report", "page.css"), ("valvetrain.report.guide", "guide.css"))
    style = "\n".join(files(room).joinpath(name).read_text(encoding="utf-8") for room, name in sheets)
    chosen = [(group, [each for each in own if each in topics]) for group, own in GROUPS]
    drawn: dict[str, tuple[str, str] | None] = {}
    for topic in topics:
        if topic.drawing:
            drawing: Drawing = DRAWINGS[topic.drawing]()
            drawn[topic.name] = (svg(drawing, f"drawn-{topic.name}"), drawing.title)
        else:
            drawn[topic.name] = None
    return environment.get_template("guide.html.j2").render(
        style=style,
        groups=[(group, own) for group, own in chosen if own],
        drawings=drawn,
        entries={topic.name: entries(topic) for topic in topics},
    )


def _ticked(text: str) -> "Markup":
    """Escape a text, and set what stands between backticks as code."""
    from markupsafe import Markup, escape

    return Markup(re.sub(r"`([^`]+)`", r"<code>\1</code>", str(escape(text))))
