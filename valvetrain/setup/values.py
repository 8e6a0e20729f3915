"""One written value, plain or with its unit and uncertainty, turned into a `Measured`."""

import math
import re

from valvetrain.parts.measured import Measured
from valvetrain.parts.spec import Spec
from valvetrain.setup.faults import UNSEEN, written_as
from valvetrain.setup.units import UNIT, display_unit, from_si, spread_to_si, to_si

__all__ = ["is_value", "measured"]

# Share of a value below which an uncertainty is no slip of the pen, whatever is allowed.
_DOUBTFUL = 0.25

# In SI units nothing about an engine is as small; what is divided by it has no bounds.
_NOTHING = 1e-20

# Letters of the longest value that anybody writes.
_MOST = 120
_UNSEEN = re.compile(f"[{UNSEEN}]")

_NUMBER = r"[+-]?(?:\d+(?:[.,]\d*)?|[.,]\d+)(?:[eE][+-]?\d+)?"
_WRITTEN = re.compile(
    rf"^\s*(?P<value>{_NUMBER})\s*(?P<unit>{UNIT})??\s*"
    rf"(?:(?:\+/-|±)\s*(?P<spread>{_NUMBER})\s*(?P<percent>%)?\s*(?P<spread_unit>{UNIT})?)?\s*$"
)

_WITH_UNIT = re.compile(rf"^\s*{_NUMBER}\s*(?P<unit>[^\s\d.,+±-][^+±]*?)\s*(?:(?:\+/-|±).*)?$", re.DOTALL)

# A rule's or a thread's fraction at the start: 5/8, 1 5/8, 1-5/8.
_FRACTION = re.compile(
    r"^\s*(?P<sign>[+-]?)(?:(?P<whole>\d+)(?:\s+|-))?(?P<top>\d+)/(?P<under>\d+)(?![\d./])"
)


def is_value(text: str) -> bool:
    """Say whether a text is written as a value is, whatever its unit."""
    return len(text) <= _MOST and _WRITTEN.match(text) is not None


def measured(
    written: object,
    spec: Spec,
    source: str,
    *,
    system: str,
    instruments: dict[str, tuple[str, float]],
    header_unit: str | None = None,
) -> Measured:
    """Read a value such as `1.45`, `"36.8 mm"`, `"1 5/8 in"` or `"1.450 +/- 0.003 in"`.

    A unit written once, before or after the uncertainty, is that of both; written twice, each has its own. A
    percentage is one of the value, unless the value is itself a share.

    Args:
        written: a number, or text.
        spec: what the value is; its range is checked.
        source: where it stands, kept with the value.
        system: the sheet's units, "inch" or "metric", for a number without a unit of its own.
        instruments: name -> (dimension, standard uncertainty [SI]), for a value without an uncertainty.
        header_unit: unit of the table's column, where its header names one.

    Raises:
        ValueError: one sentence that says what is wrong and what is allowed.
    """
    dimension = spec.dimension
    if dimension is None:
        raise TypeError(f"{source} is not a quantity")
    if isinstance(written, bool) or not isinstance(written, int | float | str):
        raise ValueError(f"{written_as(written)} is not a number or a text with a number and a unit")
    unit = header_unit if header_unit is not None else display_unit(dimension, system)
    spread: float | None = None
    spread_unit: str | None = None
    percent = False
    if isinstance(written, str):
        match = None
        if len(written) <= _MOST and not _UNSEEN.search(written):
            match = _WRITTEN.match(_FRACTION.sub(_decimal, written))
        if match is None:
            raise ValueError(_no_value(written))
        value = float(match["value"].replace(",", "."))
        if match["spread"] is not None:
            spread = float(match["spread"].replace(",", "."))
            percent = match["percent"] is not None and dimension != "fraction"
        spread_unit = match["spread_unit"]
        if match["unit"] is not None:
            unit = match["unit"]
        elif spread_unit is not None:
            unit = spread_unit
    else:
        value = _number(written)
    if not math.isfinite(value):
        raise ValueError(f"{written_as(written)} is not a finite number; leave out what is unknown")
    si = to_si(value, unit, dimension)
    if 0.0 < abs(si) < _NOTHING:
        raise ValueError(f"{written_as(written)} is nearer to zero than anything that is measured; write 0")
    if not spec.low <= si <= spec.high:
        what = f"{_plain(value)} {unit}".rstrip() + f" is outside {_allowed(spec, system)}"
        raise ValueError(what + _other_unit(value, unit, spec, system))
    if spread is not None:
        if not (math.isfinite(spread) and spread >= 0):
            raise ValueError(f"the uncertainty {spread} is not a number of 0 or more")
        u = abs(si) * spread / 100 if percent else spread_to_si(spread, spread_unit or unit, dimension)
        _could_be(si, u, str(written), spec)
        return Measured(si, u, source, stated=True)
    known = instruments.get(spec.instrument or "")
    u = 0.0
    if known is not None:
        u = abs(si) * known[1] if known[0] == "fraction" else known[1]
    return Measured(si, u, source)


def _number(written: float) -> float:
    """Return a number of the sheet; one beyond the range of such numbers is infinite."""
    try:
        return float(written)
    except OverflowError:
        return math.inf


def _no_value(written: str) -> str:
    """Say why a text is no value."""
    if written.strip().lower().lstrip("+-") in ("nan", "inf", "infinity"):
        return f"{written!r} is not a finite number; leave out what is unknown"
    unit = _WITH_UNIT.match(written[:_MOST])
    if unit is not None and not re.fullmatch(UNIT, unit["unit"]):
        return (
            f"in {written_as(written)} {written_as(unit['unit'])} is not a unit; write it like mm or lbf/in"
        )
    return f"{written_as(written)} is not a value; write it like 1.45, 36.8 mm or 1.450 +/- 0.003 in"


def _could_be(si: float, u: float, written: str, spec: Spec) -> None:
    """Refuse an uncertainty with which the part could not exist, or that is wider than all allowed."""
    if not math.isfinite(u):
        raise ValueError(f"the uncertainty in {written_as(written)} is not a finite number")
    if spec.low > 0.0 and (u >= si or (si - u < spec.low and u > _DOUBTFUL * si)):
        raise ValueError(
            f"{written_as(written)}: with so large an uncertainty there may be no such part. "
            "Were thousandths meant? Write them out, like 1.450 +/- 0.003"
        )
    if u > spec.high - spec.low:
        raise ValueError(
            f"{written_as(written)}: the uncertainty is wider than the whole range allowed. "
            "Were thousandths meant? Write them out, like 1.450 +/- 0.003"
        )


def _decimal(fraction: re.Match[str]) -> str:
    """Write a fraction as a decimal number; one over nothing stays as it is, to be refused."""
    if int(fraction["under"]) == 0:
        return fraction[0]
    value = int(fraction["whole"] or 0) + int(fraction["top"]) / int(fraction["under"])
    return f"{fraction['sign']}{value!r}"


def _plain(value: float) -> str:
    return f"{value:.6g}"


def _other_unit(value: float, unit: str, spec: Spec, system: str) -> str:
    """Ask whether the number was read in the other system's unit, where it would be allowed there."""
    assert spec.dimension is not None
    other = display_unit(spec.dimension, "metric" if system == "inch" else "inch")
    if unit != display_unit(spec.dimension, system) or other == unit or value == 0.0:
        return ""
    if not spec.low <= to_si(value, other, spec.dimension) <= spec.high:
        return ""
    return f"; if it was read in {other}, write {_plain(value)} {other}"


def _allowed(spec: Spec, system: str) -> str:
    """Write the allowed range in the sheet's units."""
    assert spec.dimension is not None
    unit = display_unit(spec.dimension, system)
    low = f"{from_si(spec.low, spec.dimension, system):.4g}"
    high = f"{from_si(spec.high, spec.dimension, system):.4g}"
    return f"the range {low} to {high} {unit}".rstrip()
