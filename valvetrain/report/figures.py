"""A figure on its way into a page: small SVG text, or a PDF that is laid into another."""

import base64
import gc
import io
import re
import warnings
from collections.abc import Iterator
from contextlib import contextmanager
from typing import TYPE_CHECKING

from valvetrain.report.model import Drawing
from valvetrain.report.quick_layout import laid_out

if TYPE_CHECKING:
    from matplotlib.figure import Figure

__all__ = ["data_address", "drawing_of", "uncollected"]

# Points are drawn to a hundredth: finer than any printer.
_LONG = re.compile(r"(?<![\w#-])(-?\d+\.\d{3,})")
_TAG = re.compile(r"<[^>]*>")
_DROPPED = re.compile(r"<metadata>.*?</metadata>|<!--.*?-->", re.DOTALL)
_SPACE = re.compile(r"\s*\n\s*")


def drawing_of(figure: "Figure", form: str) -> Drawing:
    """Draw a figure as "svg" or "pdf"; its title becomes the caption."""
    from matplotlib import rc_context

    title = " ".join(figure.get_suptitle().split())
    figure.suptitle("")
    out = io.BytesIO()
    with (
        rc_context({"svg.fonttype": "none", "svg.hashsalt": "valvetrain", "pdf.fonttype": 42}),
        warnings.catch_warnings(),
    ):
        # A name in the sheet may hold signs that the font of the plots has not: a box is drawn for them.
        warnings.filterwarnings("ignore", message="Glyph .* missing from", category=UserWarning)
        laid_out(figure)
        figure.savefig(out, format=form, metadata={"Date": None} if form == "svg" else {"CreationDate": None})
    alternative = f"Plot: {title}. Its figures stand in the tables of this section."
    if form == "pdf":
        return Drawing(title, alternative, pdf=out.getvalue())
    return Drawing(title, alternative, svg=_smaller(out.getvalue().decode()))


@contextmanager
def uncollected() -> Iterator[None]:
    """Draw without looking for garbage, a fifth of a figure's time: its parts all live to its end."""
    was = gc.isenabled()
    gc.disable()
    try:
        yield
    finally:
        if was:
            gc.enable()


def data_address(svg: str) -> str:
    """Return SVG as an address that needs no request."""
    return f"data:image/svg+xml;base64,{base64.b64encode(svg.encode()).decode()}"


def _smaller(svg: str) -> str:
    """Drop what is not drawn, and digits that nobody sees."""
    body = svg[svg.index("<svg") :]
    # Only what lies inside a tag is a place; between tags stand the words and numbers that are read.
    short = _TAG.sub(lambda tag: _LONG.sub(_hundredths, tag[0]), _DROPPED.sub("", body))
    return _SPACE.sub("\n", short)


def _hundredths(number: re.Match[str]) -> str:
    return f"{float(number[1]):.2f}".rstrip("0").rstrip(".")
