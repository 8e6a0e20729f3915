"""Ask a command in this process and read its JSON in SI units; what is read is remembered for the marks."""

import json
from pathlib import Path
from typing import Any

import numpy as np
from click.testing import CliRunner

from .marks import READ

INCH = 0.0254
POUND = 0.45359237
FORCE = POUND * 9.80665
# Factors to SI, typed here from the exact definitions, apart from the package's unit library.
FACTORS = {
    "": 1.0, "HRC": 1.0, "mm": 1e-3, "in": INCH, "um": 1e-6, "uin": INCH * 1e-6, "m": 1.0, "ft": 12 * INCH,
    "deg": np.pi / 180, "%": 0.01, "rpm": np.pi / 30, "Hz": 1.0, "s": 1.0,
    "N": 1.0, "lbf": FORCE, "N/mm": 1e3, "lbf/in": FORCE / INCH, "kN/mm": 1e6,
    "MPa": 1e6, "MPa*m/s": 1e6, "kPa": 1e3, "Pa": 1.0, "psi": FORCE / INCH**2,
    "g": 1e-3, "kg": 1.0, "lbm": POUND, "kg*mm**2": 1e-6, "lbm*in**2": POUND * INCH**2,
    "N*m": 1.0, "lbf*in": FORCE * INCH, "N*mm": 1e-3, "m/s": 1.0, "ft/s": 12 * INCH,
    "mm/deg": 1e-3 * 180 / np.pi, "in/deg": INCH * 180 / np.pi,
    "mm/deg^2": 1e-3 * (180 / np.pi) ** 2, "in/deg^2": INCH * (180 / np.pi) ** 2,
    "mm/deg^3": 1e-3 * (180 / np.pi) ** 3, "in/deg^3": INCH * (180 / np.pi) ** 3,
    "mm*deg": 1e-3 * np.pi / 180, "in*deg": INCH * np.pi / 180,
    "m/s^2": 1.0, "m/s^3": 1.0, "W": 1.0, "cc/min": 1e-6 / 60, "mL/min": 1e-6 / 60, "ml/min": 1e-6 / 60,
    "cSt": 1e-6, "delta_degC": 1.0, "delta_degF": 5 / 9, "h": 3600.0,
}  # fmt: skip


class Node:
    """A part of an answer: reads fields, lists and quantities, and remembers which."""

    def __init__(self, data: Any, path: str) -> None:
        self.data, self.path = data, path

    def __getitem__(self, key: str | int) -> "Node":
        if isinstance(key, int):
            return Node(self.data[key], self.path)
        node = self
        for name in key.split("."):
            node = Node(node.data[name], f"{node.path}.{named(node.path, name)}")
        return node

    def __iter__(self) -> Any:
        return (Node(each, self.path) for each in self.data)

    def __len__(self) -> int:
        return len(self.data)

    def of(self, **wanted: object) -> "Node":
        """Row of a list whose fields are these: `of(valve="1I")`."""
        found = [each for each in self.data if all(each.get(k) == v for k, v in wanted.items())]
        assert len(found) == 1, f"{self.path}: {len(found)} rows with {wanted}"
        return Node(found[0], self.path)

    def row(self, name: str, **wanted: object) -> Any:
        """A row of a list that is itself a quantity, as it stands."""
        READ.add(self[name].path)
        return self[name].of(**wanted).data

    def raw(self, key: str) -> Any:
        """Field as it stands: a word, a truth value, a list."""
        node = self[key]
        READ.add(node.path)
        return node.data

    def si(self, key: str) -> Any:
        """Value or values of a quantity in SI units."""
        node = self[key]
        READ.add(node.path)
        found = node.data
        if isinstance(found, list) and found and isinstance(found[0], dict):
            return np.array([float(each["value"]) * FACTORS[each["unit"]] for each in found])
        if not isinstance(found, dict):
            return np.asarray(found, dtype=float)[()]
        number = found["values"] if "values" in found else found["value"]
        return np.asarray(number, dtype=float)[()] * FACTORS[found.get("unit", "")]

    def u(self, key: str) -> float:
        """Standard uncertainty of a quantity in SI units."""
        node = self[key]
        READ.add(node.path)
        return float(node.data["u"]) * FACTORS[node.data["unit"]]


MAPS = ("supply", "away")
"""Fields whose keys are names from the sheet."""


def named(path: str, name: str) -> str:
    """Name of a field; '*' where the sheet gave the name."""
    return "*" if path.rsplit(".", 1)[-1] in MAPS else name


def ran(command: str, sheet: Path, *options: object) -> Any:
    """Run a command in this process."""
    from valvetrain_cli.main import main

    result = CliRunner().invoke(main, [command, str(sheet), *map(str, options)])
    if result.exception is not None and not isinstance(result.exception, SystemExit):
        raise result.exception
    return result


def asked(command: str, sheet: Path, *options: object) -> Node:
    """Results of a command asked with --json."""
    return Node(document(command, sheet, *options)["results"], command)


def document(command: str, sheet: Path, *options: object) -> dict[str, Any]:
    """The whole JSON document of a command."""
    result = ran(command, sheet, *options, "--json")
    assert result.exit_code in (0, 1), result.output
    found: dict[str, Any] = json.loads(result.stdout)
    return found
