"""Whole-process times of the command against yardsticks measured in the same run, as ratios.

Targets: `--help` at most 2 times `python -c "import click"`; `check` of the pump vee, without plots, at
most 2.5 times a bare interpreter that imports numpy, scipy.optimize, scipy.interpolate, shapely, pydantic and
click.
Run it on a quiet machine: .venv/bin/python tests/benchmarks/bench_startup.py
"""

import os
import statistics
import subprocess
import sys
import time
from pathlib import Path

ROOT = Path(__file__).parents[2]
RUNS = 9
LIBRARIES = "import numpy, scipy.optimize, scipy.interpolate, shapely, pydantic, click"
VALVETRAIN = "import sys; from valvetrain_cli.main import main; sys.exit(main())"

# As an installed package, whose modules are compiled once: without this a shell that forbids bytecode would
# have the checkout's sources compiled anew in every run, and not the libraries'.
ENVIRONMENT = {name: value for name, value in os.environ.items() if name != "PYTHONDONTWRITEBYTECODE"}


def seconds(*command: str) -> float:
    """Time one run of a command."""
    start = time.perf_counter()
    quiet = subprocess.DEVNULL
    subprocess.run(command, cwd=ROOT, env=ENVIRONMENT, stdout=quiet, stderr=quiet, check=False)
    return time.perf_counter() - start


def ratio(command: list[str], yardstick: list[str]) -> tuple[float, float, float]:
    """Return median times of both, run in turn, and the median of their ratios."""
    pairs = []
    for run in range(RUNS + 1):
        pair = (seconds(*command), seconds(*yardstick))
        if run:  # the first warms the disk
            pairs.append(pair)
    return (
        statistics.median(a for a, _ in pairs),
        statistics.median(b for _, b in pairs),
        statistics.median(a / b for a, b in pairs),
    )


def main() -> None:
    """Print the ratios."""
    python = [sys.executable, "-c"]
    for name, command, yardstick, target in (
        ("--help", [*python, VALVETRAIN, "--help"], [*python, "import click"], 2.0),
        ("check", [*python, VALVETRAIN, "check", "sample_geometry/pump_vee"], [*python, LIBRARIES], 2.5),
    ):
        own, bare, times = ratio(command, yardstick)
        print(f"{name:8s} {own:.3f} s, yardstick {bare:.3f} s: {times:.2f} times (target: at most {target})")


if __name__ == "__main__":
    main()
