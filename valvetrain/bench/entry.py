"""What is typed at the bench: readings, the value and doubt that they give, and whether it is likely."""

import itertools
import math
import re
import statistics
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from valvetrain.parts.instruments import DEFAULT_UNCERTAINTY
from valvetrain.parts.measured import Measured
from valvetrain.parts.spec import Spec
from valvetrain.setup.setup import Setup
from valvetrain.setup.units import shown, spread_to_si, to_si
from valvetrain.setup.values import measured

__all__ = ["Unlikely", "joined", "read", "unlikely"]

_DIGITS = re.compile(r"\d+(?:[.,]\d+)?")
_FEWEST = 4  # values of a set, before one may be called far from it
_FAR = 6.0  # times the set's own scatter


@dataclass(frozen=True)
class Unlikely:
    """Why a value is asked about before it is kept: in words, and what may have been meant, if anything."""

    words: str
    meant: str | None


def read(setup: Setup, spec: Spec, typed: str, unit: str) -> Measured:
    """Read one value as the sheet would.

    Raises:
        ValueError: it is none, in the words of the sheet's faults.
    """
    return measured(
        typed, spec, "", system=setup.units, instruments=dict(setup.instruments), header_unit=unit or None
    )


def joined(setup: Setup, spec: Spec, readings: Sequence[str], unit: str) -> str:
    """Turn readings into what is written: one as it was typed, several as their mean with its doubt.

    The doubt of the mean is that of its scatter, s/sqrt(n) (GUM 4.2.3), together with that of one reading of
    the instrument, which all readings share (GUM 5.1.2, both published).

    Raises:
        ValueError: one of them is no value, or several come with a doubt of their own.
    """
    typed = [each.strip() for each in readings if each.strip()]
    if len(typed) == 1 or spec.dimension is None:
        if len(typed) != 1:
            raise ValueError("write one value" if not typed else "several readings are for numbers only")
        if spec.dimension is not None and not spec.many:
            read(setup, spec, typed[0], unit)
        return typed[0]
    if not typed:
        raise ValueError("write a value")
    found = [read(setup, spec, each, unit) for each in typed]
    if any(each.stated for each in found):
        raise ValueError("several readings tell the doubt by themselves: write each without +/-")
    values = [each.value for each in found]
    scatter = statistics.stdev(values) / math.sqrt(len(values))
    mean, doubt = statistics.fmean(values), math.hypot(scatter, max(each.uncertainty for each in found))
    size = abs(spread_to_si(1.0, unit, spec.dimension))
    shown_mean = (mean - to_si(0.0, unit, spec.dimension)) / size
    shown_doubt = doubt / size
    digits = max(0, 1 - math.floor(math.log10(shown_doubt))) if shown_doubt > 0 else 6
    return f"{shown_mean:.{digits}f} +/- {shown_doubt:.{digits}f}"


def unlikely(
    setup: Setup, spec: Spec, typed: str, unit: str, others: Sequence[float], system: str
) -> Unlikely | None:
    """Say whether a value lies far from the others of its set, and what may have been meant.

    Args:
        setup: the setup.
        spec: what the value is.
        typed: as it would be written.
        unit: of a plain number.
        others: the same value at the other valves of its set [SI].
        system: units of the answer.
    """
    if len(others) < _FEWEST or spec.dimension is None or spec.many:
        return None
    value = read(setup, spec, typed, unit)
    middle = statistics.median(others)
    kind, known = setup.instruments.get(spec.instrument or "", DEFAULT_UNCERTAINTY["caliper"])
    known = known * abs(middle) if kind == "fraction" else known
    scatter = max(1.4826 * statistics.median(abs(each - middle) for each in others), 2.0 * known)
    away = abs(value.value - middle)
    if away <= _FAR * scatter:
        return None
    near = []
    for other in _slips(typed):
        try:
            found = read(setup, spec, other, unit)
        except ValueError:
            continue
        if abs(found.value - middle) <= 3.0 * scatter:
            near.append((abs(found.value - middle), other))
    meant = min(near)[1] if near else None
    least, most = (shown(end, spec.dimension, system) for end in (min(others), max(others)))
    words = (
        f"{_plain(value, spec, system)} is far from the {len(others)} others of its set ({least} to {most})."
    )
    return Unlikely(words, meant)


def _plain(value: Measured, spec: Spec, system: str) -> str:
    return shown(value.value, spec.dimension or "ratio", system)


def _slips(typed: str) -> Iterator[str]:
    """Write the value with what usually goes wrong undone: two figures exchanged, or the point moved."""
    match = _DIGITS.search(typed)
    if match is None:
        return
    number = match[0]
    places = [at for at, letter in enumerate(number) if letter.isdigit()]
    for one, two in itertools.pairwise(places):
        if number[one] != number[two]:
            letters = list(number)
            letters[one], letters[two] = letters[two], letters[one]
            yield typed[: match.start()] + "".join(letters) + typed[match.end() :]
    bare = number.replace(".", "").replace(",", "")
    for at in range(1, len(bare) + 1):
        moved = f"{bare[:at]}.{bare[at:]}".rstrip(".")
        if moved != number:
            yield typed[: match.start()] + moved + typed[match.end() :]
