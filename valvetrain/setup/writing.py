"""The one way in which files are written: whole or not at all, and over an existing one only when told to.

A file is made beside its place under a name that begins with `LEFTOVER`, brought to the disk, then linked
or moved into place, so that a kill at any moment leaves the old file or the new one. What a kill leaves
behind is taken away by the next run that writes into that folder.
"""

import contextlib
import errno
import os
import secrets
import shutil
import stat
import time
from collections.abc import Callable, Iterator, Mapping
from pathlib import Path

try:
    import fcntl
except ImportError:  # no such locks on this system
    fcntl = None  # type: ignore[assignment]

__all__ = ["LEFTOVER", "clear_leftovers", "held", "write_file", "write_files", "write_with"]

LEFTOVER = ".valvetrain-"
"""How the names of files and folders begin that are being made."""

_OLD = 3600.0
"""Seconds after which one without a lock counts as left behind, on a system without locks."""

_NO_LINKS = (errno.EPERM, errno.ENOTSUP, errno.EOPNOTSUPP, errno.ENOSYS, errno.EMLINK, errno.EXDEV)


def write_file(path: Path, content: str | bytes, *, force: bool = False) -> None:
    """Write a file whole or not at all; text as UTF-8. See `write_with`."""
    data = content.encode("utf-8") if isinstance(content, str) else content
    write_with(path, lambda beside: _filled(beside, data), force=force)


def write_with(path: Path, write: Callable[[Path], object], *, force: bool = False) -> None:
    """Write a file whole or not at all, by a function that is given a path to write to.

    Args:
        path: the file. Over one that exists only with `force`: then through links, so that the file that they
            lead to is the one that changes, and with its mode kept. A new file is as readable as the umask
            says.
        write: writes the path it is given (same ending), or raises, which leaves everything as it was.
        force: write over a file that exists.

    Raises:
        FileExistsError: the name is taken (by a link that leads nowhere, too), and not `force`.
        OSError: it cannot be written; nothing is changed.
    """
    target = _target(path) if force else path
    clear_leftovers(target.parent)
    with _beside(target.parent, path.suffix) as beside:
        write(beside)
        _synced(beside)
        if force and target.exists():
            shutil.copymode(target, beside)
            beside.replace(target)
        else:
            _placed(beside, target)
    _settled(target.parent)


def write_files(folder: Path, files: Mapping[str, str | bytes], *, force: bool = False) -> None:
    """Write several files into a folder, all or none, made if it is not there.

    The last one is the one that names the others: it comes last, so that whoever finds it finds them.

    Args:
        folder: where; its parent must be there.
        files: name, which may lie in a folder inside, -> content.
        force: write over the last one where it exists; the others never replace anything.

    Raises:
        FileExistsError: a name is taken.
        OSError: they cannot be written. What was made is taken away again.
    """
    new = not folder.exists()
    home = Path(os.path.realpath(folder)).parent if new else folder
    clear_leftovers(home)
    with _folder_beside(home) as beside:
        for name, content in files.items():
            place = beside / name
            place.parent.mkdir(parents=True, exist_ok=True)
            _filled(place, content.encode("utf-8") if isinstance(content, str) else content)
            _synced(place)
        if new:
            beside.rename(folder)
        else:
            _all_placed(beside, folder, tuple(files), force)
    _settled(home)


@contextlib.contextmanager
def held(folder: Path) -> Iterator[None]:
    """Hold a folder against another run that holds it, where the system has such locks."""
    if fcntl is None:
        yield
        return
    handle = os.open(folder, os.O_RDONLY)
    try:
        fcntl.flock(handle, fcntl.LOCK_EX)
        yield
    finally:
        os.close(handle)


def _target(path: Path) -> Path:
    """Follow links to the file itself, which must be a regular one where it exists."""
    target = Path(os.path.realpath(path))
    if path.is_symlink() and not target.exists():
        raise OSError(errno.ENOENT, f"is a link to {target}, which does not exist")
    if target.exists() and not stat.S_ISREG(target.stat().st_mode):
        raise OSError(errno.EINVAL, "is not a regular file")
    if target.exists() and not os.access(target, os.W_OK):
        raise PermissionError(errno.EACCES, os.strerror(errno.EACCES))
    return target


def _filled(path: Path, data: bytes) -> None:
    path.write_bytes(data)


def _placed(beside: Path, target: Path) -> None:
    """Give a finished file its name, which must not be taken."""
    try:
        os.link(beside, target)
        return
    except OSError as error:
        if error.errno not in _NO_LINKS:
            raise
    # A file system without links: the name is taken first, which only one can do, and the file moved over it.
    os.close(os.open(target, os.O_CREAT | os.O_EXCL | os.O_WRONLY))
    try:
        beside.replace(target)
    except OSError:
        target.unlink()
        raise


def _all_placed(beside: Path, folder: Path, names: tuple[str, ...], force: bool) -> None:
    """Give finished files their names in a folder that exists."""
    made: list[Path] = []
    try:
        for name in names:
            target = folder / name
            for inside in reversed(Path(name).parents[:-1]):
                if not (folder / inside).is_dir():
                    (folder / inside).mkdir()
                    made.append(folder / inside)
            if force and name == names[-1] and os.path.lexists(target):
                target = _target(target)
                shutil.copymode(target, beside / name)
                (beside / name).replace(target)
            else:
                _placed(beside / name, target)
                made.append(target)
    except BaseException:
        for path in reversed(made):
            with contextlib.suppress(OSError):
                path.rmdir() if path.is_dir() else path.unlink()
        raise


@contextlib.contextmanager
def _beside(folder: Path, ending: str) -> Iterator[Path]:
    """Give an empty file of a name of its own in the folder, readable as the umask says; gone at the end."""
    while True:
        path = folder / f"{LEFTOVER}{secrets.token_hex(8)}{ending}"
        handle = os.open(path, os.O_CREAT | os.O_EXCL | os.O_RDWR, 0o666)
        if fcntl is None:
            os.close(handle)  # some systems move no file that is open
            break
        if _is_mine(handle, path):
            break
        os.close(handle)
    try:
        yield path
    finally:
        with contextlib.suppress(OSError):
            path.unlink(missing_ok=True)
        if fcntl is not None:
            os.close(handle)


@contextlib.contextmanager
def _folder_beside(folder: Path) -> Iterator[Path]:
    """Give an empty folder of a name of its own in the folder; gone at the end."""
    while True:
        path = folder / f"{LEFTOVER}{secrets.token_hex(8)}"
        path.mkdir()
        handle = os.open(path, os.O_RDONLY) if fcntl is not None else -1
        if handle < 0 or _is_mine(handle, path):
            break
        os.close(handle)
    try:
        yield path
    finally:
        shutil.rmtree(path, ignore_errors=True)
        if handle >= 0:
            os.close(handle)


def _is_mine(handle: int, path: Path) -> bool:
    """Lock what was just made; False where another run took it for left behind before it was locked."""
    fcntl.flock(handle, fcntl.LOCK_EX)
    return path.exists() and path.stat().st_ino == os.fstat(handle).st_ino


def clear_leftovers(folder: Path) -> None:
    """Take away what a run that was killed has left in the folder."""
    with contextlib.suppress(OSError):
        for entry in os.scandir(folder):
            if entry.name.startswith(LEFTOVER) and not entry.is_symlink():
                _taken_away(Path(entry.path))


def _taken_away(path: Path) -> None:
    """Remove one that nobody holds any more."""
    with contextlib.suppress(OSError):
        handle = -1
        if fcntl is None:
            if time.time() - path.stat().st_mtime < _OLD:
                return
        else:
            handle = os.open(path, os.O_RDONLY | os.O_NONBLOCK)
        try:
            if fcntl is not None:
                fcntl.flock(handle, fcntl.LOCK_EX | fcntl.LOCK_NB)
            shutil.rmtree(path) if path.is_dir() else path.unlink()
        finally:
            if handle >= 0:
                os.close(handle)


def _synced(path: Path) -> None:
    """Have a file's content written to the disk."""
    with path.open("rb+") as file:
        os.fsync(file.fileno())


def _settled(folder: Path) -> None:
    """Have the folder's new entry written to the disk, where the system can."""
    with contextlib.suppress(OSError):
        handle = os.open(folder, os.O_RDONLY)
        try:
            os.fsync(handle)
        finally:
            os.close(handle)
