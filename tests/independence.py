"""Print every reported quantity, what checks it independently and with what status; the count comes last.

Run `python tests/independence.py` (with --missing: only what nothing checks). The quantities are those that
the commands print as JSON on the sample sheets; the checks are the marks of the tests in `through`.
"""

import importlib
import itertools
import os
import sys
from collections.abc import Iterator
from pathlib import Path
from typing import Any

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
HERE = Path(__file__).parent
SAMPLES = HERE.parent / "sample_geometry"
sys.path[:0] = [str(HERE.parent), str(HERE.parent / "cli")]

from tests.through.answers import named  # noqa: E402
from tests.through.marks import REGISTRY, STATUSES, Check  # noqa: E402

# Command -> options that make it print what it can; each is asked of every sample that takes it.
COMMANDS: dict[str, list[list[str]]] = {
    "rocker": [[]],
    "center": [[]],
    "spring": [[]],
    "pushrod": [[]],
    "events": [["--at", "tappet", "--checking-lift", "1 mm"]],
    "lash": [[]],
    "clearance": [[]],
    "lobe": [["--role", "intake"], ["--role", "exhaust"]],
    "control": [["--elastic", "--speeds", "12"]],
    "interference": [[]],
    "heights": [[]],
    "sensitivity": [[]],
    "wear": [[], ["--log", "log.csv"]],
    "oil": [[]],
    "fit": [["--readings", "readings.csv"]],
}


def quantities(data: Any, path: str) -> Iterator[str]:
    """Paths of leaves with a unit and a value or values; lists and names from the sheet are folded."""
    if isinstance(data, dict):
        if ("value" in data or "values" in data) and "unit" in data:
            yield path
            return
        for key, each in data.items():
            yield from quantities(each, f"{path}.{named(path, key)}")
    elif isinstance(data, list):
        for each in data:
            yield from quantities(each, path)


def reported() -> set[str]:
    """Every quantity that the commands print on the samples."""
    import json

    from click.testing import CliRunner

    from valvetrain_cli.main import main

    found: set[str] = set()
    for command, variants in COMMANDS.items():
        for options, sample in itertools.product(variants, sorted(SAMPLES.iterdir())):
            if not (sample / "setup.toml").is_file():
                continue
            result = CliRunner().invoke(main, [command, str(sample), *options, "--json"])
            if result.exit_code in (0, 1):
                found.update(quantities(json.loads(result.stdout)["results"], command))
    return found


def marks() -> dict[str, list[Check]]:
    """Marks of the tests, by quantity."""
    for file in sorted((HERE / "through").glob("test_*.py")):
        importlib.import_module(f"tests.through.{file.stem}")
    found: dict[str, list[Check]] = {}
    for check in REGISTRY:
        found.setdefault(check.quantity, []).append(check)
    return found


def main() -> None:
    """Print the table."""
    checked, printed = marks(), reported()
    held = 0
    for quantity in sorted(printed | set(checked)):
        by = checked.get(quantity, [])
        held += bool(by)
        if by and "--missing" in sys.argv:
            continue
        ways = sorted({(STATUSES.index(each.status), each.by) for each in by})
        words = "; ".join(f"{way} ({STATUSES[status]})" for status, way in ways) or "none"
        print(f"{quantity}: {words}")
    total = len(printed | set(checked))
    best = [min(STATUSES.index(each.status) for each in by) for by in checked.values()]
    print(*(f"{STATUSES[k]}: {best.count(k)}" for k in range(len(STATUSES))), sep=", ")
    print(f"{held} of {total} reported quantities have an independent check through a command")


if __name__ == "__main__":
    main()
