"""A result's numbers for a notebook: each knows its unit and doubt, and is never a bare float."""

import math
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import NoReturn

from valvetrain.answers.quantity import Quantity
from valvetrain.setup.units import shown, shown_spread, to_si

__all__ = ["Number", "Numbers"]


@dataclass(frozen=True)
class Number:
    """One value with its unit and standard uncertainty.

    >>> height = Number(0.0254, 0.0000254, "length", "inch")
    >>> print(height)
    1.000 in +- 0.002 in
    >>> round(height.to("mm"), 6), round(height.u("mm"), 6)
    (25.4, 0.0254)
    >>> float(height)
    Traceback (most recent call last):
        ...
    TypeError: a length has no number without a unit: ask for one, such as .to('in') or .to('mm')

    Attributes:
        value: [SI]; NaN where it was not measured.
        uncertainty: standard uncertainty [SI]; NaN where it is not known.
        dimension: as in `valvetrain.setup.units`.
        system: "inch" or "metric": how it is written.
    """

    value: float
    uncertainty: float
    dimension: str
    system: str

    def to(self, unit: str) -> float:
        """Return the value in a unit, such as "mm"; ValueError where it is none of its dimension."""
        zero = to_si(0.0, unit, self.dimension)
        return (self.value - zero) / (to_si(1.0, unit, self.dimension) - zero)

    def u(self, unit: str) -> float:
        """Return the standard uncertainty in a unit."""
        step = to_si(1.0, unit, self.dimension) - to_si(0.0, unit, self.dimension)
        return self.uncertainty / step

    def __str__(self) -> str:
        """Write the value and its expanded uncertainty (k = 2), to the digits they deserve."""
        if math.isnan(self.value):
            return "not measured"
        doubt = self.uncertainty if math.isfinite(self.uncertainty) else None
        text = shown(self.value, self.dimension, self.system, 2 * doubt if doubt else None)
        return f"{text} +- {shown_spread(2 * doubt, self.dimension, self.system)}" if doubt else text

    __repr__ = __str__

    def __float__(self) -> NoReturn:
        """Refuse: a number without its unit is how inches become millimeters."""
        from valvetrain.setup.units import DIMENSIONS

        known = DIMENSIONS[self.dimension]
        units = " or ".join(f".to({unit!r})" for unit in dict.fromkeys((known.inch, known.metric)))
        raise TypeError(f"a {self.dimension} has no number without a unit: ask for one, such as {units}")


@dataclass(frozen=True)
class Numbers(Mapping[str, Number]):
    """One quantity at every valve, by the valve's name.

    Attributes:
        quantity: values and doubts [SI].
        names: of the valves, in the engine's order.
        system: "inch" or "metric".
    """

    quantity: Quantity
    names: tuple[str, ...]
    system: str

    def __getitem__(self, name: str) -> Number:
        """Return it at one valve; KeyError lists the valves."""
        if name not in self.names:
            raise KeyError(f"{name!r} is not a valve of this engine: {', '.join(self.names)}")
        place = self.names.index(name)
        value, doubt = self.quantity.value[place], self.quantity.uncertainty[place]
        return Number(float(value), float(doubt), self.quantity.dimension, self.system)

    def __iter__(self) -> Iterator[str]:
        """Go through the valves."""
        return iter(self.names)

    def __len__(self) -> int:
        """Count the valves."""
        return len(self.names)

    def to(self, unit: str) -> list[float]:
        """Return the values in a unit, in the order of the valves."""
        return [self[name].to(unit) for name in self.names]

    def __repr__(self) -> str:
        """Write a line a valve."""
        return "\n".join(f"{name}: {self[name]}" for name in self.names)
