"""The bench: from a value to its answer, and its memory over many edits. Prints, asserts nothing.

    python -m tests.benchmarks.bench_live [EDITS]

Times are of the process alone (CPU), so that another's work on the machine does not count, and by the clock.
"""

import gc
import random
import shutil
import statistics
import sys
import tempfile
import time
from pathlib import Path

from valvetrain.bench.desk import Desk
from valvetrain.bench.view import state

SAMPLES = Path(__file__).parents[2] / "sample_geometry"
COLUMNS = ("offset", "end_clearance", "stem_height", "installed_height", "lash", "lobe_lift", "exposure")


def edit(desk: Desk, rng: random.Random, columns: tuple[str, ...]) -> tuple[str, float, float]:
    """Enter one value near the one that is there; return its column, CPU and clock time [s]."""
    told = state(desk)
    column = rng.choice(columns)
    spots = next(each["spots"] for each in told["measure"] if each["id"] == column)
    key, _, seen = rng.choice(spots)
    value = f"{float(seen.split()[0]) + rng.choice((-1, 1)) * 1e-4:.4f}" if seen else "0.2"
    cpu, clock = time.process_time(), time.perf_counter()
    desk.write(key, [value], seen or None, sure=True)
    state(desk)
    return column, time.process_time() - cpu, time.perf_counter() - clock


def main(edits: int) -> None:
    """Print the times of `edits` edits each of two samples."""
    for name in ("launch_six", "pump_vee"):
        with tempfile.TemporaryDirectory() as folder:
            desk = Desk(Path(shutil.copytree(SAMPLES / name, Path(folder) / name)), quick=True)
            state(desk)
            gc.collect()
            gc.freeze()
            rng = random.Random(5)
            for column in COLUMNS:
                edit(desk, rng, (column,))
            times = [edit(desk, rng, COLUMNS) for _ in range(edits)]
            for kind, place in (("CPU", 1), ("clock", 2)):
                own = sorted(each[place] for each in times)
                print(
                    f"{name} {kind}: median {1e3 * statistics.median(own):.0f} ms, "
                    f"95 % under {1e3 * own[int(0.95 * len(own))]:.0f} ms, "
                    f"{100 * sum(each < 0.150 for each in own) / len(own):.0f} % under 150 ms"
                )
            for column in COLUMNS:
                own = [each[1] for each in times if each[0] == column]
                if own:
                    print(f"  {column}: median {1e3 * statistics.median(own):.0f} ms CPU")


def memory(edits: int) -> None:
    """Print the memory in use over many edits; one in twenty changes answers, the others are remarks."""
    with tempfile.TemporaryDirectory() as folder:
        desk = Desk(Path(shutil.copytree(SAMPLES / "launch_six", Path(folder) / "six")), quick=True)
        state(desk)
        seen: dict[str, str | None] = {"3E.offset": "-0.007", "3E.remarks": None}
        for number in range(edits + 1):
            key, value = "3E.remarks", f"edit {number}"
            if number % 20 == 0:
                key, value = "3E.offset", f"{(number // 20 % 90) * 1e-4:.4f}"
            desk.write(key, [value], seen[key], sure=True)
            seen[key] = value
            if number % 20 == 0:
                state(desk)
                desk.settle()
            if number % max(edits // 10, 1) == 0:
                status = Path("/proc/self/status").read_text()
                resident = next(line for line in status.splitlines() if line.startswith("VmRSS"))
                print(f"{number} edits: {int(resident.split()[1]) / 1024:.0f} MB", flush=True)


if __name__ == "__main__":
    if len(sys.argv) > 2:
        memory(int(sys.argv[2]))
    else:
        main(int(sys.argv[1]) if len(sys.argv) > 1 else 60)
