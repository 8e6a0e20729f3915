"""Values that cannot all be true of one engine: most often one of them is in the wrong unit."""

import math

import numpy as np

from valvetrain.parts.measured import Measured
from valvetrain.parts.train import Train
from valvetrain.setup.faults import Fault
from valvetrain.setup.setup import Setup
from valvetrain.setup.units import shown

__all__ = ["contradictions"]

# Of a compression ratio that follows from the volumes, and the one written: farther apart than this share of
# it (our judgment, no source; a gasket twice as thick changes it by a tenth).
_RATIO_APART = 0.20

# A stem this share longer or shorter than the middle of its role is of another valve, or in another unit
# (our judgment, no source; heads sunk and tips ground take some hundredths).
_STEM_APART = 0.15

# A lobe's taper over its own width: minutes of arc, and under a degree (common practice, no source).
_STEEPEST = math.tan(math.radians(1.0))


def contradictions(setup: Setup) -> list[Fault]:
    """Return the compression ratio against its volumes, stems against each other, taper against width."""
    faults = []
    for train in setup.trains:
        faults += _compression(setup, train) + _taper(train, setup.units)
    return faults + _stems(setup)


def _compression(setup: Setup, train: Train) -> list[Fault]:
    """Hold the ratio written against the most that gasket and deck leave, or against the volumes."""
    piston, bore, stroke = train.piston, setup.engine.bore, setup.engine.stroke
    written, deck, gasket = piston.compression_ratio, piston.deck_clearance, piston.gasket_thickness
    if not (written and bore and stroke and deck and gasket):
        return []
    area = 0.25 * math.pi * bore.value**2
    crown = _value(piston.crown_volume)
    dead = area * deck.value + area * gasket.value + crown + _value(piston.chamber_volume)
    if dead <= 0.0:
        return []
    ratio = 1.0 + area * stroke.value / dead
    whole = piston.chamber_volume is not None
    # Without the chamber's volume the ratio is less than that: only a ratio above it contradicts.
    off = abs(ratio - written.value) > _RATIO_APART * written.value if whole else ratio < written.value
    if not off:
        return []
    least = "from the volumes it is" if whole else "deck clearance and gasket alone let it be at most"
    return [
        Fault(
            f"valve {train.name}, piston",
            f"the compression ratio is written {written.value:.1f}, but {least} {ratio:.1f}",
            f"Check the units of {deck.source} ({shown(deck.value, 'length', setup.units)}), "
            f"{gasket.source}, bore, stroke and compression_ratio.",
        )
    ]


def _stems(setup: Setup) -> list[Fault]:
    """Hold the stem heights of each role against their middle."""
    heights = setup.column("valve", "stem_height")
    faults = []
    for role in dict.fromkeys(setup.roles):
        own = [place for place, each in enumerate(setup.roles) if each == role]
        known = heights.value[own][np.isfinite(heights.value[own])]
        if known.size < 3:
            continue
        middle = float(np.median(known))
        for place in own:
            value = float(heights.value[place])
            if not abs(value - middle) > _STEM_APART * middle:  # nor unmeasured
                continue
            told, usual = (shown(each, "length", setup.units) for each in (value, middle))
            faults.append(
                Fault(
                    heights.source[place],
                    f"the stem height of {setup.valves[place]}, {told}, is far from that of the other {role} "
                    f"valves, {usual}",
                    "Check its unit, and measure it again.",
                )
            )
    return faults


def _taper(train: Train, system: str) -> list[Fault]:
    """Hold the lobe's taper, told over its width, against that width."""
    taper, width = train.lobe.taper, train.lobe.width
    if not taper or not width or abs(taper.value) <= _STEEPEST * width.value:
        return []
    return [
        Fault(
            f"valve {train.name}, lobe",
            f"the taper, {shown(taper.value, 'length', system)} over a width of "
            f"{shown(width.value, 'length', system)}, is steeper than any lobe is ground",
            "Give the difference of its radii at both edges, and check the units.",
        )
    ]


def _value(measured: Measured | None) -> float:
    return 0.0 if measured is None else measured.value
