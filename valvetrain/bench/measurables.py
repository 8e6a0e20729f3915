"""What can be measured at the bench, in the order in which it helps, with its places and what is there."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

from valvetrain.parts.spec import Spec
from valvetrain.questions.next.checks import NextMeasurement
from valvetrain.setup.contents import reading
from valvetrain.setup.editing.edited import as_text, file_of, written_at
from valvetrain.setup.editing.place import Cell, described_as, place_of
from valvetrain.setup.faults import SheetError
from valvetrain.setup.schema import PER_ROLE, ROLES
from valvetrain.setup.setup import Setup
from valvetrain.setup.starter_words import ESSENTIALS, VALVES_CSV
from valvetrain.setup.tables.columns import COLUMNS, TEXT_COLUMNS
from valvetrain.setup.tables.csv_file import read_table, split_table
from valvetrain.setup.tables.named import TABLE_KEYS
from valvetrain.setup.units import display_unit

__all__ = ["Measurable", "Spot", "allowed_key", "measurables"]

_FILES = frozenset(f"{section}.{key}" for section, key in TABLE_KEYS)
# Read at every valve, though a section may give them for all.
_AT_VALVES = ("exposure", "gross_lift", "shaft.height")


@dataclass(frozen=True)
class Spot:
    """One place of a measurement: key, its name, what is written there ("" where nothing is)."""

    key: str
    name: str
    written: str


@dataclass(frozen=True)
class Measurable:
    """One thing to measure.

    Attributes:
        id: column, or "section.key".
        title: what it is, in shop words.
        topic: key by which the guide knows it.
        unit: of a plain number; "" for a word.
        instrument: name of what it is usually read with, or "".
        choices: the words allowed, for a word.
        spots: where.
        helps: why it is proposed; "" where it is not.
    """

    id: str
    title: str
    topic: str
    unit: str
    instrument: str
    choices: tuple[str, ...]
    spots: tuple[Spot, ...]
    helps: str = ""


def allowed_key(key: str) -> bool:
    """Say whether the bench may write a key: none that names a file, or turns every number into another."""
    place = place_of(key)
    if isinstance(place, Cell):
        return place.column in (*COLUMNS, *TEXT_COLUMNS) and place.column != "valve"
    path = place.path
    if path[0] in ("tables", "row") or path in (("sheet", "units"), ("engine", "cylinders")):
        return False
    return f"{path[0]}.{path[-1]}" not in _FILES and (path[0] == "sheet" or described_as(place) is not None)


def measurables(
    setup: Setup, toml: Path, contents: Mapping[Path, bytes | str], ranked: Sequence[NextMeasurement]
) -> tuple[Measurable, ...]:
    """List what can be measured: what helps most first, then in the order of a sheet."""
    table = _Table(setup, toml, contents)
    found: dict[str, Measurable] = {}
    for one in ranked:
        for key in one.keys:
            name = _as_column(key, table)
            each = _made(setup, toml, contents, table, name, _helps(one))
            if each is not None:
                found.setdefault(each.id, each)
    for name in _ordinary(table):
        each = _made(setup, toml, contents, table, name, "")
        if each is not None:
            found.setdefault(each.id, each)
    return tuple(found.values())


class _Table:
    """The table of valves as it is written."""

    def __init__(self, setup: Setup, toml: Path, contents: Mapping[Path, bytes | str]) -> None:
        self.units: dict[str, str | None] = {}
        self.cells: dict[str, dict[str, str]] = {}
        path = file_of(toml, contents, Cell(setup.valves[0], "lash"))
        if path is None:
            return
        try:
            with reading(dict(contents)):
                self.units = split_table(path, path.name)[3]
                self.cells = {cells["valve"].upper(): cells for _, cells in read_table(path, path.name).rows}
        except SheetError:
            return


def _helps(one: NextMeasurement) -> str:
    said = []
    if one.decided >= 0.05:
        said.append(f"decides about {one.decided:.1f} unsure verdicts")
    if one.opened:
        said.append(f"opens {one.opened} verdict{'s' if one.opened > 1 else ''} not measured yet")
    if len(one.keys) > 1:
        said.append("together with " + ", ".join(key.partition(".")[2].replace("_", " ") for key in one.keys))
    return "; ".join(said) or "makes surer"


def _as_column(key: str, table: _Table) -> str:
    """Name a sheet key by its column where it is measured at every valve."""
    section, _, name = key.partition(".")
    if section == "station":
        return name
    for column, (own, its, _) in COLUMNS.items():
        at_valves = column in (*table.units, *VALVES_CSV, *_AT_VALVES)
        if (own, its) == (section, name) and at_valves:
            return column
    return key


def _ordinary(table: _Table) -> Iterator[str]:
    """Name what a starter sheet asks for, and what the table of valves has besides."""
    yield from (column for column in VALVES_CSV if column not in ("remarks", "spring"))
    yield from (column for column in table.units if column in COLUMNS)
    yield "exposure"
    for section, keys, _ in ESSENTIALS:
        base = section.partition(".")[0]
        yield from (f"{base}.{key}" for key in keys if f"{base}.{key}" not in _FILES and key not in ROLES)
        if base == "lash":
            yield from (f"lash.{role}" for role in ROLES)
    yield from ("engine.redline", "engine.bore", "engine.stroke", "engine.rod_length")


def _made(
    setup: Setup,
    toml: Path,
    contents: Mapping[Path, bytes | str],
    table: _Table,
    name: str,
    helps: str,
) -> Measurable | None:
    if name in COLUMNS:
        section, key, spec = COLUMNS[name]
        unit = table.units.get(name) or _unit(spec, setup.units)
        spots = tuple(
            Spot(f"{valve}.{name}", valve, table.cells.get(valve, {}).get(name, "")) for valve in setup.valves
        )
        topic = f"{section}.{key}"
        return Measurable(name, spec.doc, topic, unit, spec.instrument or "", (), spots, helps)
    section, _, key = name.partition(".")
    if not key or not allowed_key(name):
        return None
    found = described_as(place_of(name))
    if found is None or found.many:
        return None
    keys = [name]
    if section in PER_ROLE and section != "shaft":
        given = [f"{section}.{role}.{key}" for role in ROLES]
        at_roles = any(written_at(toml, contents, each) is not None for each in given)
        if at_roles or any(each.startswith(f"{section}.") for each, _, _ in ESSENTIALS):
            keys = given
    elif section == "shaft":
        keys = [name, *_shafts_own(toml, contents, key)]
    spots = tuple(Spot(each, _spot_name(each), written_at(toml, contents, each) or "") for each in keys)
    unit = _unit(found, setup.units)
    return Measurable(name, found.doc, name, unit, found.instrument or "", found.choices, spots, helps)


def _shafts_own(toml: Path, contents: Mapping[Path, bytes | str], key: str) -> list[str]:
    """Name the key of each shaft that the sheet describes apart."""
    import tomllib

    shaft = tomllib.loads(as_text(contents[toml])).get("shaft", {})
    names = [name for name, inside in shaft.items() if isinstance(inside, dict) and name not in ROLES]
    return [f"shaft.{name}.{key}" for name in names]


def _spot_name(key: str) -> str:
    """Name a place in words."""
    steps = key.split(".")
    return steps[1] if len(steps) > 2 else "whole engine"


def _unit(spec: Spec, system: str) -> str:
    return "" if spec.dimension is None else display_unit(spec.dimension, system)
