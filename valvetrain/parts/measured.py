"""A measured value: what it is, how sure it is, where it was written."""

from dataclasses import dataclass

__all__ = ["Measured"]


@dataclass(frozen=True)
class Measured:
    """One value of a sheet, in SI units.

    Attributes:
        value: the value [SI].
        uncertainty: its standard uncertainty [SI], >= 0.
        source: where it stands, for a person: file and key, or file, row and column.
        stated: True where the uncertainty was written with the value, False where it is the instrument's.
    """

    value: float
    uncertainty: float
    source: str
    stated: bool = False
