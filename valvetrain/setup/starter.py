"""A starter sheet for an engine of one's own: every key with its meaning, all of them still unknown.

The comments come from the parts' descriptions, so that they say what the schema says.
"""

import dataclasses
import textwrap
from dataclasses import dataclass
from itertools import pairwise

from valvetrain.parts import row
from valvetrain.parts.instruments import DEFAULT_UNCERTAINTY
from valvetrain.parts.spec import Spec
from valvetrain.setup.schema import PER_ROLE, ROLES, SECTIONS
from valvetrain.setup.starter_words import (
    ESSENTIALS,
    HEAD,
    LOBE_CSV,
    MORE,
    SHOP_INSTRUMENTS,
    SPRINGS_CSV,
    VALVES_CSV,
    WITHOUT,
)
from valvetrain.setup.tables.columns import COLUMNS
from valvetrain.setup.tables.valves import valve_names
from valvetrain.setup.units import DIMENSIONS, display_unit, from_si, written_unit

__all__ = ["Described", "starter_files"]

_WIDTH = 100
_RULE = "# " + "=" * (_WIDTH - 2)

# keys written by hand below, or not by a person
_BY_HAND = {"lobe": ("durations", "events"), "engine": ("cylinders", "valves_per_cylinder")}
_OF_A_SHAFT = ("height", "reference_stem_height", "stand_shim")
_COLUMNS_ONLY = {"lobe": ("measured_lift",), "lash": ("lash", "wanted")}


@dataclass(frozen=True)
class Described:
    """The engine that a starter sheet is for.

    Attributes:
        title: its name.
        cylinders: 1 to 24.
        valves_per_cylinder: 2 or 4.
        units: "inch" or "metric".
        instruments: names of `SHOP_INSTRUMENTS` that are at hand.
        shafts: number of rocker shafts.
    """

    title: str
    cylinders: int
    valves_per_cylinder: int
    units: str
    instruments: tuple[str, ...] = SHOP_INSTRUMENTS
    shafts: int = 1

    def on_shaft(self) -> dict[str, tuple[int, ...]]:
        """Shaft -> its cylinders; empty for one shaft. Of two, one has the odd cylinders."""
        every = range(1, self.cylinders + 1)
        if self.shafts < 2:
            return {}
        if self.shafts == 2:
            return {"left": tuple(every)[::2], "right": tuple(every)[1::2]}
        ends = [round(place * self.cylinders / self.shafts) for place in range(self.shafts + 1)]
        return {f"shaft{n}": tuple(every)[a:b] for n, (a, b) in enumerate(pairwise(ends), 1)}


def starter_files(engine: Described) -> dict[str, str]:
    """Return file name -> text of the sheet and of the tables to fill in."""
    length, force = (display_unit(each, engine.units) for each in ("length", "force"))
    files = {"setup.toml": _sheet(engine), "valves.csv": _valves(engine)}
    if "spring_tester" in engine.instruments:
        files["springs.csv"] = SPRINGS_CSV.format(length=length, force=force)
    if _reads_lobes(engine):
        for role in ROLES:
            files[f"{role}_lobe.csv"] = LOBE_CSV.format(role=role, length=length)
    return files


def _reads_lobes(engine: Described) -> bool:
    return {"indicator", "degree_wheel"} <= set(engine.instruments)


def _sheet(engine: Described) -> str:
    """Write setup.toml: first what `check` needs, then everything else."""
    title = engine.title.replace("\\", "\\\\").replace('"', '\\"')
    lines = [
        *(f"# {line}".rstrip() for line in HEAD),
        *_missing_words(engine),
        "",
        "[sheet]",
        f'title = "{title}"',
        f'units = "{engine.units}"',
        "",
        "[engine]",
        f"cylinders = {engine.cylinders}",
        f"valves_per_cylinder = {engine.valves_per_cylinder}",
        *_shafts(engine),
        *_more("engine", ["cylinders", "valves_per_cylinder", "shafts"], engine),
        "",
        "[tables]",
        'valves = "valves.csv"          # what is measured at every valve: fill in that table',
    ]
    told: dict[str, list[str]] = {"engine": []}
    for section, keys, _ in ESSENTIALS:
        own = [key for key in keys if _wanted(section, key, engine)]
        told.setdefault(section.partition(".")[0], []).extend(own)
    begun: set[str] = set()
    for section, keys, says in ESSENTIALS:
        base, _, role = section.partition(".")
        if role and base not in begun:
            lines += ["", f"[{base}]", "# What is alike for intake and exhaust, for further questions:"]
            lines += _more(base, told[base], engine)[1:]
        begun.add(base)
        lines += [
            "",
            f"[{section}]",
            *textwrap.wrap(says, _WIDTH, initial_indent="# ", subsequent_indent="# "),
        ]
        own = [key for key in keys if _wanted(section, key, engine)]
        of_shaft = [key for key in own if base == "shaft" and engine.on_shaft() and key in _OF_A_SHAFT]
        for key in own:
            if key not in of_shaft:
                lines += _key(base, key, engine, at_length=True, role=role)
        if base == "lobe":
            lines += _durations(engine)
        if not role:
            lines += _more(base, [*told[base], *(["name"] if engine.on_shaft() else [])], engine)
        for shaft in engine.on_shaft() if of_shaft else ():
            lines += ["", f"[shaft.{shaft}]", f"# What holds for the {shaft} shaft alone."]
            for key in of_shaft:
                lines += _key(base, key, engine, at_length=False)
    lines += ["", "[instruments]"]
    says = (
        "Standard uncertainty of one reading of your instruments, where it differs from the usual, which is "
        "written here. How to find it: valvetrain guide instruments"
    )
    lines += textwrap.wrap(says, _WIDTH, initial_indent="# ", subsequent_indent="# ")
    for name in engine.instruments:
        dimension, size = DEFAULT_UNCERTAINTY[name]
        unit = "%" if dimension == "fraction" else display_unit(dimension, engine.units)
        shown = from_si(size, dimension, engine.units, difference=True)
        written = f'"{shown:.2g} %"' if unit == "%" else f"{shown:.2g}"
        lines.append(f"#{name} = {written}".ljust(33) + ("" if unit == "%" else f"# {unit}"))
    return "\n".join([*map(str.rstrip, lines), *map(str.rstrip, _rest(engine, told))]) + "\n"


def _shafts(engine: Described) -> list[str]:
    """Say which cylinders stand on which shaft."""
    on_shaft = engine.on_shaft()
    if not on_shaft:
        doc = textwrap.wrap(
            _spec("engine", "shafts").doc, _WIDTH, initial_indent="# ", subsequent_indent="# "
        )
        return [*doc, "#shafts = { left = [1, 3, 5, 7], right = [2, 4, 6, 8] }"]
    parts = ", ".join(f"{name} = {list(cylinders)}" for name, cylinders in on_shaft.items())
    first = next(iter(on_shaft))
    return [
        "# Which cylinders stand on which rocker shaft: correct it by how your engine is numbered. The",
        f'# names are yours; valves may stand there too, as "1I". [shaft.{first}], [tappet.{first}],',
        f"# [pushrod.{first}] and the like hold what is so on that shaft alone.",
        f"shafts = {{ {parts} }}",
    ]


def _more(section: str, told: list[str], engine: Described) -> list[str]:
    """Write the keys of a section that its first lines do not have."""
    left = _left(section, told)
    lines = ["# --- further questions:"] if left else []
    for key in left:
        lines += _key(section, key, engine, at_length=False)
    return lines


def _missing_words(engine: Described) -> list[str]:
    """Say what to do without the instruments that are not at hand."""
    missing = [name for name in SHOP_INSTRUMENTS if name not in engine.instruments]
    if not missing:
        return []
    lines = ["#", "# Not at hand, and what to do instead:"]
    for name in missing:
        lines += textwrap.wrap(
            f"{name.replace('_', ' ')}: {WITHOUT[name]}",
            _WIDTH,
            initial_indent="#   ",
            subsequent_indent="#     ",
        )
    return lines


def _wanted(section: str, key: str, engine: Described) -> bool:
    """Say whether a key of the first part fits the instruments at hand."""
    tester = "spring_tester" in engine.instruments
    if section == "spring" and key in ("tests", "rate", "solid_height"):
        return tester == (key == "tests")
    if section.startswith("lobe") and key == "table":
        return _reads_lobes(engine)
    return True


def _spec(section: str, key: str) -> Spec:
    part = row.RowText if section == "row" else SECTIONS[section]
    spec: Spec = {field.name: field.metadata["spec"] for field in dataclasses.fields(part)}[key]
    return spec


def _key(section: str, key: str, engine: Described, *, at_length: bool, role: str = "") -> list[str]:
    """Write one key, still unknown: what it is above it, or behind it where that is short."""
    spec = _spec(section, "wanted" if section == "lash" and key in ROLES else key)
    unit = "" if spec.dimension is None else written_unit(spec.dimension, engine.units)
    with_ = ""
    if spec.instrument in DEFAULT_UNCERTAINTY:
        with_ = spec.instrument.replace("_", " ") if spec.instrument else ""
        if spec.instrument in SHOP_INSTRUMENTS and spec.instrument not in engine.instruments:
            with_ += ", not at hand"
    doc = spec.doc + (f" ({with_})" if with_ and at_length else "")
    if spec.choices and len(spec.choices) < 6:
        doc += f" ({' or '.join(spec.choices)})"
    empty = "[]" if spec.many else ""
    if spec.dimension is None:
        empty = (
            f'"{_example(key, spec)}"' if key not in ("spring_shims", "rocker_shims", *_ROW_LISTS) else "[]"
        )
        if key == "table":
            empty = f'"{role or "intake"}_lobe.csv"'
    left = f"#{key} = {empty}"
    if unit:
        left = left.ljust(33) + f"# {unit}"
    if at_length or len(left.ljust(33)) + len(doc) + 4 > _WIDTH + 8:
        above = textwrap.wrap(doc, _WIDTH, initial_indent="# ", subsequent_indent="# ")
        return [*above, left]
    return [left.ljust(33) + ("; " if unit else "# ") + doc]


_ROW_LISTS = ("front", "each", "rear")


def _example(key: str, spec: Spec) -> str:
    """Return a word that may stand there, for a key that is not a quantity."""
    if spec.choices:
        return spec.choices[0]
    return {"tests": "springs.csv"}.get(key, "")


def _durations(engine: Described) -> list[str]:
    """Write the lines of a cam card, for who has no dial."""
    lifts = ("0.006", "0.050") if engine.units == "inch" else ("0.15", "1.27")
    return [
        "# instead of a table: durations on the cam card [crank deg], each with the lift at which it is",
        "# read, and where (tappet or valve)",
        "#durations = [",
        *(f'#    {{ checking_lift = {lift}, checked_at = "tappet", duration = 0 }},' for lift in lifts),
        "#]",
        "# or its opening and closing angles [crank deg], as a card counts them",
        "#events = [",
        f'#    {{ checking_lift = {lifts[1]}, checked_at = "tappet", opens = 0, closes = 0 }},',
        "#]",
    ]


def _rest(engine: Described, told: dict[str, list[str]]) -> list[str]:
    """Write the second part: all keys that the first does not have."""
    lines = ["", "", _RULE, *(f"# {line}".rstrip() for line in MORE), _RULE]
    for section in SECTIONS:
        if section in told or section == "instruments":
            continue
        lines += ["", f"[{section}]"]
        if section in PER_ROLE:
            lines.append(f"# What differs by role goes under [{section}.intake] and [{section}.exhaust].")
        doc = (SECTIONS[section].__doc__ or "").strip().splitlines()[0]
        lines.append(f"# {doc}")
        if section in ("middle_spring", "inner_spring"):
            lines.append("# The same keys as [spring] has for the spring itself, and:")
        for key in _left(section, []):
            lines += _key(section, key, engine, at_length=False)
    lines += [
        "",
        "# What stands on a shaft, from the front; one [[row]] a shaft (valvetrain guide row). Take the",
        "# # from the line [[row]] first: its keys then follow it.",
    ]
    for shaft in engine.on_shaft() or ("",):
        lines += ["#[[row]]"]
        for field in dataclasses.fields(row.RowText):
            if field.name == "shaft" and shaft:
                lines.append(f'#shaft = "{shaft}"')
            else:
                lines += _key("row", field.name, engine, at_length=False)
    return lines


def _left(section: str, told: list[str]) -> list[str]:
    """Return the keys of a section that are not told yet."""
    names = [field.name for field in dataclasses.fields(SECTIONS[section])]
    if section in ("middle_spring", "inner_spring"):
        own = {field.name for field in dataclasses.fields(SECTIONS["spring"])}
        names = [name for name in names if name not in own]
    hidden = (*told, *_BY_HAND.get(section, ()), *_COLUMNS_ONLY.get(section, ()))
    return [name for name in names if name not in hidden]


def _valves(engine: Described) -> str:
    """Write the table of valves: what is worth measuring at each, every cell blank."""
    columns = [column for column in VALVES_CSV if column != "spring" or "spring_tester" in engine.instruments]
    if "indicator" not in engine.instruments:
        columns.remove("lobe_lift")
    heads, lines = (
        ["valve"],
        ["# One row a valve. A blank cell was not measured. Delete a column you do not use."],
    )
    for column in columns:
        if column in ("spring", "remarks"):
            heads.append(column)
            if column == "spring":
                lines.append("# spring: its name in springs.csv")
            continue
        spec = COLUMNS[column][2]
        assert spec.dimension in DIMENSIONS
        heads.append(f"{column} [{display_unit(spec.dimension, engine.units)}]")
        lines.append(f"# {column}: {spec.doc}")
    names = valve_names(engine.cylinders, engine.valves_per_cylinder)
    blank = "," * (len(heads) - 1)
    return "\n".join([*lines, ",".join(heads), *(f"{name}{blank}" for name in names)]) + "\n"
