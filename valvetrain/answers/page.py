"""One page with a panel a valve, and its way into a file."""

import math
import textwrap
from collections.abc import Iterable, Sequence
from pathlib import Path
from typing import Any

from matplotlib import rc_context
from matplotlib.artist import Artist
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.layout_engine import ConstrainedLayoutEngine

from valvetrain.answers.style import BODY, LARGE

__all__ = ["on_one_scale", "page", "saved"]

# What both letter and A4 hold in landscape, less a margin [inch].
_WIDTH, _HEIGHT = 10.5, 7.8
_PANELS = 12

# Of the height, what title, axis label and key take [inch].
_FRAME = 1.0

# Letters of a title that fit the page at its full size.
_TITLE = 82


def page(
    title: str,
    valves: Sequence[str],
    *,
    across: str,
    along: str,
    key: Sequence[Artist] = (),
    columns: int = 4,
    aspect: float = 1.0,
) -> tuple[Figure, dict[str, Axes]]:
    """Make a page with a panel a valve, in the engine's order, row by row.

    Args:
        title: of the page.
        valves: their names; more than twelve make the page taller, never the letters smaller.
        across, along: what the horizontal and vertical axes of all panels show, with the unit.
        key: lines and marks explained at the foot.
        columns: panels side by side; twelve panels fill the page.
        aspect: of a panel, height over width, that its drawing fills; a page of few panels is cut to it.
    """
    rows_a_page = _PANELS / columns
    columns = columns if len(valves) > 4 else min(2, len(valves))
    rows = math.ceil(len(valves) / columns)
    filled = _FRAME + rows * aspect * _WIDTH / columns
    height = min(filled, _HEIGHT * max(1.0, rows / rows_a_page))
    layout = ConstrainedLayoutEngine(w_pad=0.06, h_pad=0.06, wspace=0.03, hspace=0.03)
    figure = Figure(figsize=(_WIDTH, height), layout=layout)
    panels = figure.subplots(rows, columns, squeeze=False).ravel()
    for spare in panels[len(valves) :]:
        spare.remove()
    size = max(BODY, LARGE * min(1.0, _TITLE / len(title)))
    wrapped = textwrap.fill(title, round(_TITLE * LARGE / size))
    # A title is the owner's: a dollar sign in it is a dollar sign.
    figure.suptitle(wrapped, fontsize=size, fontweight="bold", parse_math=False)
    figure.supylabel(along, fontsize=BODY)
    if key:
        handles: Any = list(key)
        figure.legend(
            handles=handles,
            title=across,
            title_fontsize=BODY,
            loc="outside lower center",
            ncols=len(handles),
            fontsize=BODY,
            frameon=False,
            handlelength=3.0,
            columnspacing=1.6,
        )
    else:
        figure.supxlabel(across, fontsize=BODY)
    return figure, dict(zip(valves, panels, strict=False))


def on_one_scale(panels: Iterable[Axes], *, across: bool, along: bool) -> None:
    """Give every panel that was drawn the same limits, so that valves compare; a falling axis stays so."""
    drawn = [ax for ax in panels if ax.lines]
    if not drawn:
        return
    for wanted, read, write in (
        (across, Axes.get_xlim, Axes.set_xlim),
        (along, Axes.get_ylim, Axes.set_ylim),
    ):
        if not wanted:
            continue
        ends = [read(ax) for ax in drawn]
        falling = ends[0][0] > ends[0][1]
        first, last = (max, min) if falling else (min, max)
        for ax in drawn:
            write(ax, first(end[0] for end in ends), last(end[1] for end in ends))
    for ax in drawn:
        if across and along:
            ax.label_outer()


def saved(figure: Figure, path: Path | str) -> None:
    """Write a figure to a .png, .svg or .pdf file; the same figure gives the same file."""
    ending = Path(path).suffix.lower()
    dates: dict[str, dict[str, Any]] = {".svg": {"Date": None}, ".pdf": {"CreationDate": None}}
    with rc_context({"svg.hashsalt": "valvetrain", "pdf.fonttype": 42}):
        figure.savefig(path, dpi=150, bbox_inches="tight", pad_inches=0.15, metadata=dates.get(ending))
