"""`python -m tests.fuzz --cases 10000 --seed 1`: many cases in one process, every kind of break told once."""

import argparse
import sys
import time
from collections import Counter

from hypothesis import HealthCheck, Phase, given, seed, settings

from tests.fuzz.cases import Case, cases, hold
from tests.fuzz.kills import WRITING, at_any_moment, at_every_step
from tests.fuzz.laws import LAWS
from tests.fuzz.oracle import Broken

SLICE = 500
"""Cases in one run of the generator, which grows slower the longer it runs."""


class Run:
    """Counts what happened."""

    def __init__(self) -> None:
        self.ends: Counter[str] = Counter()
        self.breaks: Counter[str] = Counter()
        self.slowest = 0.0

    def ask(self, case: Case) -> None:
        try:
            answer = hold(case)
        except Broken as broken:
            self.broken(broken, case.told())
            return
        self.ends[f"status {answer.status}"] += 1
        self.slowest = max(self.slowest, answer.seconds)

    def broken(self, broken: Broken, told: str) -> None:
        self.breaks[broken.kind] += 1
        if self.breaks[broken.kind] == 1:
            print(f"\nBROKEN {broken}\n  {told[:6000]}", flush=True)


def main() -> int:
    """Run the cases; the exit status is 1 where something broke."""
    parser = argparse.ArgumentParser(prog="python -m tests.fuzz", description=__doc__)
    parser.add_argument("--cases", type=int, default=10_000)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument(
        "--laws", type=int, default=None, help="cases of each metamorphic law; a fortieth if left out"
    )
    parser.add_argument(
        "--kills", type=int, default=0, help="kills of each writing command, instead of cases"
    )
    wanted = parser.parse_args()
    if wanted.kills:
        return kill(wanted.kills, wanted.seed)
    run, begun = Run(), time.monotonic()
    done = 0
    while done < wanted.cases:
        count = min(SLICE, wanted.cases - done)
        _given(run.ask, cases(), count, wanted.seed * 1_000_003 + done)
        done += count
        print(
            f"{done} cases, {time.monotonic() - begun:.0f} s, {dict(run.ends)}, {dict(run.breaks)}",
            flush=True,
        )
    for name, (strategy, law) in LAWS.items():

        def held(case, law=law, name=name):
            try:
                run.ends[f"law {name}: {law(case)}"] += 1
            except Broken as broken:
                run.broken(broken, case.told())

        count = wanted.cases // 40 if wanted.laws is None else wanted.laws
        if count:
            _given(held, strategy(), count, wanted.seed)
        print(f"law {name}: {count}, {time.monotonic() - begun:.0f} s", flush=True)
    for name, number in sorted(run.ends.items()):
        print(f"{number:7d}  {name}")
    print(f"slowest {run.slowest:.1f} s; {sum(run.breaks.values())} broken")
    for name, number in run.breaks.most_common():
        print(f"{number:7d}  {name}")
    return 1 if run.breaks else 0


def kill(times: int, number: int) -> int:
    """Kill every writing command at each of its steps, and at moments spread over its run."""
    broken = 0
    for name in WRITING:
        for how, killed in (
            ("at every step", lambda name=name: at_every_step(name)),
            ("at any moment", lambda name=name: at_any_moment(name, times, number)),
        ):
            try:
                print(f"{name}, {how}: {killed()}", flush=True)
            except Broken as told:
                broken += 1
                print(f"BROKEN {told}", flush=True)
    return int(broken > 0)


def _given(ask, strategy, count: int, number: int) -> None:
    """Draw `count` cases and ask them all."""

    @seed(number)
    @settings(
        max_examples=count,
        database=None,
        deadline=None,
        phases=[Phase.generate],
        suppress_health_check=list(HealthCheck),
    )
    @given(strategy)
    def every(case):
        ask(case)

    every()


if __name__ == "__main__":
    sys.exit(main())
