"""A setup with some values changed, as if they stood in its sheet: nothing is written."""

from collections.abc import Mapping
from pathlib import Path

from valvetrain.setup.editing.differences import differences
from valvetrain.setup.editing.edited import edited
from valvetrain.setup.faults import Fault, SheetError
from valvetrain.setup.read import read_setup, sheet_file
from valvetrain.setup.setup import Setup

__all__ = ["changed"]


def changed(setup: Setup, values: Mapping[str, object]) -> Setup:
    """Return the setup that the sheet would give with these values in it.

    The values are put into the text of the sheet as it was read, and that is read again: what a sheet may not
    say, a changed one may not say either.

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
    real = [edit for edit in edits if edit.before != edit.after]
    if real and not differences(setup, found):
        raise SheetError(
            Fault(
                f"'{edit.key}'",
                f"makes no difference as {edit.after or 'unknown'}",
                "Every valve has its own value in its role's section or in the table of valves: change that.",
            )
            for edit in real
        )
    return found
