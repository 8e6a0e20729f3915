"""A row of rockers cold and hot: what the growth of head and shaft does to offsets and end clearances.

Free growth of each part is expansion x length x rise (derived). Stems and stands go with the head; hubs,
shims, spacers and what is pinned to the shaft go with the shaft, which the head holds at one wall.
"""

from collections.abc import Collection, Sequence
from dataclasses import dataclass, replace

from valvetrain.mechanics.row.shaft import Part, Rocker, Shim, Spacer, Spring, Stand, placed

__all__ = ["RockerGrowth", "grown", "row_growth"]


@dataclass(frozen=True)
class RockerGrowth:
    """Change from cold to hot [m]: of the offset (positive toward the rear) and of the end clearance."""

    valve: str
    offset: float
    end_clearance: float


def grown(
    row: Sequence[Part], head_strain: float, shaft_strain: float, on_shaft: Collection[str], fixed_at: str
) -> tuple[Part, ...]:
    """The row hot, in positions along the head, which keeps its place where the shaft is fixed.

    Args:
        row: cold.
        head_strain, shaft_strain: expansion x rise of each.
        on_shaft: names of the walls that are pinned to the shaft; the others stand on the head.
        fixed_at: name of the wall at which the head holds the shaft.

    Raises ValueError when that wall is not in the row.
    """
    walls = {part.name: part.position for part in row if isinstance(part, Stand)}
    if fixed_at not in walls:
        raise ValueError(f"'{fixed_at}' is not a wall of the row; its walls are {', '.join(walls)}")
    datum = walls[fixed_at]
    head, shaft = 1 + head_strain, 1 + shaft_strain

    def hot(part: Part) -> Part:
        if isinstance(part, Stand):
            by = shaft if part.name in on_shaft else head
            return replace(part, position=datum + (part.position - datum) * by, width=part.width * by)
        if isinstance(part, Rocker):
            return replace(
                part,
                hub_width=part.hub_width * shaft,
                pad_position=part.pad_position * shaft,
                stem=datum + (part.stem - datum) * head,
            )
        if isinstance(part, Shim):
            return Shim(part.thickness * shaft)
        if isinstance(part, Spacer):
            return replace(part, width=part.width * shaft, most=max(part.most, part.width * shaft))
        assert isinstance(part, Spring)
        return part

    return tuple(hot(part) for part in row)


def row_growth(
    row: Sequence[Part], head_strain: float, shaft_strain: float, on_shaft: Collection[str], fixed_at: str
) -> tuple[RockerGrowth, ...]:
    """Change of every rocker from cold to hot, front to rear; arguments as for `grown`."""
    cold = placed(tuple(row)).rockers
    hot = placed(grown(row, head_strain, shaft_strain, on_shaft, fixed_at)).rockers
    return tuple(
        RockerGrowth(now.valve, then.offset - now.offset, then.end_clearance - now.end_clearance)
        for now, then in zip(cold, hot, strict=True)
    )
