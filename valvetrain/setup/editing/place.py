"""Where a key stands: in the sheet's TOML, or in a cell of the table of valves."""

import dataclasses
import re
import typing
from collections.abc import Mapping
from dataclasses import dataclass

from valvetrain.parts.spec import Spec
from valvetrain.setup.faults import Fault, SheetError
from valvetrain.setup.schema import ROLES, SECTIONS
from valvetrain.setup.tables.columns import COLUMNS, TEXT_COLUMNS

__all__ = ["Cell", "Entry", "Place", "described_as", "is_word", "place_of", "places_of"]

_VALVE = re.compile(r"^\d+[IE]\d?$", re.IGNORECASE)
_STEP = re.compile(r"^[A-Za-z0-9_-]+$")


@dataclass(frozen=True)
class Entry:
    """A key of the TOML file: the names of its sections, then its own; a number is that of a `[[row]]`."""

    path: tuple[str, ...]

    def __str__(self) -> str:
        """Return the key as it is asked for."""
        return ".".join(self.path)


@dataclass(frozen=True)
class Cell:
    """A cell of the table of valves."""

    valve: str
    column: str

    def __str__(self) -> str:
        """Return the key as it is asked for."""
        return f"{self.valve}.{self.column}"


Place = Entry | Cell


def place_of(key: str) -> Place:
    """Find where a key stands: `7E.installed_height`, `shaft.stand_shim`, `lobe.intake.lift`.

    Raises:
        SheetError: it cannot be one.
    """
    steps = tuple(step.strip() for step in key.strip().split("."))
    if len(steps) < 2 or not all(_STEP.match(step) for step in steps):
        raise SheetError(
            [
                Fault(
                    f"'{key}'",
                    "is not a key of a sheet",
                    "Write VALVE.COLUMN such as 7E.installed_height, or SECTION.KEY such as shaft.height.",
                )
            ]
        )
    if not _VALVE.match(steps[0]):
        return Entry(steps)
    return Cell(steps[0].upper(), ".".join(steps[1:]))


def places_of(
    values: Mapping[str, str | None] | typing.Iterable[tuple[str, str | None]],
) -> dict[Place, str | None]:
    """Find where each of several keys stands.

    Raises:
        SheetError: one is no key, or two values are given for one place.
    """
    pairs = values.items() if isinstance(values, Mapping) else values
    found: dict[Place, str | None] = {}
    spelled: dict[tuple[str, ...], Place] = {}
    faults: list[Fault] = []
    for key, written in pairs:
        try:
            place = place_of(key)
        except SheetError as error:
            faults += error.faults
            continue
        same = spelled.setdefault(_one_name(place), place)
        if same in found and found[same] != written:
            faults.append(
                Fault(
                    f"'{key}'",
                    f"is given twice: {found[same] or 'nothing'} and {written or 'nothing'}",
                    "Give one of them.",
                )
            )
        found[same] = written
    if faults:
        raise SheetError(faults)
    return found


def _one_name(place: Place) -> tuple[str, ...]:
    """Name a place so that two spellings of it are alike."""
    if isinstance(place, Entry):
        return place.path
    section, key, *_ = COLUMNS.get(place.column, ("", place.column, None))
    return (place.valve, section, key)


def described_as(place: Place) -> Spec | None:
    """Return what the schema says of a place; None where it does not know it."""
    if isinstance(place, Cell):
        found = COLUMNS.get(place.column)
        return found[2] if found else Spec("text") if place.column in TEXT_COLUMNS else None
    section, key = place.path[0], place.path[-1]
    if section == "limits" and len(place.path) == 3:
        from valvetrain.parts.limits.defaults import DEFAULT_LIMITS

        limit = DEFAULT_LIMITS.get(place.path[1])
        return None if limit is None else Spec(limit.doc, limit.dimension)
    if section not in SECTIONS:
        return None
    if section == "lash" and key in ROLES:
        key = "wanted"
    for field in dataclasses.fields(SECTIONS[section]):
        if field.name == key:
            spec: Spec = field.metadata["spec"]
            return spec
    return None


def is_word(place: Place) -> bool:
    """Say whether what stands there is text, even where it looks like a number."""
    if isinstance(place, Cell):
        return place.column in TEXT_COLUMNS
    if place.path[0] in ("sheet", "tables"):
        return True
    spec = described_as(place)
    if spec is None or spec.dimension is not None:
        return False
    part = SECTIONS[place.path[0]]
    hint = typing.get_type_hints(part).get(place.path[-1])
    return hint in (str, str | None) or bool(spec.choices)
