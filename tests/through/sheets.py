"""Write a sheet from a dict and its tables from rows."""

import copy
import csv
from pathlib import Path
from typing import Any

import tomlkit


def written(folder: Path, sections: dict[str, Any], **tables: list[dict[str, Any]]) -> Path:
    """Write setup.toml and a CSV for each table; `valves=[...]` becomes valves.csv, named in [tables]."""
    folder.mkdir(parents=True, exist_ok=True)
    sections = copy.deepcopy(sections)
    for name, rows in tables.items():
        columns = list(dict.fromkeys(key for row in rows for key in row))
        with (folder / f"{name}.csv").open("w", newline="", encoding="utf-8") as file:
            writer = csv.DictWriter(file, columns, restval="")
            writer.writeheader()
            writer.writerows(rows)
        if name in ("valves", "heights", "wheel"):
            sections.setdefault("tables", {})[name] = f"{name}.csv"
    (folder / "setup.toml").write_text(tomlkit.dumps(plain(sections)), encoding="utf-8")
    return folder


def plain(value: Any) -> Any:
    """Numbers of numpy as Python's own."""
    if isinstance(value, dict):
        return {key: plain(each) for key, each in value.items()}
    if isinstance(value, list | tuple):
        return [plain(each) for each in value]
    return value.item() if hasattr(value, "item") else value


def merged(base: dict[str, Any], **changes: dict[str, Any]) -> dict[str, Any]:
    """Copy of a sheet with some sections' keys changed; a section set to None is left out."""
    result = copy.deepcopy(base)
    for section, keys in changes.items():
        if keys is None:
            result.pop(section, None)
        elif isinstance(keys, dict):
            result[section] = {**result.get(section, {}), **keys}
            result[section] = {k: v for k, v in result[section].items() if v is not None}
        else:
            result[section] = keys
    return result
