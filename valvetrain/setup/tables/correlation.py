"""The table of correlations that `fit` writes beside a sheet: how its inferred values hang together."""

from pathlib import Path

import numpy as np

from valvetrain.parts.correlation import Correlation
from valvetrain.setup.faults import Fault, SheetError, nearest
from valvetrain.setup.tables.columns import COLUMNS
from valvetrain.setup.tables.csv_file import read_table

__all__ = ["correlation_text", "read_correlation"]

_ROUNDING = 1e-3


def read_correlation(path: Path, shown_as: str) -> Correlation:
    """Read the table: a column and a row a key.

    Raises:
        SheetError: keys that are not known, cells that are no numbers, or numbers that are no correlations.
    """
    table = read_table(path, shown_as, required=("key",))
    keys = tuple(name for name in table.units if name != "key")
    faults = [
        Fault(f"{shown_as} header", f"'{key}' is not a key of the sheet", nearest(key, COLUMNS))
        for key in keys
        if key not in COLUMNS
    ]
    names = tuple(cells["key"] for _, cells in table.rows)
    mend = "Let `valvetrain fit` write it again."
    if names != keys:
        faults.append(
            Fault(shown_as, "its rows are not the same keys, in the same order, as its columns", mend)
        )
    matrix = np.zeros((len(table.rows), len(keys)))
    for row, (line, cells) in enumerate(table.rows):
        for column, key in enumerate(keys):
            try:
                matrix[row, column] = float(cells[key].replace(",", "."))
            except ValueError:
                faults.append(Fault(table.where(line, key), f"'{cells[key]}' is not a number", mend))
    if not faults and not _possible(matrix):
        faults.append(Fault(shown_as, "its numbers cannot be correlations", mend))
    if faults:
        raise SheetError(faults)
    return Correlation(keys, tuple(tuple(map(float, row)) for row in matrix), shown_as)


def _possible(matrix: np.ndarray) -> bool:
    """Whether a matrix is symmetric, 1 on its diagonal and without negative variances."""
    if not np.all(np.isfinite(matrix)):
        return False
    symmetric = np.allclose(matrix, matrix.T, atol=_ROUNDING)
    whole = np.allclose(np.diag(matrix), 1.0, atol=_ROUNDING)
    return bool(symmetric and whole and np.linalg.eigvalsh(matrix).min() > -_ROUNDING * len(matrix))


def correlation_text(correlation: Correlation) -> str:
    """Write the table."""
    lines = ["# Correlations of the inferred values of the sheet: written by `valvetrain fit`, not by hand."]
    lines.append(",".join(("key", *correlation.keys)))
    for key, row in zip(correlation.keys, correlation.rows, strict=True):
        lines.append(",".join((key, *(f"{value:.9f}" for value in row))))
    return "\n".join(lines) + "\n"
