"""What stands in a sheet's files, each read once: so that a changed sheet can be read without writing it."""

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from contextvars import ContextVar
from pathlib import Path
from typing import Any

__all__ = ["Contents", "content", "reading", "remembered", "remembering", "text_for"]

Contents = dict[Path, bytes | str]
"""Path -> its bytes as on the disk, or the text that stands for a table that cannot be written."""

_TABLES: ContextVar[tuple[dict[Any, Any], dict[Any, Any]] | None] = ContextVar("tables", default=None)
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


@contextmanager
def remembering(tables: dict[Any, Any]) -> Iterator[None]:
    """Keep in `tables` what was read from each table, as long as it holds the same: it is read once only."""
    token = _TABLES.set((tables, {}))
    try:
        yield
    finally:
        _, used = _TABLES.get() or (tables, {})
        _TABLES.reset(token)
        tables.clear()
        tables.update(used)


def remembered(key: tuple[Any, ...], path: Path, make: Callable[[], Any]) -> Any:
    """Return what was made of a file before, if it and the key are the same, or make it now."""
    kept = _TABLES.get()
    if kept is None:
        return make()
    tables, used = kept
    try:
        whole = (*key, path, content(path))
    except OSError:
        return make()
    found = used.get(whole, tables.get(whole))
    if found is None:
        found = make()
    used[whole] = found
    return found


def text_for(path: Path) -> str | None:
    """Return the text that stands for a file; None where the file itself is to be read."""
    found = (_KEPT.get() or {}).get(path)
    return found if isinstance(found, str) else None
