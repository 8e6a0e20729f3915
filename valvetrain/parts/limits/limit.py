"""A range that a quantity should stay in, with what it rests on."""

from dataclasses import dataclass

__all__ = ["COMMON", "INCH", "LBF", "Limit"]

INCH = 0.0254
LBF = 4.4482216152605
COMMON = "common practice, no source"


@dataclass(frozen=True)
class Limit:
    """Range that a quantity should stay in.

    Attributes:
        id: name of the check, as in `[limits]`.
        dimension: dimension of the quantity.
        low, high: the range [SI], ends included; infinite where open.
        basis: a published source, "common practice, no source", or the user's own.
        doc: what is judged, in shop words.
        short: what stands behind its value where a line must be read at arm's length.
    """

    id: str
    dimension: str
    low: float
    high: float
    basis: str
    doc: str
    short: str = ""
