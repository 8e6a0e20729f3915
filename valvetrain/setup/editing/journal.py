"""The journal of a sheet: every change that was written, in a file of its folder, to be taken back.

One line of JSON an entry, only ever added to. The first says which engine it is of. An entry is written
before the sheet's files are, so that a change cut off in the middle is finished or forgotten by the next run.
"""

import hashlib
import json
import os
from collections.abc import Iterator
from dataclasses import asdict, dataclass, field
from pathlib import Path
from typing import Any

from valvetrain.setup.editing.edited import Edit
from valvetrain.setup.editing.hunks import Hunk
from valvetrain.setup.faults import Fault, SheetError

__all__ = ["JOURNAL", "FileChange", "Journal", "Record", "fingerprint"]

JOURNAL = "journal.jsonl"
_KIND = "changes of a setup sheet"


@dataclass(frozen=True)
class FileChange:
    """What a change did to one file: fingerprints before and after, "" where there was none; its lines."""

    name: str
    before: str
    after: str
    hunks: tuple[Hunk, ...]


@dataclass(frozen=True)
class Record:
    """One entry.

    Attributes:
        number: counted from 1.
        when: local time with its zone, ISO 8601.
        edits: which values were changed.
        files: what became of the files.
        turns: number of the entry that this one takes back or does again; 0 for a change of its own.
        again: it does that entry again.
    """

    number: int
    when: str
    edits: tuple[Edit, ...]
    files: tuple[FileChange, ...]
    turns: int = 0
    again: bool = False


@dataclass
class Journal:
    """The journal in a folder, as far as it was read: `refresh` reads what was added since.

    Attributes:
        folder: the sheet's folder.
        done: numbers of the changes that stand, the latest last.
        undone: numbers of those taken back that can be done again, the latest taken back last.
        voided: the last entry that never came to the files.
    """

    folder: Path
    done: list[int] = field(default_factory=list)
    undone: list[int] = field(default_factory=list)
    voided: int = 0
    _places: list[int] = field(default_factory=list)  # number - 1 -> where its line begins
    _read: int = 0
    _title: str | None = None

    @property
    def path(self) -> Path:
        """The file."""
        return self.folder / JOURNAL

    def refresh(self, title: str) -> None:
        """Read what was added; a line that a kill cut off counts for nothing.

        Raises:
            SheetError: the file is no journal, or that of another sheet.
        """
        try:
            size = self.path.stat().st_size
        except FileNotFoundError:
            size = 0
        if size < self._read:
            self.done, self.undone, self._places = [], [], []
            self._read, self._title, self.voided = 0, None, 0
        if size > self._read:
            with self.path.open("rb") as file:
                file.seek(self._read)
                for line in file:
                    if not line.endswith(b"\n"):
                        break
                    self._take(line)
                    self._read += len(line)
        if self._title is not None and self._title != title:
            raise SheetError(
                [
                    Fault(
                        JOURNAL,
                        f"is the journal of '{self._title}', and this sheet is '{title}'",
                        "Move that file away: a new one is begun with the next change.",
                    )
                ]
            )

    def _take(self, line: bytes) -> None:
        entry = self._parsed(line)
        if self._title is None:
            if entry.get("journal") != _KIND:
                raise self._foreign()
            self._title = str(entry["title"])
            return
        if "void" in entry:
            self._turn_back(int(entry["void"]))
            return
        number, turns = int(entry["number"]), int(entry.get("turns", 0))
        if number != len(self._places) + 1:
            raise self._foreign()
        self._places.append(self._read)
        for edit in entry["edits"]:
            if edit["key"] == "sheet.title" and edit["after"]:
                self._title = str(edit["after"])
        if not turns:
            self.done.append(number)
            self.undone.clear()
        elif entry.get("again"):
            self.undone.remove(turns)
            self.done.append(turns)
        else:
            self.done.remove(turns)
            self.undone.append(turns)

    def _turn_back(self, number: int) -> None:
        """Forget the last entry, which never came to the files."""
        if number == len(self._places) != self.voided:
            self.voided = number
            entry = self.record(number)
            if not entry.turns:
                self.done.remove(number)
            elif entry.again:
                self.done.remove(entry.turns)
                self.undone.append(entry.turns)
            else:
                self.undone.remove(entry.turns)
                self.done.append(entry.turns)

    def _parsed(self, line: bytes) -> dict[str, Any]:
        try:
            entry = json.loads(line)
        except ValueError as error:
            raise self._foreign() from error
        if not isinstance(entry, dict):
            raise self._foreign()
        return entry

    def _foreign(self) -> SheetError:
        return SheetError(
            [Fault(JOURNAL, "is not a journal of this program's", "Move that file away or mend it.")]
        )

    @property
    def count(self) -> int:
        """How many entries there are."""
        return len(self._places)

    def record(self, number: int) -> Record:
        """Return one entry."""
        with self.path.open("rb") as file:
            file.seek(self._places[number - 1])
            entry = self._parsed(file.readline())
        files = tuple(
            FileChange(
                one["name"],
                one["before"],
                one["after"],
                tuple(Hunk(each["at"], tuple(each["old"]), tuple(each["new"])) for each in one["hunks"]),
            )
            for one in entry["files"]
        )
        edits = tuple(Edit(one["key"], one["before"], one["after"]) for one in entry["edits"])
        return Record(
            entry["number"], entry["when"], edits, files, entry.get("turns", 0), bool(entry.get("again"))
        )

    def latest(self, most: int) -> Iterator[Record]:
        """Return the latest entries, the last first."""
        for number in range(self.count, max(0, self.count - most), -1):
            yield self.record(number)

    def add(self, record: Record, title: str) -> None:
        """Add an entry, on the disk before this returns."""
        entry = asdict(record)
        if not record.turns:
            del entry["turns"], entry["again"]
        self._append(entry, title)

    def void(self, number: int, title: str) -> None:
        """Say that the last entry never came to the files."""
        self._append({"void": number}, title)

    def _append(self, entry: dict[str, Any], title: str) -> None:
        lines = []
        if self._title is None:
            lines.append({"journal": _KIND, "version": 1, "title": title})
        text = "".join(json.dumps(line, ensure_ascii=False) + "\n" for line in (*lines, entry))
        with self.path.open("ab") as file:
            # What a kill has cut off goes away.
            file.truncate(self._read)
            file.seek(0, os.SEEK_END)
            file.write(text.encode("utf-8"))
            file.flush()
            os.fsync(file.fileno())
        for line in text.encode("utf-8").splitlines(keepends=True):
            self._take(line)
            self._read += len(line)


def fingerprint(content: bytes | None) -> str:
    """Return by what a file's content is known again; "" for none."""
    return "" if content is None else hashlib.sha256(content).hexdigest()[:16]
