"""Units at the boundary: dimensions, the two unit systems, conversion to and from SI through pint."""

import functools
import re
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from valvetrain.setup.faults import readable

__all__ = [
    "DIMENSIONS",
    "SYSTEMS",
    "UNIT",
    "Dimension",
    "display_unit",
    "from_si",
    "is_unit",
    "lengths_shown",
    "limit_shown",
    "shown",
    "shown_spread",
    "spread_to_si",
    "to_si",
    "written_unit",
]

SYSTEMS = ("inch", "metric")


@dataclass(frozen=True)
class Dimension:
    """One kind of quantity.

    Attributes:
        si: its SI unit, in which everything is computed.
        inch, metric: the unit of a plain number in a sheet of that system, and of results shown in it.
        digits_inch, digits_metric: decimals that a shop reads in those units.
    """

    si: str
    inch: str
    metric: str
    digits_inch: int
    digits_metric: int


DIMENSIONS = {
    "length": Dimension("m", "in", "mm", 4, 3),
    "angle": Dimension("rad", "deg", "deg", 1, 1),
    "ratio": Dimension("", "", "", 3, 3),
    "fraction": Dimension("", "%", "%", 1, 1),
    "force": Dimension("N", "lbf", "N", 1, 0),
    "stiffness": Dimension("N/m", "lbf/in", "N/mm", 1, 2),
    "mass": Dimension("kg", "lbm", "g", 3, 1),
    "inertia": Dimension("kg*m**2", "lbm*in**2", "kg*mm**2", 3, 1),
    "frequency": Dimension("Hz", "Hz", "Hz", 0, 0),
    "rotation": Dimension("rad/s", "rpm", "rpm", 0, 0),
    "temperature": Dimension("K", "degF", "degC", 0, 0),
    "pressure": Dimension("Pa", "psi", "MPa", 0, 1),
    "oil_pressure": Dimension("Pa", "psi", "kPa", 1, 0),
    "per_pressure": Dimension("1/Pa", "1/psi", "1/MPa", 6, 4),
    "flow": Dimension("m**3/s", "in3/min", "mL/min", 2, 0),
    "viscosity": Dimension("m**2/s", "cSt", "cSt", 1, 1),
    "density": Dimension("kg/m**3", "kg/L", "kg/L", 3, 3),
    "roughness": Dimension("m", "uin", "um", 1, 2),
    "rise": Dimension("K", "delta_degF", "delta_degC", 0, 0),
    "speed": Dimension("m/s", "ft/s", "m/s", 2, 2),
    "torque": Dimension("N*m", "lbf*in", "N*m", 2, 3),
    "severity": Dimension("W/m**2", "psi*ft/s", "MPa*m/s", 0, 2),
    "rockwell": Dimension("", "", "", 1, 1),
    "seen": Dimension("", "", "", 0, 0),  # looked at and not measured: 1 yes, 0 no
    "duration": Dimension("s", "h", "h", 0, 0),
    "days": Dimension("s", "day", "day", 0, 0),
    "distance": Dimension("m", "mile", "km", 0, 0),
    "lift_rate": Dimension("m", "in/deg", "mm/deg", 5, 4),
    "lift_area": Dimension("m", "in*deg", "mm*deg", 2, 1),
    "volume": Dimension("m**3", "cc", "cc", 1, 1),
    "expansion": Dimension("1/K", "1/delta_degC", "1/delta_degC", 7, 7),
}


@functools.cache
def _registry() -> Any:
    """Return the pint registry of the units that a sheet may use."""
    import pint  # a fifth of a second: only when a sheet is read

    return pint.UnitRegistry(str(Path(__file__).with_name("units.txt")), autoconvert_offset_to_baseunit=True)


# A unit as a person writes it, and nothing else: names, powers to 4, products and quotients. What is written
# in a sheet is held against this before any evaluator of units sees it.
_NAME = r"(?:%|°|°?[^\W\d_][^\W\d_]{0,15}(?:_[^\W\d_]{1,15})?[234]?)"
_POWER = r"(?:\*\*[1-4]|\^[1-4]|[²³])"
_FACTOR = rf"{_NAME}{_POWER}?"
UNIT = rf"(?:1 ?/ ?)?{_FACTOR}(?: ?[*/·] ?{_FACTOR}){{0,2}}"
_UNIT = re.compile(UNIT)

# Signs that mean a unit whose name the evaluator does not know by them.
_SIGNS = (("°C", "degC"), ("°F", "degF"), ("°", "deg"), ("\u03bc", "\u00b5"))

# How many names a unit of a dimension has, where that is not the number in its usual units.
_NAMES = {"pressure": 2, "oil_pressure": 2, "per_pressure": 2, "expansion": 3}


def _written_rightly(unit: str, dimension: str) -> bool:
    """Say whether a unit is written by the grammar, with as many names as its dimension has, each once."""
    if not _UNIT.fullmatch(unit):
        return False
    known = DIMENSIONS[dimension]
    names = re.findall(_NAME, unit)
    usual = max(len(re.findall(_NAME, each)) for each in (known.si, known.inch, known.metric))
    return len(names) <= _NAMES.get(dimension, max(1, usual)) and len(set(names)) == len(names)


@functools.lru_cache(maxsize=1000)
def _scale(unit: str, dimension: str) -> tuple[float, float]:
    """Return (factor, offset) so that SI = factor * value + offset; ValueError for another dimension."""
    import pint

    registry = _registry()
    si = DIMENSIONS[dimension].si
    written = unit
    try:
        if unit and not _written_rightly(unit, dimension):
            raise ValueError(unit)
        for sign, name in _SIGNS:
            unit = unit.replace(sign, name)
        if unit and not registry.Unit(unit).is_compatible_with(si or "radian / radian"):
            raise pint.DimensionalityError(unit, si)
        zero = registry.Quantity(0.0, unit).to(si).magnitude
        one = registry.Quantity(1.0, unit).to(si).magnitude
    except (pint.PintError, AttributeError, TypeError, ValueError, AssertionError) as error:
        known = DIMENSIONS[dimension]
        units = sorted({known.inch, known.metric} - {""})
        example = " or ".join(units) if units else "no unit"
        raise ValueError(
            f"'{readable(written, 60)}' is not a unit of {dimension} that is known here; use {example}"
        ) from error
    return float(one - zero), float(zero)


def is_unit(text: str) -> bool:
    """Say whether a text is written as a unit is, of whatever dimension."""
    return _UNIT.fullmatch(text) is not None


def display_unit(dimension: str, system: str) -> str:
    """Return the unit of `dimension` in the system "inch" or "metric"."""
    known = DIMENSIONS[dimension]
    return known.inch if system == "inch" else known.metric


def written_unit(dimension: str, system: str) -> str:
    """Return the unit as a person reads it: a difference of temperature in degF, not in delta_degF."""
    unit = display_unit(dimension, system)
    if unit.startswith("1/"):
        unit = f"per {unit.removeprefix('1/')}"
    return unit.replace("delta_", "")


def to_si(value: float, unit: str, dimension: str) -> float:
    """Convert a value in `unit` to SI; ValueError when the unit is not one of the dimension."""
    factor, offset = _scale(unit, dimension)
    return value * factor + offset


def spread_to_si(spread: float, unit: str, dimension: str) -> float:
    """Convert a difference or an uncertainty in `unit` to SI (a temperature's zero plays no part)."""
    return spread * _scale(unit, dimension)[0]


def from_si(value: Any, dimension: str, system: str, *, difference: bool = False) -> Any:
    """Convert an SI value (float or array) to the display unit of `system`; a difference has no zero."""
    factor, offset = _scale(display_unit(dimension, system), dimension)
    return value / factor if difference else (value - offset) / factor


def shown(value: float, dimension: str, system: str, uncertainty: float | None = None) -> str:
    """Write an SI value with its unit and the digits it deserves.

    With an uncertainty the last digit shown is that of the uncertainty's first significant digit, but never
    more than a shop reads in that unit.
    """
    import math

    if not math.isfinite(value):
        return "unmeasured" if math.isnan(value) else "unlimited"
    if dimension == "seen":
        return "yes" if value else "no"
    known = DIMENSIONS[dimension]
    digits = known.digits_inch if system == "inch" else known.digits_metric
    if uncertainty and math.isfinite(uncertainty):
        spread = abs(from_si(uncertainty, dimension, system, difference=True))
        if spread > 0 and math.isfinite(spread):
            digits = max(0, min(digits, -math.floor(math.log10(spread))))
    number = f"{from_si(value, dimension, system):.{digits}f}"
    if float(number) == 0.0:
        number = number.lstrip("-")
    unit = written_unit(dimension, system)
    return f"{number} {unit}" if unit else number


def brief(value: float, dimension: str, system: str) -> str:
    """Write an SI value as it is read at arm's length: inches to three decimals, millimeters to two, no unit.

    Other dimensions keep the decimals that a shop reads; a per cent keeps its sign.
    """
    import math

    if not math.isfinite(value):
        return "-" if math.isnan(value) else "unlimited"
    if dimension == "length":
        number = f"{from_si(value, dimension, system):.{3 if system == 'inch' else 2}f}"
        return number.lstrip("-") if float(number) == 0.0 else number
    if dimension == "fraction":
        return f"{100 * value:.0f} %"
    if dimension == "force":
        return f"{from_si(value, dimension, system):.0f}"
    return shown(value, dimension, system).removesuffix(f" {written_unit(dimension, system)}")


def limit_shown(limit: float, dimension: str, system: str) -> str:
    """Write a limit [SI] with its unit: exact, so that no zeros stand behind its last digit."""
    number, _, unit = shown(limit, dimension, system).partition(" ")
    if "." in number:
        number = number.rstrip("0").rstrip(".")
    return f"{number} {unit}".rstrip()


def lengths_shown(sentence: str, system: str) -> str:
    """Rewrite a sentence of the mechanics, whose lengths are in m or mm, in the units of `system`."""
    import re

    size = {"m": 1.0, "mm": 1e-3}
    return re.sub(
        r"(-?\d[\d.]*(?:e[+-]?\d+)?) (mm?)\b",
        lambda found: shown(float(found[1]) * size[found[2]], "length", system),
        sentence,
    )


def shown_spread(spread: float, dimension: str, system: str) -> str:
    """Write an uncertainty [SI] with its unit, to one significant digit but never finer than a shop reads."""
    import math

    known = DIMENSIONS[dimension]
    digits = known.digits_inch if system == "inch" else known.digits_metric
    size = abs(from_si(spread, dimension, system, difference=True))
    if not math.isfinite(size):
        return "unlimited"
    if size > 0:
        digits = max(0, min(digits, -math.floor(math.log10(size))))
    number = f"{size:.{digits}f}"
    if size > 0 and float(number) == 0.0:
        number = f"under {10.0**-digits:.{digits}f}"
    unit = written_unit(dimension, system)
    return f"{number} {unit}" if unit else number
