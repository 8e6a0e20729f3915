"""Reading a setup sheet: a folder with `setup.toml` and the tables it names, turned into a `Setup`."""

import dataclasses
from collections.abc import Callable, Mapping
from pathlib import Path
from typing import Any

from pydantic import BaseModel, ValidationError

from valvetrain.parts.adjuster import HeightChange
from valvetrain.parts.instruments import DEFAULT_UNCERTAINTY
from valvetrain.parts.wheel import WheelReading
from valvetrain.setup.assemble import assembled
from valvetrain.setup.contents import Contents, reading
from valvetrain.setup.faults import Fault, SheetError, written_as
from valvetrain.setup.plausible import faults_of
from valvetrain.setup.schema import PER_ROLE, ROLES, SECTIONS, quantity_type, sheet_model
from valvetrain.setup.schema_faults import schema_fault
from valvetrain.setup.setup import Setup
from valvetrain.setup.shafts import shaft_names, shaft_of_valves
from valvetrain.setup.sheet_text import FILE, parsed, sheet_file
from valvetrain.setup.tables.clearance_readings import read_clearance_readings
from valvetrain.setup.tables.height_changes import read_height_changes
from valvetrain.setup.tables.lift_table import read_lift_table
from valvetrain.setup.tables.load_tests import read_load_tests
from valvetrain.setup.tables.named import PARTS, TABLE_KEYS, Shelf
from valvetrain.setup.tables.oil import read_oil_layouts, read_oil_network
from valvetrain.setup.tables.outlines import read_pad_outline, read_part_outline
from valvetrain.setup.tables.valves import ValveRow, read_valve_table, valve_names
from valvetrain.setup.units import SYSTEMS

__all__ = ["read_setup"]


# readers of the tables that keys of sections name
_READERS: dict[str, Callable[..., Any]] = {
    "table": read_lift_table,
    "tests": read_load_tests,
    "pad_outline": read_pad_outline,
    "readings": read_clearance_readings,
    "network": read_oil_network,
    "layouts": read_oil_layouts,
    **{f"{part}_outline": read_part_outline for part in PARTS},
}

# Of so many faults each is told in full; what is not known takes a search for the nearest name.
_IN_FULL = 25


def read_setup(path: str | Path, contents: Mapping[Path, bytes | str] | None = None) -> Setup:
    """Read the sheet in the folder `path`, or the `setup.toml` that it names.

    Args:
        path: the folder or the file.
        contents: what stands in some of its files, instead of what is on the disk.

    Raises:
        SheetError: with every fault found in the sheet and its tables.
    """
    kept: Contents = dict(contents or {})
    with reading(kept):
        setup = _read(path)
    return dataclasses.replace(setup, contents=kept)


def _read(path: str | Path) -> Setup:
    """Read the sheet and its tables."""
    toml = sheet_file(Path(path))
    raw = parsed(toml)
    system = raw.get("sheet", {}).get("units") if isinstance(raw.get("sheet"), dict) else None
    if system not in SYSTEMS:
        found = "is missing" if system is None else f"is {written_as(system)}"
        raise SheetError(
            [
                Fault(
                    f"{FILE} [sheet] units",
                    found,
                    'Write units = "inch" or units = "metric"; nothing is assumed.',
                )
            ]
        )
    known = _instruments(raw, system)
    context = {"system": system, "known": known, "file": FILE}
    shafts = shaft_names(raw, toml.parent)
    try:
        sheet = sheet_model(_present(raw), shafts).model_validate(raw, context=context)
    except ValidationError as error:
        entries = error.errors(include_url=False, include_context=True)
        raise SheetError(
            schema_fault(each, place < _IN_FULL, shafts) for place, each in enumerate(entries)
        ) from error
    sections = {name: _given(getattr(sheet, name)) for name in SECTIONS}
    engine = sections["engine"]
    names = _names(engine)
    faults: list[Fault] = []
    rows: dict[str, ValveRow] = {}
    tables = _given(getattr(sheet, "tables", None))
    shelf = Shelf(toml.parent)
    if "valves" in tables:
        try:
            rows = shelf.read(read_valve_table, tables["valves"], names, system=system, instruments=known)
        except SheetError as error:
            faults += error.faults
    heights: tuple[HeightChange, ...] = ()
    if "heights" in tables:
        try:
            heights = shelf.read(
                read_height_changes, tables["heights"], names, system=system, instruments=known
            )
        except SheetError as error:
            faults += error.faults
    correlation = None
    if "correlation" in tables:
        from valvetrain.setup.tables.correlation import read_correlation

        try:
            correlation = shelf.read(read_correlation, tables["correlation"])
        except SheetError as error:
            faults += error.faults
    wheel: tuple[WheelReading, ...] = ()
    if "wheel" in tables:
        from valvetrain.setup.tables.wheel_readings import read_wheel_readings

        try:
            wheel = shelf.read(read_wheel_readings, tables["wheel"], names, system=system, instruments=known)
        except SheetError as error:
            faults += error.faults
    faults += _read_named_tables(sections, shelf, system, known, (*ROLES, *shafts))
    on_shaft: dict[str, str] = {}
    try:
        on_shaft = shaft_of_valves(engine.get("shafts"), names, rows)
    except SheetError as error:
        faults += error.faults
    if faults:
        raise SheetError(faults)
    limits = {name: _given(each) for name, each in _given(getattr(sheet, "limits", None)).items()}
    setup = assembled(
        sheet=str(path),
        title=sheet.sheet.title,  # type: ignore[attr-defined]
        units=system,
        sections=sections,
        limits=limits,
        names=names,
        rows=rows,
        on_shaft=on_shaft,
        has_valve_table="valves" in tables,
        heights=heights,
        feeler=known["feeler"][1],
    )
    setup = dataclasses.replace(
        setup, correlation=correlation, instruments=known, wheel=wheel, outside=tuple(shelf.outside)
    )
    faults = faults_of(setup)
    if faults:
        raise SheetError(faults)
    return _with_shaft_rows(setup, getattr(sheet, "row", None) or [], known)


def _with_shaft_rows(setup: Setup, written: list[BaseModel], known: dict[str, tuple[str, float]]) -> Setup:
    """Add what `[[row]]` says of the shafts."""
    if not written:
        return setup
    from valvetrain.parts.row import RowText
    from valvetrain.setup.shaft_rows import shaft_rows

    texts = []
    for row in written:
        keys: dict[str, Any] = {k: tuple(v) if isinstance(v, list) else v for k, v in _given(row).items()}
        texts.append(RowText(**keys))
    rows = shaft_rows(texts, setup.trains, setup.units, known)
    return dataclasses.replace(setup, shaft_rows=rows)


def _present(raw: dict[str, Any], path: str = "") -> frozenset[str]:
    """Return the dotted paths of a sheet's sections and keys: only for these is a model made."""
    paths: set[str] = set()
    for name, value in raw.items():
        paths.add(f"{path}{name}")
        if isinstance(value, dict):
            paths |= _present(value, f"{path}{name}.")
    return frozenset(paths)


def _instruments(raw: dict[str, Any], system: str) -> dict[str, tuple[str, float]]:
    """Return the instruments' uncertainties, the sheet's own over the defaults.

    A faulty entry is left out here: it is reported with the rest of the sheet.
    """
    known = {"exact": ("fraction", 0.0)} | DEFAULT_UNCERTAINTY
    given = raw.get("instruments")
    if not isinstance(given, dict):
        return known
    from pydantic import TypeAdapter

    from valvetrain.parts.instruments import Instruments
    from valvetrain.parts.spec import spec_of

    for name, written in given.items():
        if name not in DEFAULT_UNCERTAINTY:
            continue
        adapter: TypeAdapter[Any] = TypeAdapter(quantity_type(spec_of(Instruments, name), name))
        try:
            context = {"system": system, "known": {}, "file": FILE}
            value = adapter.validate_python(written, context=context)
        except ValidationError:
            continue
        known[name] = (DEFAULT_UNCERTAINTY[name][0], value.value)
    return known


def _given(model: Any) -> dict[str, Any]:
    """Return the keys that a section gives."""
    if model is None:
        return {}
    return {name: getattr(model, name) for name in model.model_fields_set}


def _names(engine: dict[str, Any]) -> tuple[str, ...]:
    """Return the names of the engine's valves; the number of cylinders must be there."""
    cylinders, per_cylinder = engine.get("cylinders"), engine.get("valves_per_cylinder", 2)
    faults = []
    if not isinstance(cylinders, int) or not 1 <= cylinders <= 24:
        found = "is missing" if cylinders is None else f"{cylinders} is outside the range 1 to 24"
        faults.append(Fault(f"{FILE} [engine] cylinders", found, "Write the number of cylinders."))
    if per_cylinder not in (2, 4):
        faults.append(
            Fault(f"{FILE} [engine] valves_per_cylinder", f"{per_cylinder} is not allowed", "Write 2 or 4.")
        )
    if faults:
        raise SheetError(faults)
    return valve_names(int(cylinders or 0), per_cylinder)


def _read_named_tables(
    sections: dict[str, dict[str, Any]],
    shelf: Shelf,
    system: str,
    known: dict[str, tuple[str, float]],
    within: tuple[str, ...],
) -> list[Fault]:
    """Replace the file names of lift tables and load tests by what is in them."""
    faults: list[Fault] = []
    read: dict[tuple[str, str], Any] = {}
    for section, key in TABLE_KEYS:
        reader = _READERS[key]
        for role in (None, *within):
            given = sections[section] if role is None else sections[section].get(role)
            if given is not None and isinstance(given, BaseModel):
                given = _given(given)
                sections[section][str(role)] = given
            if not given or key not in given:
                continue
            name = given[key]
            try:
                if (key, name) not in read:
                    read[(key, name)] = shelf.read(reader, name, system=system, instruments=known)
                given[key] = read[(key, name)]
            except SheetError as error:
                faults = list(dict.fromkeys([*faults, *error.faults]))
    for section in PER_ROLE:
        for role in within:
            if isinstance(sections[section].get(role), BaseModel):
                sections[section][role] = _given(sections[section][role])
    return faults
