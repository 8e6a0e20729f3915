"""The bytes of a file that is named: of a regular file only, and never more than can be handled."""

import stat
from pathlib import Path

from valvetrain.setup.contents import content
from valvetrain.setup.faults import Fault, SheetError, readable

__all__ = ["content_of"]

_KINDS = {
    stat.S_ISDIR: "a folder",
    stat.S_ISFIFO: "a pipe",
    stat.S_ISCHR: "a device",
    stat.S_ISBLK: "a device",
    stat.S_ISSOCK: "a socket",
}


def content_of(
    path: Path,
    shown_as: str,
    most: int,
    *,
    mend: str = "Check the name in the sheet and the folder.",
) -> bytes | str:
    """Read a file, or take the text that stands for it while a changed sheet is asked.

    Args:
        path: the file.
        shown_as: its name in messages.
        most: bytes that it may have.
        mend: what to do where it cannot be read.

    Raises:
        SheetError: it is not there, is no regular file, cannot be read, or is too large.
    """
    return content(path, lambda file: _read(file, shown_as, most, mend))


def _read(path: Path, shown_as: str, most: int, mend: str) -> bytes:
    try:
        kind = path.stat().st_mode
        for is_kind, name in _KINDS.items():
            if is_kind(kind):
                raise SheetError([Fault(shown_as, f"is {name}, not a file", "Give the name of a file.")])
        if path.stat().st_size > most:
            raise SheetError([_too_large(shown_as, path.stat().st_size, most)])
        with path.open("rb") as file:
            found = file.read(most + 1)
    except (OSError, ValueError) as error:  # a name with a NUL is a ValueError
        reason = (getattr(error, "strerror", None) or str(error)).lower()
        raise SheetError([Fault(readable(shown_as, 200), f"cannot be read: {reason}", mend)]) from error
    if len(found) > most:  # it grew, or its size was not the truth
        raise SheetError([_too_large(shown_as, len(found), most)])
    return found


def _too_large(shown_as: str, size: int, most: int) -> Fault:
    return Fault(
        shown_as,
        f"has {size / 1e6:.0f} million bytes, more than the {most / 1e6:g} million that are read",
        "Is it the right file? Keep the rows that are needed.",
    )
