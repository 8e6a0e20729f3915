"""Every shaft from above on one page, as it stands and by the plan."""

from collections import Counter
from typing import Any

from matplotlib.figure import Figure

from valvetrain.answers.style import BODY, LARGE
from valvetrain.mechanics.row.shaft import Rocker, Shim, Stand
from valvetrain.parts.row import ShaftRow
from valvetrain.questions.center.row_drawing import shaft_row, shaft_row_key
from valvetrain.questions.center.study import CenteringResult
from valvetrain.setup.setup import Setup
from valvetrain.setup.units import display_unit

__all__ = ["shaft_sheet"]


def shaft_sheet(setup: Setup, result: CenteringResult, system: str) -> Figure:
    """Draw every shaft before and after the plan; `system` is "inch" or "metric".

    Raises ValueError where the sheet describes no shaft.
    """
    if result.shafts is None:
        raise ValueError("the sheet describes no shaft as a row")
    pairs = list(zip(result.shafts.before, result.shafts.after, strict=True))
    unknown = {v for v, x in zip(result.valves, result.offset_before.value, strict=True) if x != x}
    strips = 2 * len(pairs)
    figure = Figure(figsize=(10.5, 1.1 + 1.9 * strips), layout="constrained")
    axes = figure.subplots(strips, 1, squeeze=False)[:, 0]
    changed = bool(result.shafts.plan.changes)
    for number, (before, after) in enumerate(pairs):
        name = f"shaft {after.name}, " if after.name else ""
        gone, new = _changed(before, after), _changed(after, before)
        for row, marked, ax, words in (
            (before, gone, axes[2 * number], "as it stands"),
            (after, new, axes[2 * number + 1], "by the plan" if changed else "by the plan: nothing changes"),
        ):
            shaft_row(setup, row, ax, system=system, unknown=unknown, marked=marked)
            ax.set_title(f"{name}{words}", loc="left", fontsize=BODY, fontweight="bold")
    figure.suptitle(
        f"{setup.title}: shaft from above, to scale", fontsize=LARGE, fontweight="bold", parse_math=False
    )
    handles: Any = shaft_row_key()
    unit = display_unit("length", system)
    figure.legend(
        handles=handles,
        title=f"along the shaft, toward the flywheel end [{unit}]; under each stem its rocker's offset",
        title_fontsize=BODY,
        loc="outside lower center",
        ncols=len(handles),
        fontsize=BODY,
        frameon=False,
        columnspacing=1.4,
        handlelength=2.0,
    )
    return figure


def _changed(row: ShaftRow, other: ShaftRow) -> list[tuple[int, float]]:
    """Shims of a row that the other does not have in the same place."""
    return list((Counter(_shims(row)) - Counter(_shims(other))).elements())


def _shims(row: ShaftRow) -> list[tuple[int, float]]:
    ahead, found = 0, []
    for part in row.parts:
        if isinstance(part, Stand | Rocker):
            ahead += 1
        elif isinstance(part, Shim):
            found.append((ahead, part.thickness))
    return found
