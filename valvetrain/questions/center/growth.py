"""What warming up does to the rockers along the shaft: offsets and end clearances, cold to hot."""

from dataclasses import dataclass

import numpy as np

from valvetrain.answers.output import output
from valvetrain.answers.quantity import Quantity
from valvetrain.mechanics.arrays import FloatArray
from valvetrain.mechanics.cam.thermal_growth import EXPANSION, EXPANSION_RELATIVE_UNCERTAINTY
from valvetrain.mechanics.row.growth import row_growth
from valvetrain.mechanics.row.shaft import Stand
from valvetrain.parts.row import ShaftRow
from valvetrain.questions.center.plan import ShaftPlan
from valvetrain.setup.setup import Setup

__all__ = ["ShaftGrowth", "shaft_growth"]


@dataclass(frozen=True)
class ShaftGrowth:
    """Cold to hot at every valve, as the shaft stands now."""

    offset_growth: Quantity = output(
        "length", "change of the offset, positive toward the rear", heading="offset moves"
    )
    clearance_growth: Quantity = output(
        "length", "change of the end clearance", heading="end clearance grows"
    )
    end_clearance_hot: Quantity = output(
        "length", "end clearance when warm; negative: it binds", heading="end clearance hot"
    )


def shaft_growth(setup: Setup, shafts: ShaftPlan, play: Quantity) -> ShaftGrowth | None:
    """Study the growth of the rows whose materials and temperatures the sheet gives; None where none does.

    Args:
        setup: the engine.
        shafts: its shafts.
        play: end clearance found cold.
    """
    count = len(setup.valves)
    value = np.full((2, count), np.nan)
    doubt = np.full((2, count), np.nan)
    for row in shafts.before:
        grown = _row(row)
        if grown is None:
            continue
        for valve, numbers, spread in grown:
            index = setup.valves.index(valve)
            value[:, index], doubt[:, index] = numbers, spread
    if np.all(np.isnan(value)):
        return None
    known = np.where(np.isnan(play.value), np.nan, doubt)
    grown_play = value[1] + play.value

    def quantity(numbers: FloatArray, spread: FloatArray) -> Quantity:
        return Quantity("length", numbers, spread, {"expansion and temperature": spread})

    hot = Quantity(
        "length",
        grown_play,
        np.hypot(known[1], play.uncertainty),
        {"expansion and temperature": known[1], **play.contributions},
    )
    return ShaftGrowth(quantity(value[0], doubt[0]), quantity(value[1], doubt[1]), hot)


def _row(row: ShaftRow) -> list[tuple[str, FloatArray, FloatArray]] | None:
    """Growth [offset, end clearance] and its standard uncertainty at every rocker of a row."""
    text = row.text
    if text.head_material is None or text.shaft_material is None:
        return None
    if text.head_rise is None or text.shaft_rise is None:
        return None
    walls = [part.name for part in row.parts if isinstance(part, Stand)]
    fixed = text.fixed_at or walls[0]
    on_shaft = [name for name in walls if " stand " not in f" {name} "]
    head = EXPANSION[text.head_material] * text.head_rise.value
    shaft = EXPANSION[text.shaft_material] * text.shaft_rise.value

    def of(head_strain: float, shaft_strain: float) -> FloatArray:
        grown = row_growth(row.parts, head_strain, shaft_strain, on_shaft, fixed)
        return np.array([(each.offset, each.end_clearance) for each in grown])

    here = of(head, shaft)
    doubt = np.zeros(here.shape)
    for index, (material, rise) in enumerate(
        ((text.head_material, text.head_rise), (text.shaft_material, text.shaft_rise))
    ):
        step = np.hypot(
            EXPANSION_RELATIVE_UNCERTAINTY * EXPANSION[material] * rise.value,
            EXPANSION[material] * rise.uncertainty,
        )
        moved = of(head + step, shaft) if index == 0 else of(head, shaft + step)
        doubt += (moved - here) ** 2
    rockers = [each.valve for each in row_growth(row.parts, head, shaft, on_shaft, fixed)]
    return [
        (valve, numbers, spread) for valve, numbers, spread in zip(rockers, here, np.sqrt(doubt), strict=True)
    ]
