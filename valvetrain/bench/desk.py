"""One sheet on the bench: read, answered, changed, and followed when someone else changes it.

The files are the truth. What is kept here is what was read from them, to be read again whenever they differ.
"""

import threading
import time
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from valvetrain.answers.question import Refused
from valvetrain.bench.answering import Answering
from valvetrain.bench.entry import Unlikely, joined, unlikely
from valvetrain.bench.measurables import allowed_key
from valvetrain.questions.compare.study import Answers, Comparison, compared
from valvetrain.setup.contents import content, reading, remembering
from valvetrain.setup.editing.changed import changed
from valvetrain.setup.editing.edited import file_of, written_at
from valvetrain.setup.editing.journal import Journal
from valvetrain.setup.editing.place import Cell, described_as, place_of
from valvetrain.setup.editing.writing import made_again, taken_back, written
from valvetrain.setup.faults import Fault, SheetError
from valvetrain.setup.read import read_setup
from valvetrain.setup.setup import Setup
from valvetrain.setup.sheet_text import sheet_file
from valvetrain.setup.tables.csv_file import split_table
from valvetrain.setup.units import display_unit

__all__ = ["Asked", "Conflict", "Desk"]


@dataclass(frozen=True)
class Conflict:
    """A value that someone else has changed meanwhile: what stands there now, and what was to be written."""

    key: str
    now: str | None
    yours: str | None


@dataclass(frozen=True)
class Asked:
    """What came of a value: it is kept where nothing is asked about it."""

    conflict: Conflict | None = None
    unlikely: Unlikely | None = None


@dataclass
class Desk:
    """A sheet and its answers.

    Attributes:
        path: the sheet's folder or file.
        version: counts what was read; whoever shows another one is to look again.
        setup, answers: as last read without faults; None as long as the sheet never was.
        faults: of the files as they are now.
        quick: answer at once to first order, until `settle` has the real answers.
        settled: the answers are those that `check` gives.
    """

    path: Path
    version: int = 0
    setup: Setup | None = None
    answers: Answers | None = None
    faults: tuple[Fault, ...] = ()
    quick: bool = False
    settled: bool = True
    lock: threading.RLock = field(default_factory=threading.RLock)
    _answering: Answering = field(default_factory=Answering)
    _at_once: Answering = field(default_factory=lambda: Answering(quick=True))
    _settling: threading.Lock = field(default_factory=threading.Lock)
    _taken: float = 0.0
    _trying: Answering = field(default_factory=Answering)
    _journal: Journal | None = None
    _seen: dict[Path, tuple[int, int, int] | None] = field(default_factory=dict)
    _tables: dict[Any, Any] = field(default_factory=dict)

    @property
    def toml(self) -> Path:
        """The sheet's TOML file."""
        return sheet_file(self.path)

    @property
    def journal(self) -> Journal:
        """The journal, as far as it was read."""
        if self._journal is None:
            self._journal = Journal(self.toml.parent)
        return self._journal

    @property
    def asked(self) -> tuple[str, ...]:
        """Names of the questions that the last change asked anew."""
        return (self._answering if self.settled else self._at_once).asked

    def refresh(self) -> bool:
        """Read the files anew if they differ from what was read; say whether they did."""
        with self.lock:
            if self._seen and all(_stamp(path) == stamp for path, stamp in self._seen.items()):
                return False
            try:
                with remembering(self._tables):
                    setup = read_setup(self.path)
                self._take(setup)
            except SheetError as error:
                self._fail(error.faults)
            except Refused as error:
                self._fail(tuple(Fault("the sheet", each, "Correct it.") for each in error.faults))
            return True

    def _take(self, setup: Setup) -> None:
        first = self.setup is None or not self.quick or setup.correlation is not None
        answering = self._answering if first else self._at_once
        self.answers = answering.answers(setup, setup.units)
        self.settled, self._taken = first, time.monotonic()
        self.setup, self.faults = setup, ()
        self._seen = {path: _stamp(path) for path in setup.contents}
        self.version += 1

    def settle(self, after: float = 0.0) -> None:
        """Find the answers that `check` gives, if those at hand were found at once.

        Args:
            after: only if nothing was changed for so long [s].
        """
        if self.settled or time.monotonic() - self._taken < after:
            return
        if not self._settling.acquire(blocking=False):
            return
        try:
            with self.lock:
                setup, version = self.setup, self.version
            if setup is None:
                return
            found = self._answering.answers(setup, setup.units)
            with self.lock:
                if self.version == version:
                    self.answers, self.settled = found, True
                    self.version += 1
        finally:
            self._settling.release()

    def _fail(self, faults: Sequence[Fault]) -> None:
        self.faults = tuple(faults)
        files = [self.toml, *(self.setup.contents if self.setup is not None else ())]
        files += [path for path in self.toml.parent.glob("*.csv") if path not in files]
        self._seen = {path: _stamp(path) for path in files}
        self.version += 1

    def write(
        self, key: str, readings: Sequence[str] | None, seen: str | None, *, sure: bool = False
    ) -> Asked:
        """Write what was read at one place; the answers then follow.

        Args:
            key: the place.
            readings: as typed; None where it could not be measured.
            seen: what stood there when it was typed.
            sure: it was asked about, and is meant.

        Returns:
            What is to be asked first; nothing is written then.

        Raises:
            SheetError: it cannot be written; the faults say why.
        """
        with self.lock:
            self.refresh()
            setup = self._readable()
            _must_be_allowed(key)
            toml = self.toml
            now = written_at(toml, setup.contents, key)
            text = None if readings is None else self._joined(setup, key, readings)
            if now != seen and now != text:
                return Asked(conflict=Conflict(key, now, text))
            if text is not None and not sure:
                doubtful = self._unlikely(setup, key, text)
                if doubtful is not None:
                    return Asked(unlikely=doubtful)
            self._write({key: text})
            return Asked()

    def keep(self, values: Mapping[str, str | None]) -> None:
        """Write values that were tried. A stand shim is written with the shaft's height that it gives.

        Raises:
            SheetError: they cannot be written.
        """
        with self.lock:
            self.refresh()
            setup = self._readable()
            for key in values:
                _must_be_allowed(key)
            self._write({**_raised(setup, values), **values})

    def tried(self, values: Mapping[str, str | None]) -> Comparison:
        """Compare the sheet with what it would be; nothing is written.

        Raises:
            SheetError: values that a sheet may not have.
        """
        with self.lock:
            self.refresh()
            setup = self._readable()
            for key in values:
                _must_be_allowed(key)
            assert self.answers is not None
            with remembering(self._tables):
                other = changed(setup, values)
            here = self.answers if self.settled else self._trying.answers(setup, setup.units)
            return compared(here, self._trying.answers(other, setup.units))

    def take_back(self) -> None:
        """Take the latest change back."""
        self._turn(again=False)

    def make_again(self) -> None:
        """Do again what was taken back last."""
        self._turn(again=True)

    def _turn(self, *, again: bool) -> None:
        with self.lock:
            self.refresh()
            setup, _ = (made_again if again else taken_back)(self.path, self.journal)
            self._take(setup)

    def _write(self, values: Mapping[str, str | None]) -> None:
        with remembering(self._tables):
            setup, _ = written(self.path, values, self.journal, self.setup)
        self._take(setup)

    def _readable(self) -> Setup:
        if self.faults or self.setup is None:
            raise SheetError(self.faults)
        return self.setup

    def unit_of(self, key: str) -> str:
        """Return the unit of a plain number at a place: the table's, where its header names one."""
        setup = self._readable()
        place = place_of(key)
        spec = described_as(place)
        if spec is None or spec.dimension is None:
            return ""
        if isinstance(place, Cell):
            table = file_of(self.toml, setup.contents, place)
            if table is not None:
                with reading(dict(setup.contents)):
                    content(table)
                    unit = split_table(table, table.name)[3].get(place.column)
                if unit:
                    return unit
        return display_unit(spec.dimension, setup.units)

    def _joined(self, setup: Setup, key: str, readings: Sequence[str]) -> str:
        spec = described_as(place_of(key))
        if spec is None:
            return readings[0].strip()
        try:
            return joined(setup, spec, readings, self.unit_of(key))
        except ValueError as error:
            mend = "Write it again, or choose that it could not be measured."
            raise SheetError([Fault(f"'{key}'", str(error), mend)]) from error

    def _unlikely(self, setup: Setup, key: str, text: str) -> Unlikely | None:
        place = place_of(key)
        spec = described_as(place)
        if not isinstance(place, Cell) or spec is None or spec.dimension is None:
            return None
        from valvetrain.setup.tables.columns import COLUMNS

        section, name, _ = COLUMNS[place.column]
        values = {
            train.name: one
            for train in setup.trains
            if (one := getattr(getattr(train, section), name, None)) is not None
        }
        own = next(train.role for train in setup.trains if train.name == place.valve)
        others = {name: one for name, one in values.items() if name != place.valve}
        alike = [one.value for train in setup.trains if train.role == own and (one := others.get(train.name))]
        return unlikely(setup, spec, text, self.unit_of(key), alike, setup.units)


def _must_be_allowed(key: str) -> None:
    if not allowed_key(key):
        raise SheetError(
            [Fault(f"'{key}'", "is not changed at the bench", "Change it in the sheet's own file.")]
        )


def _raised(setup: Setup, values: Mapping[str, str | None]) -> dict[str, str | None]:
    """Write the shaft's height that tried stand shims give, where the sheet has it beside the shim."""
    from valvetrain.setup.units import from_si

    shims = [key for key in values if key.startswith("shaft.") and key.endswith(".stand_shim")]
    found: dict[str, str | None] = {}
    for key in shims:
        other = key.removesuffix("stand_shim") + "height"
        if other in values:
            continue
        before, after = setup.trains, changed(setup, {key: values[key]}).trains
        for one, two in zip(before, after, strict=True):
            height = two.shaft.height
            if height is not None and one.shaft.height is not None and one.shaft.height.value != height.value:
                shown = from_si(height.value, "length", setup.units)
                doubt = from_si(height.uncertainty, "length", setup.units, difference=True)
                found[other] = f"{shown:.4f} +/- {doubt:.4f}"
                break
    return found


def _stamp(path: Path) -> tuple[int, int, int] | None:
    """Return by what a changed file is known; None where there is none."""
    try:
        found = path.stat()
    except OSError:
        return None
    return (found.st_mtime_ns, found.st_size, found.st_ino)
