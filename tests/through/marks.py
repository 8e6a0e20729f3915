"""The mark `checks`: which reported quantities a test holds, by what, and with what status.

A mark is a promise the test must keep: after the test has passed, every quantity named in its marks must have
been read from the command's answer, or the test fails. `python tests/independence.py` prints the marks.
"""

import functools
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

STATUSES = ("published", "other library", "derived", "from memory")


@dataclass(frozen=True)
class Check:
    """One reported quantity held by one test."""

    quantity: str
    by: str
    status: str
    test: str


REGISTRY: list[Check] = []
READ: set[str] = set()
"""Quantities read from answers since the running test began."""


def checks(under: str, names: str, *, by: str, status: str) -> Callable[..., Any]:
    """Mark a test: `checks("rocker.valves", "sweep_width net_lift", by="...", status="derived")`."""
    if status not in STATUSES:
        raise ValueError(f"status {status!r}: one of {STATUSES}")
    quantities = tuple(f"{under}.{name}" for name in names.split())

    def marked(test: Callable[..., Any]) -> Callable[..., Any]:
        REGISTRY.extend(Check(each, by, status, f"{test.__module__}.{test.__name__}") for each in quantities)

        @functools.wraps(test)
        def kept(*arguments: Any, **named: Any) -> None:
            if not hasattr(test, "__wrapped__"):  # the innermost mark: a test begins
                READ.clear()
            test(*arguments, **named)
            unread = [each for each in quantities if each not in READ]
            assert not unread, f"marked as checked but never read from the answer: {unread}"

        return kept

    return marked
