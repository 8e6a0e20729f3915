"""Readings of the degree wheel, to be held against the cam card."""

from dataclasses import dataclass

from valvetrain.parts.measured import Measured

__all__ = ["WheelReading"]


@dataclass(frozen=True)
class WheelReading:
    """Opening and closing of one lobe as read with a dial and a degree wheel, in crank angle.

    Attributes:
        role: "intake" or "exhaust"; valve: its name, empty where the table does not say.
        checking_lift: [m]; checked_at: "tappet" or "valve".
        opens, closes: as a cam card counts them.
        source: where it stands.
    """

    role: str
    valve: str
    checking_lift: Measured
    checked_at: str
    opens: Measured
    closes: Measured
    source: str
