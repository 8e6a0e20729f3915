"""Faults of adjuster, pushrod and the hole it passes, that show when their sizes are put together."""

from valvetrain.parts.train import Train
from valvetrain.setup.faults import Fault
from valvetrain.setup.units import shown

__all__ = ["pushrod_faults"]


def pushrod_faults(train: Train, system: str) -> list[Fault]:
    """Return an adjuster beyond its thread, a hole that the pushrod does not enter, a wall too thick."""
    faults: list[Fault] = []
    adjuster, pushrod, hole = train.adjuster, train.pushrod, train.head.hole_diameter
    parts = (adjuster.thread_length, adjuster.boss_thickness, adjuster.locknut_height)
    if parts[0] and parts[1] and parts[2]:
        greatest = parts[0].value - parts[1].value - parts[2].value
        for name, exposure in (
            ("exposure", adjuster.exposure),
            ("exposure_wanted", adjuster.exposure_wanted),
        ):
            if exposure is not None and exposure.value > greatest:
                faults.append(
                    Fault(
                        f"valve {train.name}, adjuster",
                        f"{name} {shown(exposure.value, 'length', system)} is beyond its thread: thread less "
                        f"rocker less locknut leaves {shown(greatest, 'length', system)}",
                        "Check thread_length, boss_thickness, locknut_height and the exposure.",
                    )
                )
    outside, wall = pushrod.outside_diameter, pushrod.wall
    if hole and outside and hole.value <= outside.value:
        faults.append(
            Fault(
                f"valve {train.name}, head",
                f"the hole, {shown(hole.value, 'length', system)}, is not larger than the pushrod, "
                f"{shown(outside.value, 'length', system)}",
                "Check hole_diameter and [pushrod] outside_diameter.",
            )
        )
    if wall and outside and 2 * wall.value > outside.value * (1 + 1e-9):
        faults.append(
            Fault(
                f"valve {train.name}, pushrod",
                f"the wall, {shown(wall.value, 'length', system)}, is more than half the outside diameter, "
                f"{shown(outside.value, 'length', system)}",
                "Check wall and outside_diameter.",
            )
        )
    top, bottom = train.head.hole_top, train.head.hole_bottom
    if top and bottom and bottom.value <= top.value:
        faults.append(
            Fault(
                f"valve {train.name}, head",
                "hole_bottom is not below hole_top",
                "Both are measured downward from the shaft axis.",
            )
        )
    return faults
