"""At which speeds a harmonic of the lift meets the spring's own frequency, and how strong it is."""

from dataclasses import dataclass

import numpy as np

from valvetrain.mechanics.arrays import FloatArray
from valvetrain.mechanics.spring.surge import lift_harmonics, surge_meetings
from valvetrain.questions.events.lift_path import lift_path_study
from valvetrain.questions.spring.stress import SpringStressResult
from valvetrain.setup.setup import Setup

__all__ = ["SpringSurge", "spring_surge_study"]

_ORDERS = 60


@dataclass(frozen=True)
class SpringSurge:
    """Surge of one kind of spring under one kind of lobe; shown at the valve that stands for its role.

    Attributes:
        section: the sheet's section of the spring.
        valve: the valve whose lift and spring these are.
        role: its role.
        frequency: of the spring [Hz].
        order: harmonics of the lift over one turn of the cam, from 1 on.
        amplitude: half of peak to peak of each [m].
        met_order: orders that meet the frequency at or below the redline, highest speed first.
        met_speed: crank speed at which each does [rad/s].
        met_amplitude: its amplitude [m].
        redline: [rad/s].
    """

    section: str
    valve: str
    role: str
    frequency: float
    order: FloatArray
    amplitude: FloatArray
    met_order: FloatArray
    met_speed: FloatArray
    met_amplitude: FloatArray
    redline: float


def spring_surge_study(setup: Setup, stress: dict[str, SpringStressResult]) -> list[SpringSurge]:
    """Return the surge of every section's spring at the first known valve of each role."""
    if setup.engine.redline is None or not stress:
        return []
    redline = setup.engine.redline.value
    path = lift_path_study(setup, 721)
    found = []
    for section, result in stress.items():
        for role in dict.fromkeys(setup.roles):
            for index, own in enumerate(setup.roles):
                frequency = float(result.surge_frequency.value[index])
                # Both ends of the path are the same place of the cam's turn.
                lift = path.lift_at_set_lash[index, :-1]
                if own != role or np.isnan(frequency) or np.isnan(lift).any():
                    continue
                harmonics = lift_harmonics(lift, _ORDERS)
                met = surge_meetings(frequency, harmonics, redline)
                found.append(
                    SpringSurge(
                        section,
                        setup.valves[index],
                        role,
                        frequency,
                        harmonics.order,
                        harmonics.amplitude,
                        met.order,
                        met.crank_speed,
                        met.amplitude,
                        redline,
                    )
                )
                break
    return found
