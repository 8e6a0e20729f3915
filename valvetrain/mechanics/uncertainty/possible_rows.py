"""A function of many rows, some of which cannot be: these come out unknown, the others as ever."""

from collections.abc import Callable, Mapping

import numpy as np

from valvetrain.mechanics.arrays import FloatArray

__all__ = ["where_possible"]

Rows = Mapping[str, FloatArray]


def where_possible(function: Callable[[Rows], Rows]) -> Callable[[Rows], Rows]:
    """Return `function` with NaN in every row for which it raises ValueError.

    An input moved by its uncertainty, or drawn, may come to what cannot be assembled: a hole smaller than
    what is in it. All rows are one call; only where that raises are they parted, by halves.

    Args:
        function: mapping of [k, n] arrays in and out; the rows are independent.

    Raises:
        ValueError: where no row at all can be.
    """

    def found(rows: Rows) -> Rows:
        try:
            return function(rows)
        except ValueError as error:
            count = max(len(each) for each in rows.values())
            pieces: list[tuple[slice, Rows | None]] = []
            _parted(function, rows, 0, count, pieces)
            known = next((outputs for _, outputs in pieces if outputs is not None), None)
            if known is None:
                raise error
            whole = {name: np.full((count, *np.shape(output)[1:]), np.nan) for name, output in known.items()}
            for place, outputs in pieces:
                for name, output in (outputs or {}).items():
                    whole[name][place] = output
            return whole

    return found


def _parted(
    function: Callable[[Rows], Rows],
    rows: Rows,
    first: int,
    last: int,
    pieces: list[tuple[slice, Rows | None]],
) -> None:
    """Evaluate the rows from `first` up to `last`, by halves as long as one of them cannot be."""
    own = {name: each[first:last] if len(each) > 1 else each for name, each in rows.items()}
    try:
        pieces.append((slice(first, last), function(own)))
    except ValueError:
        if last - first == 1:
            pieces.append((slice(first, last), None))
            return
        middle = (first + last) // 2
        _parted(function, rows, first, middle, pieces)
        _parted(function, rows, middle, last, pieces)
