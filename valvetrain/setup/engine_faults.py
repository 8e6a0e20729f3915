"""Faults of the engine's own figures, put together."""

from valvetrain.parts.engine import Engine
from valvetrain.setup.faults import Fault
from valvetrain.setup.units import shown

__all__ = ["engine_faults"]


def engine_faults(engine: Engine, system: str) -> list[Fault]:
    """Return what cannot be: a rod too short for its crank to turn."""
    stroke, rod = engine.stroke, engine.rod_length
    if stroke is None or rod is None or rod.value > stroke.value / 2:
        return []
    return [
        Fault(
            rod.source,
            f"{shown(rod.value, 'length', system)} is not above half the stroke of "
            f"{shown(stroke.value, 'length', system)}: the crank could not turn",
            "Measure the rod between the centers of its two eyes, and check the units of both.",
        )
    ]
