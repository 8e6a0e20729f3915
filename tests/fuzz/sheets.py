"""Sheets as dictionaries and tables as rows: read from the samples, changed, and written again."""

import csv
import functools
import io
import json
import math
import tomllib
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

SAMPLES = Path(__file__).parents[2] / "sample_geometry"
NAMES = ("pump_twin", "launch_six", "reground_head", "pump_vee")


@dataclass
class Table:
    """A table: its header's cells and its rows' cells; raw bytes instead where it is not written as one."""

    header: list[str]
    rows: list[list[str]]
    separator: str = ","
    end: str = "\n"
    encoding: str = "utf-8"
    raw: bytes | None = None

    def written(self) -> bytes:
        if self.raw is not None:
            return self.raw
        out = io.StringIO()
        writer = csv.writer(out, delimiter=self.separator, lineterminator=self.end)
        writer.writerows([self.header, *self.rows])
        return out.getvalue().encode(self.encoding, "surrogatepass")


@dataclass
class Sheet:
    """A sheet: its sections, and file name -> table."""

    name: str
    toml: dict[str, Any]
    tables: dict[str, Table] = field(default_factory=dict)
    raw: bytes | None = None

    def write(self, folder: Path) -> None:
        folder.mkdir(parents=True)
        text = toml_text(self.toml).encode("utf-8", "surrogatepass") if self.raw is None else self.raw
        (folder / "setup.toml").write_bytes(text)
        for name, table in self.tables.items():
            (folder / name).write_bytes(table.written())


@functools.cache
def _files(name: str) -> dict[str, str]:
    return {
        each.name: each.read_text() for each in (SAMPLES / name).iterdir() if each.suffix in (".csv", ".toml")
    }


def sample(name: str) -> Sheet:
    """Return a sample, to be changed."""
    files = _files(name)
    tables = {}
    for file, text in files.items():
        if file.endswith(".csv"):
            lines = [line for line in text.splitlines() if line.strip() and not line.startswith("#")]
            separator = ";" if ";" in lines[0] else ","
            rows = list(csv.reader(lines, delimiter=separator))
            tables[file] = Table(rows[0], rows[1:], separator)
    return Sheet(name, tomllib.loads(files["setup.toml"]), tables)


def toml_text(document: dict[str, Any]) -> str:
    """Write a document as TOML: sections as tables, what lies deeper inside values inline."""
    lines: list[str] = []
    _section(lines, (), document)
    return "\n".join(lines) + "\n"


def _section(lines: list[str], path: tuple[str, ...], section: dict[str, Any]) -> None:
    inner = {name: value for name, value in section.items() if _is_table(value)}
    if path and (len(inner) < len(section) or not section):
        lines.append(f"[{'.'.join(map(_key, path))}]")
    lines += [f"{_key(name)} = {_value(value)}" for name, value in section.items() if name not in inner]
    for name, value in inner.items():
        if isinstance(value, dict):
            _section(lines, (*path, name), value)
        else:
            for each in value:
                lines.append(f"[[{'.'.join(map(_key, (*path, name)))}]]")
                lines += [f"{_key(key)} = {_value(one)}" for key, one in each.items()]


def _is_table(value: Any) -> bool:
    return isinstance(value, dict) or (
        isinstance(value, list) and len(value) > 0 and all(isinstance(each, dict) for each in value)
    )


def _key(name: str) -> str:
    plain = name.isascii() and name.replace("_", "a").replace("-", "a").isalnum()
    return name if plain else _value(name)


def _value(value: Any) -> str:
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, str):
        return json.dumps(value).replace("\x7f", "\\u007f")
    if isinstance(value, float):
        return repr(value) if math.isfinite(value) else str(value)
    if isinstance(value, list):
        return "[" + ", ".join(map(_value, value)) + "]"
    if isinstance(value, dict):
        return "{ " + ", ".join(f"{_key(name)} = {_value(each)}" for name, each in value.items()) + " }"
    return str(value)
