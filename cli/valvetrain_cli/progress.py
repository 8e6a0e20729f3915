"""Progress on stderr, for what takes longer than a second: on a terminal only, and not with --quiet."""

import sys
import threading
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from typing import Any

import click

__all__ = ["bar", "quiet_option", "shown", "working"]

PATIENCE = 0.8
"""Seconds before a command that tells no share of its work says that it is at work."""

_QUIET = "valvetrain.quiet"
_AT_WORK: list["_Spinner"] = []


def _keep(context: click.Context, _parameter: click.Parameter, value: bool) -> None:
    context.meta[_QUIET] = value


quiet_option = click.option(
    "--quiet", is_flag=True, expose_value=False, callback=_keep, help="No progress on stderr."
)


def shown() -> bool:
    """Say whether progress is wanted: stderr is a terminal and --quiet was not given."""
    context = click.get_current_context(silent=True)
    return sys.stderr.isatty() and not (context is not None and context.meta.get(_QUIET, False))


class _Spinner:
    """A line that says what is being done and for how long, once it has taken a while."""

    def __init__(self, doing: str) -> None:
        self.doing = doing
        self.lock = threading.Lock()
        self.over = False
        self.display: Any = None
        self.timer = threading.Timer(PATIENCE, self._show)
        self.timer.daemon = True
        self.timer.start()

    def _show(self) -> None:
        from rich.console import Console
        from rich.progress import Progress, SpinnerColumn, TextColumn, TimeElapsedColumn

        with self.lock:
            if self.over:
                return
            columns = (SpinnerColumn(), TextColumn("{task.description}"), TimeElapsedColumn())
            self.display = Progress(*columns, console=Console(stderr=True), transient=True)
            self.display.add_task(self.doing, total=None)
            self.display.start()

    def stop(self) -> None:
        """Take the line away, or see that it never comes."""
        self.timer.cancel()
        with self.lock:
            self.over = True
            if self.display is not None:
                self.display.stop()
                self.display = None


@contextmanager
def working(doing: str) -> Iterator[None]:
    """Say `doing` while the block runs, if that takes a while; nested uses leave it to the outer one."""
    if _AT_WORK or not shown():
        yield
        return
    spinner = _Spinner(doing)
    _AT_WORK.append(spinner)
    try:
        yield
    finally:
        _AT_WORK.remove(spinner)
        spinner.stop()


@contextmanager
def bar(doing: str) -> Iterator[Callable[[float], None]]:
    """Show a bar while the block runs; it is given the share done, 0 to 1, by calling what is yielded."""
    if not shown():
        yield lambda share: None
        return
    from rich.console import Console
    from rich.progress import Progress

    for spinner in _AT_WORK:
        spinner.stop()
    with Progress(console=Console(stderr=True), transient=True) as display:
        task = display.add_task(doing, total=1.0)
        yield lambda share: display.update(task, completed=share)
