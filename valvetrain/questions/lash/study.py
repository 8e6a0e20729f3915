"""Is the lash what it should be, and does each lobe still have its lift?"""

from collections.abc import Mapping
from dataclasses import dataclass

from valvetrain.answers.quantity import Quantity, computed
from valvetrain.mechanics.arrays import FloatArray
from valvetrain.setup.linkage_columns import lobe_lift_as_made
from valvetrain.setup.setup import Setup

__all__ = ["LashResult", "lash_study"]

_DIMENSIONS = {"lash_wanted": "length", "lash_deviation": "length", "lobe_wear": "length"}


@dataclass(frozen=True)
class LashResult:
    """Lash and lobe lift at every valve.

    Attributes:
        lash_wanted: as the sheet asks; lash_deviation: found less wanted.
        lobe_wear: lift as the lobe should have it less lift measured at this valve.
    """

    valves: tuple[str, ...]
    roles: tuple[str, ...]
    lash_wanted: Quantity
    lash_deviation: Quantity
    lobe_wear: Quantity


def lash_study(setup: Setup) -> LashResult:
    """Study lash and lobe lift at every valve."""
    inputs = {
        "lash.lash": setup.column("lash", "lash"),
        "lash.wanted": setup.column("lash", "wanted"),
        "lobe.measured_lift": setup.column("lobe", "measured_lift"),
        "lobe.lift": lobe_lift_as_made(setup),
    }
    return LashResult(setup.valves, setup.roles, **computed(_quantities, inputs, _DIMENSIONS))


def _quantities(rows: Mapping[str, FloatArray]) -> dict[str, FloatArray]:
    return {
        "lash_wanted": rows["lash.wanted"],
        "lash_deviation": rows["lash.lash"] - rows["lash.wanted"],
        "lobe_wear": rows["lobe.lift"] - rows["lobe.measured_lift"],
    }
