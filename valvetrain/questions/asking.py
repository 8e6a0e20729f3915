"""Asking questions of a setup: their studies run in order, each once."""

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, Any

from valvetrain.questions.registry import question

if TYPE_CHECKING:
    from valvetrain.setup.setup import Setup

__all__ = ["asked"]


def asked(
    setup: "Setup",
    names: Sequence[str],
    *,
    of_each: Mapping[str, Mapping[str, Any]] | None = None,
    **last: Any,
) -> dict[str, Any]:
    """Run the studies of the questions named, and of those that they build on.

    Args:
        setup: the setup.
        names: of the questions.
        of_each: question -> options of its study.
        last: options of the study of the last question named.

    Raises:
        Refused: what was asked cannot be answered as it was given.
    """
    results: dict[str, Any] = {}
    options = {**(of_each or {}), names[-1]: {**(of_each or {}).get(names[-1], {}), **last}}
    for name in names:
        _run(setup, name, results, options)
    return results


def _run(
    setup: "Setup", name: str, results: dict[str, Any], options: Mapping[str, Mapping[str, Any]]
) -> None:
    if name in results:
        return
    wanted = question(name)
    for other in wanted.needs:
        _run(setup, other, results, options)
    results[name] = wanted.study(setup, results, **options.get(name, {}))
