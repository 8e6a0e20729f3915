"""A setup with some values changed, as if they stood in its sheet: nothing is written."""

from collections.abc import Iterable, Mapping
from pathlib import Path

from valvetrain.setup.contents import Contents
from valvetrain.setup.editing.edited import edited
from valvetrain.setup.editing.effect import must_matter
from valvetrain.setup.editing.following import with_stand_shims_tried
from valvetrain.setup.editing.writing import editable, taken_back_in
from valvetrain.setup.read import read_setup
from valvetrain.setup.setup import Setup
from valvetrain.setup.sheet_text import sheet_file

__all__ = ["changed", "read_changed", "read_earlier"]


def changed(setup: Setup, values: Mapping[str, object]) -> Setup:
    """Return the setup that the sheet would give with these values in it.

    The values are put into the text of the sheet as it was read, and that is read again: what a sheet may not
    say, a changed one may not say either. Another stand shim raises the shaft and turns the adjuster, where
    no other shaft height is given with it (`with_stand_shims_tried`).

    Args:
        setup: as it was read, or changed before.
        values: key -> value as the sheet would have it, such as `{"7E.installed_height": "1.647"}` or
            `{"shaft.left.stand_shim": 0.030}`; None for what is to be unknown.

    Raises:
        SheetError: a key that is none, a value that is not allowed, or one that changes nothing, because what
            is asked of is given elsewhere.
    """
    toml = sheet_file(Path(setup.sheet))
    written = {key: None if value is None else str(value) for key, value in values.items()}
    contents, edits = edited(toml, setup.contents, written)
    found = read_setup(setup.sheet, contents)
    must_matter(edits, found, lambda: setup)
    return with_stand_shims_tried(setup, found)


def read_changed(path: str | Path, values: Iterable[tuple[str, str | None]]) -> Setup:
    """Read a sheet as if these values stood in it; as `changed`, in one reading.

    Raises:
        SheetError: as `changed`; two values for one place.
    """
    toml, contents = editable(path)
    asked, edits = edited(toml, contents, values)
    found = read_setup(path, asked)
    must_matter(edits, found, lambda: read_setup(path, contents))
    if any(edit.key.endswith(".stand_shim") for edit in edits):
        return with_stand_shims_tried(read_setup(path, contents), found)
    return found


def read_earlier(path: str | Path, back: int) -> Setup:
    """Read a sheet as it was some changes of its journal ago.

    Args:
        path: the sheet.
        back: how many changes that stand are left away.

    Raises:
        SheetError: the journal holds fewer, or the sheet was edited at their place since.
    """
    toml, contents = editable(path)
    earlier: Contents = taken_back_in(toml, contents, back)
    return read_setup(path, earlier)
