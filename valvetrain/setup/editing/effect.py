"""Whether a change of a sheet changes anything."""

from collections.abc import Callable, Iterable

from valvetrain.setup.editing.differences import differences
from valvetrain.setup.editing.edited import Edit
from valvetrain.setup.editing.place import Entry, described_as, place_of
from valvetrain.setup.faults import Fault, SheetError
from valvetrain.setup.setup import Setup

__all__ = ["must_matter"]


def must_matter(edits: Iterable[Edit], found: Setup, before: Callable[[], Setup]) -> None:
    """Refuse quantities that are overruled everywhere, so that they change nothing.

    Args:
        edits: what was changed.
        found: the setup with it.
        before: gives the setup without it; only asked where it is needed.

    Raises:
        SheetError: nothing is different.
    """
    real = [edit for edit in edits if edit.before != edit.after]
    for edit in real:
        place = place_of(edit.key)
        spec = described_as(place)
        # A cell counts at its valve; a word may be for people alone.
        if not isinstance(place, Entry) or spec is None or spec.dimension is None:
            return
    try:
        if not real or differences(before(), found):
            return
    except SheetError:
        return  # it could not be read before
    raise SheetError(
        Fault(
            f"'{edit.key}'",
            f"makes no difference as {edit.after or 'unknown'}",
            "Every valve has its own value in its role's section or in the table of valves: change that.",
        )
        for edit in real
    )
