"""Values written into a sheet's files and taken back: validated first, whole or not at all, journaled."""

import datetime
import os
from collections.abc import Iterable, Mapping
from pathlib import Path

from valvetrain.setup.contents import Contents, reading
from valvetrain.setup.editing.edited import Edit, as_bytes, as_text, edited, file_of, written_at
from valvetrain.setup.editing.effect import must_matter
from valvetrain.setup.editing.hunks import hunks, turned
from valvetrain.setup.editing.journal import JOURNAL, FileChange, Journal, Record, fingerprint
from valvetrain.setup.editing.place import Cell
from valvetrain.setup.editing.toml_text import value_in
from valvetrain.setup.faults import Fault, SheetError
from valvetrain.setup.read import read_setup
from valvetrain.setup.setup import Setup
from valvetrain.setup.sheet_text import parsed, sheet_file, sheet_title
from valvetrain.setup.tables.file_content import content_of
from valvetrain.setup.tables.xlsx_file import is_workbook
from valvetrain.setup.writing import held, write_file

__all__ = ["editable", "made_again", "taken_back", "taken_back_in", "written"]

_MOST_BYTES = 16_000_000


def editable(path: str | Path) -> tuple[Path, Contents]:
    """Return the sheet's TOML file, and what stands in it and in its table of valves now.

    Raises:
        SheetError: they cannot be read.
    """
    toml = sheet_file(Path(path))
    contents: Contents = {}
    with reading(contents):
        parsed(toml)
        table = file_of(toml, contents, Cell("1I", "lash"))
        if table is not None and not is_workbook(table) and table.exists():
            content_of(table, table.name, _MOST_BYTES)
    return toml, contents


def written(
    path: str | Path,
    values: Mapping[str, str | None] | Iterable[tuple[str, str | None]],
    journal: Journal | None = None,
    known: Setup | None = None,
) -> tuple[Setup, Record | None]:
    """Write values into a sheet's files; comments, order and everything else stay as they are.

    Args:
        path: the sheet.
        values: key -> value as the sheet would have it; None where it is to be unknown.
        journal: of its folder, as far as it was read before; read anew if left out.
        known: the sheet as it was read before, which spares reading it again where it still holds.

    Returns:
        (the setup as it then is, the entry in the journal; None where everything stood there already).

    Raises:
        SheetError: the changed sheet would have faults, or a value would make no difference.
        OSError: a file cannot be written.
    """
    toml, _ = editable(path)
    with held(toml.parent):
        journal = _opened(toml, journal)
        toml, before = editable(path)
        contents, edits = edited(toml, before, values)
        setup = read_setup(path, contents)
        real = tuple(edit for edit in edits if edit.before != edit.after)
        if not real:
            return setup, None
        holds = known is not None and all(known.contents.get(file) == before[file] for file in before)
        must_matter(real, setup, lambda: known if known and holds else read_setup(path, before))
        record = Record(journal.count + 1, _now(), real, _file_changes(toml.parent, before, contents))
        _carried_out(toml, before, contents, record, journal)
        return setup, record


def taken_back(path: str | Path, journal: Journal | None = None) -> tuple[Setup, Record]:
    """Take back the latest change that stands; what was edited elsewhere meanwhile stays.

    Raises:
        SheetError: there is none, the same place was changed since, or the sheet would then have faults.
        OSError: a file cannot be written.
    """
    return _turned(path, journal, again=False)


def made_again(path: str | Path, journal: Journal | None = None) -> tuple[Setup, Record]:
    """Do again what was taken back last, as `taken_back`."""
    return _turned(path, journal, again=True)


def _turned(path: str | Path, journal: Journal | None, *, again: bool) -> tuple[Setup, Record]:
    toml, _ = editable(path)
    with held(toml.parent):
        journal = _opened(toml, journal)
        toml, before = editable(path)
        numbers = journal.undone if again else journal.done
        if not numbers:
            what = "nothing was taken back" if again else "no change stands in it"
            raise SheetError([Fault(JOURNAL, what, "There is nothing to do.")])
        contents, edits = _with_turned(toml, before, journal.record(numbers[-1]), again)
        setup = read_setup(path, contents)
        files = _file_changes(toml.parent, before, contents)
        record = Record(journal.count + 1, _now(), edits, files, numbers[-1], again)
        _carried_out(toml, before, contents, record, journal)
        return setup, record


def _with_turned(
    toml: Path, before: Contents, record: Record, again: bool
) -> tuple[Contents, tuple[Edit, ...]]:
    """Turn a change's lines, or, where their place was edited since, its values."""
    edits = record.edits if again else tuple(Edit(one.key, one.after, one.before) for one in record.edits)
    contents = dict(before)
    for one in record.files:
        file = toml.parent / one.name
        changes = one.hunks if again else tuple(each.back for each in one.hunks)
        text = turned(as_text(contents[file]) if file in contents else "", changes)
        if text is None:
            break
        if (one.after if again else one.before) == "" and not text:
            contents.pop(file, None)
        else:
            contents[file] = as_bytes(contents.get(file, b""), text)
    else:
        return contents, edits
    faults = [
        Fault(
            f"'{edit.key}'",
            f"is {written_at(toml, before, edit.key) or 'unknown'} now, not {edit.before or 'unknown'}, as "
            "the journal left it",
            f"It was changed since: set it to {edit.after or 'unknown'} yourself if that is meant.",
        )
        for edit in edits
        if written_at(toml, before, edit.key) != edit.before
    ]
    if faults:
        raise SheetError(faults)
    contents, _ = edited(toml, before, {edit.key: edit.after for edit in edits})
    return contents, edits


def taken_back_in(toml: Path, contents: Contents, back: int) -> Contents:
    """Return what stood in the files `back` changes ago; nothing is written.

    Raises:
        SheetError: the journal holds fewer changes, is of another sheet, or the sheet was edited since at
            their place.
    """
    journal = Journal(toml.parent)
    journal.refresh(value_in(as_text(contents[toml]), ("sheet", "title")) or "")
    if not 1 <= back <= len(journal.done):
        holds = f"holds {len(journal.done)} changes that stand" if journal.done else "holds no change"
        raise SheetError([Fault(JOURNAL, f"{holds}, and {back} were asked for", "Ask for as many or fewer.")])
    for number in journal.done[: -back - 1 : -1]:
        contents, _ = _with_turned(toml, contents, journal.record(number), again=False)
    return contents


def _opened(toml: Path, journal: Journal | None) -> Journal:
    """Read the journal; a change that a kill has cut off is finished or forgotten."""
    journal = journal if journal is not None else Journal(toml.parent)
    title = sheet_title(toml)
    journal.refresh(title)
    if journal.count and journal.voided != journal.count:
        record = journal.record(journal.count)
        at = {one.name: fingerprint(_bytes(toml.parent / one.name)) for one in record.files}
        behind = [one for one in record.files if at[one.name] == one.before]
        if behind and len(behind) == len(record.files):
            journal.void(journal.count, title)
        elif behind and all(at[one.name] == one.after for one in record.files if one not in behind):
            for one in behind:
                file = toml.parent / one.name
                old = _bytes(file)
                text = turned(as_text(old or b""), one.hunks)
                if text is not None:
                    _put(file, as_bytes(old or b"", text) if text or one.after else None)
    return journal


def _bytes(file: Path) -> bytes | None:
    return file.read_bytes() if file.exists() else None


def _file_changes(folder: Path, before: Contents, after: Contents) -> tuple[FileChange, ...]:
    """Say what becomes of each file; the table before the sheet that names it."""
    found = []
    for file in sorted({*before, *after}, key=lambda each: each.suffix == ".toml"):
        old, new = before.get(file), after.get(file)
        if old == new:
            continue
        if isinstance(new, str):
            raise SheetError(
                [
                    Fault(
                        file.name,
                        "is a spreadsheet file, into which nothing is written",
                        "Write the value there; or save it as CSV and name that under [tables].",
                    )
                ]
            )
        if not Path(os.path.realpath(file)).is_relative_to(os.path.realpath(folder)):
            mend = "Put it into the sheet's folder."
            raise SheetError([Fault(file.name, "lies outside the sheet's folder: it is not written", mend)])
        assert not isinstance(old, str)
        lines = hunks(as_text(old or b""), as_text(new or b""))
        found.append(FileChange(os.path.relpath(file, folder), fingerprint(old), fingerprint(new), lines))
    return tuple(found)


def _carried_out(toml: Path, before: Contents, after: Contents, record: Record, journal: Journal) -> None:
    """Write the entry, then the files."""
    title = value_in(as_text(before[toml]), ("sheet", "title")) or ""
    journal.add(record, title)
    try:
        for one in record.files:
            file = toml.parent / one.name
            new = after.get(file)
            assert not isinstance(new, str)
            _put(file, new)
    except OSError:
        if all(_bytes(toml.parent / one.name) == before.get(toml.parent / one.name) for one in record.files):
            journal.void(record.number, title)
        raise


def _put(file: Path, content: bytes | None) -> None:
    if content is None:
        file.unlink(missing_ok=True)
    else:
        write_file(file, content, force=file.exists())


def _now() -> str:
    return datetime.datetime.now().astimezone().isoformat(timespec="seconds")
