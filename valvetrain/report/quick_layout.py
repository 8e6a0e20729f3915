"""A quicker layout for pages of like panels: a few are measured, where the general layout measures all."""

import math
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from matplotlib.figure import Figure

__all__ = ["laid_out"]

# Fewer panels are left to the general layout, which is quick enough for them.
_FEWEST = 6
_GAP = 6.0  # pixels between what panels write


def laid_out(figure: "Figure") -> bool:
    """Lay out a page that is one grid of like panels; False, and nothing done, where it is another page."""
    from matplotlib.gridspec import GridSpec

    axes = figure.axes
    specs = [ax.get_subplotspec() for ax in axes]
    grids = {id(spec.get_gridspec()) for spec in specs if spec is not None}
    if (
        len(axes) < _FEWEST
        or len(grids) != 1
        or any(spec is None or spec.num1 != spec.num2 for spec in specs)
    ):
        return False
    first = specs[0]
    grid = first.get_gridspec() if first is not None else None
    if type(grid) is not GridSpec:
        return False
    figure.set_layout_engine("none")
    width, height = figure.bbox.width, figure.bbox.height
    renderer: Any = figure._get_renderer()  # type: ignore[attr-defined]
    rows, columns = grid.nrows, grid.ncols
    left, bottom, right, top = _written(figure, axes, columns, renderer)
    low = sum(
        artist.get_window_extent(renderer).height + 2 * _GAP
        for artist in (*figure.legends, getattr(figure, "_supxlabel", None))
        if artist is not None
    )
    side = getattr(figure, "_supylabel", None)
    aside = side.get_window_extent(renderer).width + 2 * _GAP if side is not None else _GAP
    if side is not None:
        side.set_x(_GAP / width)
    room_x = (width - aside - _GAP) / columns
    room_y = (height - low - _GAP) / rows
    for ax, spec in zip(axes, specs, strict=True):
        assert spec is not None
        row, column = divmod(spec.num1, columns)
        x, y = aside + column * room_x + left, low + (rows - 1 - row) * room_y + bottom
        ax.set_position(
            (x / width, y / height, (room_x - left - right) / width, (room_y - bottom - top) / height)
        )
    return True


def _written(
    figure: "Figure", axes: list[Any], columns: int, renderer: Any
) -> tuple[float, float, float, float]:
    """How far the panels' writing reaches beyond their axes [pixels]: left, below, right, above."""
    # The corners hold every kind of panel: with and without tick labels; titles are measured all.
    kinds = {0, min(columns - 1, len(axes) - 1), len(axes) - 1, len(axes) - columns}
    left = bottom = right = top = _GAP / 2
    for place in sorted(kinds):
        ax = axes[max(place, 0)]
        outer, inner = ax.get_tightbbox(renderer), ax.get_window_extent(renderer)
        left, bottom = max(left, inner.x0 - outer.x0), max(bottom, inner.y0 - outer.y0)
        right = max(right, min(outer.x1 - inner.x1, 3 * _GAP))
    for ax in axes:
        for title in (ax.title, ax._left_title, ax._right_title):
            if title.get_text():
                lines = title.get_text().count("\n") + 1
                top = max(top, lines * 1.2 * title.get_fontsize() * figure.dpi / 72 + _GAP)
    return tuple(math.ceil(each) + _GAP / 2 for each in (left, bottom, right, top))  # type: ignore[return-value]
