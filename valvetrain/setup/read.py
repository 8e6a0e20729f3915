"""Reading a setup sheet: a folder with `setup.toml` and the tables it names, turned into a `Setup`."""

import dataclasses
import tomllib
from collections.abc import Callable, Mapping
from pathlib import Path
from typing import Any

from pydantic import BaseModel, ValidationError

from valvetrain.parts.adjuster import HeightChange
from valvetrain.parts.instruments import DEFAULT_UNCERTAINTY
from valvetrain.parts.wheel import WheelReading
from valvetrain.setup.assemble import assembled
from valvetrain.setup.contents import Contents, content, reading
from valvetrain.setup.faults import Fault, SheetError, nearest
from valvetrain.setup.plausible import faults_of
from valvetrain.setup.schema import PER_ROLE, ROLES, SECTIONS, quantity_type, sheet_model
from valvetrain.setup.setup import Setup
from valvetrain.setup.tables.clearance_readings import read_clearance_readings
from valvetrain.setup.tables.height_changes import read_height_changes
from valvetrain.setup.tables.lift_table import read_lift_table
from valvetrain.setup.tables.load_tests import read_load_tests
from valvetrain.setup.tables.oil import read_oil_layouts, read_oil_network
from valvetrain.setup.tables.outlines import read_pad_outline, read_part_outline
from valvetrain.setup.tables.valves import ValveRow, read_valve_table, valve_names
from valvetrain.setup.units import SYSTEMS

__all__ = ["read_setup", "sheet_file"]

FILE = "setup.toml"

# keys that name a table: section, key, reader
_TABLE_READERS: tuple[tuple[str, str, Callable[..., Any]], ...] = (
    ("lobe", "table", read_lift_table),
    *((spring, "tests", read_load_tests) for spring in ("spring", "middle_spring", "inner_spring")),
    ("rocker", "pad_outline", read_pad_outline),
    ("piston", "readings", read_clearance_readings),
    ("oil", "network", read_oil_network),
    ("oil", "layouts", read_oil_layouts),
    *(("shapes", f"{part}_outline", read_part_outline) for part in ("rocker", "retainer", "seal", "stand")),
)


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
    raw = _parsed(toml)
    system = raw.get("sheet", {}).get("units") if isinstance(raw.get("sheet"), dict) else None
    if system not in SYSTEMS:
        found = "is missing" if system is None else f"is {system!r}"
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
    try:
        sheet = sheet_model(_present(raw)).model_validate(raw, context=context)
    except ValidationError as error:
        raise SheetError(_fault(entry) for entry in error.errors(include_url=False)) from error
    sections = {name: _given(getattr(sheet, name)) for name in SECTIONS}
    engine = sections["engine"]
    names = _names(engine)
    faults: list[Fault] = []
    rows: dict[str, ValveRow] = {}
    tables = _given(getattr(sheet, "tables", None))
    if "valves" in tables:
        try:
            rows = read_valve_table(
                toml.parent / tables["valves"], tables["valves"], names, system=system, instruments=known
            )
        except SheetError as error:
            faults += error.faults
    heights: tuple[HeightChange, ...] = ()
    if "heights" in tables:
        try:
            heights = read_height_changes(
                toml.parent / tables["heights"], tables["heights"], names, system=system, instruments=known
            )
        except SheetError as error:
            faults += error.faults
    correlation = None
    if "correlation" in tables:
        from valvetrain.setup.tables.correlation import read_correlation

        try:
            correlation = read_correlation(toml.parent / tables["correlation"], tables["correlation"])
        except SheetError as error:
            faults += error.faults
    wheel: tuple[WheelReading, ...] = ()
    if "wheel" in tables:
        from valvetrain.setup.tables.wheel_readings import read_wheel_readings

        try:
            wheel = read_wheel_readings(
                toml.parent / tables["wheel"], tables["wheel"], names, system=system, instruments=known
            )
        except SheetError as error:
            faults += error.faults
    faults += _read_named_tables(sections, toml.parent, system, known)
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
        has_valve_table="valves" in tables,
        heights=heights,
        feeler=known["feeler"][1],
    )
    setup = dataclasses.replace(setup, correlation=correlation, instruments=known, wheel=wheel)
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


def sheet_file(path: Path) -> Path:
    """Find the sheet's TOML file.

    Raises:
        SheetError: there is none.
    """
    toml = path / FILE if path.is_dir() else path
    if not path.exists():
        raise SheetError(
            [Fault(str(path), "does not exist", "Give the folder that holds setup.toml, or the file itself.")]
        )
    if not toml.exists():
        raise SheetError(
            [Fault(str(path), "this folder holds no setup.toml", "Give the folder of a setup sheet.")]
        )
    return toml


def _parsed(toml: Path) -> dict[str, Any]:
    """Parse the TOML text."""
    try:
        found = content(toml)
        text = found if isinstance(found, str) else found.decode("utf-8-sig")
        return tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        mend = "Mend that line."
        if "invalid value" in str(error).lower():
            mend = "Write a value behind the =, words in quotes; or put # before the line if it is unknown."
        raise SheetError([Fault(FILE, f"is not valid TOML: {error}", mend)]) from error
    except UnicodeDecodeError as error:
        raise SheetError([Fault(FILE, "is not UTF-8 text", "Save it as UTF-8.")]) from error
    except OSError as error:
        reason = (error.strerror or str(error)).lower()
        raise SheetError([Fault(FILE, f"cannot be read: {reason}", "Check the file.")]) from error


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


def _fault(entry: Any) -> Fault:
    """Turn one of pydantic's errors into a fault in shop words."""
    path = [str(step) for step in entry["loc"]]
    where = _where(path)
    kind, written = entry["type"], entry["input"]
    if kind == "extra_forbidden":
        model: Any = sheet_model()
        for step in path[:-1]:
            field = model.model_fields.get(step)
            if field is None:
                if step.isdigit():
                    continue
                break
            model = _model_of(field.annotation)
        what = "section" if len(path) == 1 else "key"
        homes = [
            f"[{name}]"
            for name, part in SECTIONS.items()
            if any(field.name == path[-1] for field in dataclasses.fields(part))
        ]
        if what == "key" and homes and len(homes) <= 3:
            return Fault(where, "this key does not belong here", f"Move it to {' or '.join(homes)}.")
        return Fault(where, f"this {what} is not known", nearest(path[-1], model.model_fields))
    if kind == "literal_error":
        return Fault(where, f"{written!r} is not allowed", f"Write {entry['ctx']['expected']}.")
    if kind == "missing":
        return Fault(where, "is missing", "Add it.")
    if kind == "value_error":
        return Fault(where, str(entry["ctx"]["error"]), "Correct it, or leave it out if it is unknown.")
    if kind in ("model_type", "model_attributes_type"):
        return Fault(
            where, f"{written!r} is not a section", f"Write it as [{'.'.join(path)}] with its keys below."
        )
    return Fault(where, f"{written!r}: {entry['msg'].lower()}", "Correct it.")


def _model_of(annotation: Any) -> Any:
    """Return the model inside an annotation such as list[Model]."""
    while not (isinstance(annotation, type) and issubclass(annotation, BaseModel)):
        annotation = annotation.__args__[0]
    return annotation


def _where(path: list[str]) -> str:
    """Name a key as it stands in the file."""
    if len(path) == 1:
        return f"{FILE} [{path[0]}]"
    section = path[0]
    for step in path[1:-1]:
        section += f" entry {int(step) + 1}" if step.isdigit() else f".{step}"
    return f"{FILE} [{section}] {path[-1]}"


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
    sections: dict[str, dict[str, Any]], folder: Path, system: str, known: dict[str, tuple[str, float]]
) -> list[Fault]:
    """Replace the file names of lift tables and load tests by what is in them."""
    faults: list[Fault] = []
    read: dict[tuple[str, str], Any] = {}
    for section, key, reader in _TABLE_READERS:
        for role in (None, *ROLES):
            given = sections[section] if role is None else sections[section].get(role)
            if given is not None and isinstance(given, BaseModel):
                given = _given(given)
                sections[section][str(role)] = given
            if not given or key not in given:
                continue
            name = given[key]
            try:
                if (key, name) not in read:
                    read[(key, name)] = reader(folder / name, name, system=system, instruments=known)
                given[key] = read[(key, name)]
            except SheetError as error:
                faults += [fault for fault in error.faults if fault not in faults]
    for section in PER_ROLE:
        for role in ROLES:
            if isinstance(sections[section].get(role), BaseModel):
                sections[section][role] = _given(sections[section][role])
    return faults
