"""Faults of the figures of one spring by itself, or of a spring of a set."""

from valvetrain.parts.measured import Measured
from valvetrain.parts.spring import CoilSpring
from valvetrain.parts.train import Train
from valvetrain.setup.faults import Fault
from valvetrain.setup.units import shown

__all__ = ["spring_figure_faults"]

# (smaller, larger): figures of one spring of which the first must be below the second
_ORDER = (
    ("solid_height", "free_length"),
    ("catalog_open_height", "catalog_height"),
    ("catalog_height", "free_length"),
    ("solid_height", "catalog_open_height"),
    ("catalog_load", "catalog_open_load"),
    ("wire_diameter", "coil_diameter"),
    ("wire_diameter", "small_coil_diameter"),
)


def spring_figure_faults(train: Train, system: str) -> list[Fault]:
    """Return what cannot be in the figures of a valve's springs, written in the units of `system`."""
    faults: list[Fault] = []
    for section in ("spring", "middle_spring", "inner_spring"):
        spring: CoilSpring = getattr(train, section)
        where = f"valve {train.name}, {section}"
        for smaller, larger in _ORDER:
            low, high = getattr(spring, smaller), getattr(spring, larger)
            if low is not None and high is not None and low.value >= high.value:
                faults.append(_not_below(where, smaller, low, larger, high, system))
        narrow, wide = spring.small_coil_diameter, spring.coil_diameter
        if narrow is not None and wide is not None and narrow.value > wide.value:
            faults.append(_not_below(where, "small_coil_diameter", narrow, "coil_diameter", wide, system))
        faults += _progressive_faults(where, spring)
    return faults


def _not_below(where: str, smaller: str, low: Measured, larger: str, high: Measured, system: str) -> Fault:
    dimension = "force" if smaller.endswith("load") else "length"
    first, second = (shown(each.value, dimension, system) for each in (low, high))
    return Fault(
        where,
        f"{smaller} {first} is not below {larger} {second}",
        f"Check {low.source} and {high.source}.",
    )


def _progressive_faults(where: str, spring: CoilSpring) -> list[Fault]:
    """Say where a progressive spring's readings make no curve."""
    test = spring.tests
    if test is None or spring.kind != "progressive" or len({each.value for each in test.heights}) < 3:
        return []
    from valvetrain.mechanics.spring.progressive import fitted_progressive_spring

    try:
        fitted_progressive_spring([each.value for each in test.heights], [each.value for each in test.loads])
    except ValueError as error:
        name = f"{test.source} spring '{test.spring}'" if test.spring else test.source
        return [Fault(where, f"{name}: {str(error).rstrip('.')}", "Correct the readings, or take kind out.")]
    return []
