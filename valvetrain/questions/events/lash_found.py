"""Is the lash what it should be, and does each lobe still have its lift?"""

from collections.abc import Mapping
from dataclasses import dataclass

from valvetrain.answers.output import dimensions, output
from valvetrain.answers.quantity import Quantity, computed
from valvetrain.mechanics.arrays import FloatArray
from valvetrain.setup.linkage_columns import lobe_lift_as_made
from valvetrain.setup.setup import Setup

__all__ = ["LashResult", "lash_study"]


@dataclass(frozen=True)
class LashResult:
    """Lash and lobe lift at every valve."""

    valves: tuple[str, ...]
    roles: tuple[str, ...]
    lash_wanted: Quantity = output("length", "lash as the sheet asks for it")
    lash_deviation: Quantity = output("length", "lash found less lash wanted")
    lobe_wear: Quantity = output("length", "lift as the lobe should have it less lift measured at this valve")


def lash_study(setup: Setup) -> LashResult:
    """Study lash and lobe lift at every valve."""
    inputs = {
        "lash.lash": setup.column("lash", "lash"),
        "lash.wanted": setup.column("lash", "wanted"),
        "lobe.measured_lift": setup.column("lobe", "measured_lift"),
        "lobe.lift": lobe_lift_as_made(setup),
    }
    return LashResult(setup.valves, setup.roles, **computed(_quantities, inputs, dimensions(LashResult)))


def _quantities(rows: Mapping[str, FloatArray]) -> dict[str, FloatArray]:
    return {
        "lash_wanted": rows["lash.wanted"],
        "lash_deviation": rows["lash.lash"] - rows["lash.wanted"],
        "lobe_wear": rows["lobe.lift"] - rows["lobe.measured_lift"],
    }
