"""How sheet keys that were inferred together hang together."""

from dataclasses import dataclass

__all__ = ["Correlation"]


@dataclass(frozen=True)
class Correlation:
    """Correlation of the uncertainties of values that were inferred from the same readings.

    A fit knows the distance from pad to stem far better than shaft setback and pad arm each: without their
    correlation everything computed from them would look less sure than it is.

    Attributes:
        keys: sheet keys, such as "rocker.pad_arm".
        rows: the matrix, a row a key; 1 on the diagonal.
        source: the table's file name.
    """

    keys: tuple[str, ...]
    rows: tuple[tuple[float, ...], ...]
    source: str = ""
