"""What stands in a sheet's files, each read once: so that a changed sheet can be read without writing it."""

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from contextvars import ContextVar
from pathlib import Path

__all__ = ["Contents", "content", "reading", "text_for"]

Contents = dict[Path, bytes | str]
"""Path -> its bytes as on the disk, or the text that stands for a table that cannot be written."""

_KEPT: ContextVar[Contents | None] = ContextVar("kept", default=None)


@contextmanager
def reading(kept: Contents) -> Iterator[None]:
    """Take the files that `kept` holds from there, and put every other one that is read into it."""
    token = _KEPT.set(kept)
    try:
        yield
    finally:
        _KEPT.reset(token)


def content(path: Path, read: Callable[[Path], bytes] = Path.read_bytes) -> bytes | str:
    """Return what stands in a file: its bytes, or the text that stands for them.

    Args:
        path: the file.
        read: how it is read where nothing is kept of it.

    Raises:
        OSError: the file cannot be read, or what `read` raises.
    """
    kept = _KEPT.get()
    if kept is None:
        return read(path)
    if path not in kept:
        kept[path] = read(path)
    return kept[path]


def text_for(path: Path) -> str | None:
    """Return the text that stands for a file; None where the file itself is to be read."""
    found = (_KEPT.get() or {}).get(path)
    return found if isinstance(found, str) else None
