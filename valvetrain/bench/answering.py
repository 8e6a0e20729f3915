"""Every question answered, and after a change only those anew that looked at what was changed."""

from collections.abc import Iterator, Mapping
from contextlib import nullcontext
from dataclasses import dataclass, field
from typing import Any

from valvetrain.answers.simulation import simulating, straight_only
from valvetrain.answers.verdict import Check
from valvetrain.bench.watched import Key, changed_keys, noting, watched
from valvetrain.questions.compare.study import Answers
from valvetrain.questions.registry import QUESTIONS, question
from valvetrain.setup.setup import Setup

__all__ = ["Answering"]


class _Noted(Mapping[str, Any]):
    """Results of questions, that note which were looked at."""

    def __init__(self, results: Mapping[str, Any]) -> None:
        self.results = results
        self.seen: set[str] = set()

    def __getitem__(self, name: str) -> Any:
        self.seen.add(name)
        return self.results[name]

    def __iter__(self) -> Iterator[str]:
        self.seen |= self.results.keys()
        return iter(self.results)

    def __len__(self) -> int:
        return len(self.results)


@dataclass
class _Answered:
    """One question's answer, and what it rests on."""

    result: Any
    checks: list[Check]
    keys: set[Key]
    needs: set[str]


@dataclass
class Answering:
    """The answers of one sheet, kept from change to change.

    Attributes:
        quick: answer to first order everywhere, at once.
        asked: names of the questions that were asked anew by the last call.
    """

    quick: bool = False
    asked: tuple[str, ...] = ()
    _setup: Setup | None = None
    _system: str = ""
    _kept: dict[str, _Answered] = field(default_factory=dict)

    def answers(self, setup: Setup, system: str) -> Answers:
        """Answer every question that `check` asks.

        Args:
            setup: as it is read now.
            system: "inch" or "metric".
        """
        setup = watched(setup)
        changed = None
        if self._setup is not None and self._system == system:
            changed = changed_keys(self._setup, setup)
        if changed is None:
            self._kept = {}
        found = self._asked(setup, system, changed or set())
        if found is None:
            # A result has kept a part of the setup before: nothing that is kept can be trusted with that.
            self._kept = {}
            found = self._asked(setup, system, set())
            assert found is not None
        self._setup, self._system = setup, system
        return found

    def _asked(self, setup: Setup, system: str, changed: set[Key]) -> Answers | None:
        kept: dict[str, _Answered] = {}
        results: dict[str, Any] = {}
        anew: list[str] = []
        with straight_only() if self.quick else _draws(setup):
            for name in self._order():
                old = self._kept.get(name)
                if old is not None and not (old.keys & changed) and not (old.needs & {*anew}):
                    kept[name], results[name] = old, old.result
                    continue
                anew.append(name)
                one = question(name)
                noted = _Noted(results)
                with noting(setup) as reads:
                    result = one.study(setup, noted)
                    results[name] = result
                    checks = one.checks(setup, noted, system)
                if reads.stale and self._kept:
                    return None
                kept[name] = _Answered(result, checks, reads.keys, noted.seen - {name})
        self._kept, self.asked = kept, tuple(anew)
        return Answers(setup, results, {name: each.checks for name, each in kept.items()})

    def _order(self) -> tuple[str, ...]:
        """Name the questions, those first that others need."""
        found: dict[str, None] = {}

        def add(name: str) -> None:
            for other in question(name).needs:
                add(other)
            found.setdefault(name)

        for name in QUESTIONS:
            if question(name).in_check:
                add(name)
        return tuple(found)


def _draws(setup: Setup) -> Any:
    """Take draws where a fit has left values that hang together, as `check` does."""
    return nullcontext() if setup.correlation is None else simulating(_FITTED, 0)


_FITTED = 2000
