"""The sheets of a shop: one, or those in a folder; and new ones, begun by a short interview."""

import datetime
import re
import threading
from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from valvetrain.bench.desk import Desk
from valvetrain.bench.view import headline
from valvetrain.parts.instruments import DEFAULT_UNCERTAINTY
from valvetrain.setup.editing.edited import edited
from valvetrain.setup.editing.place import described_as, place_of
from valvetrain.setup.faults import Fault, SheetError
from valvetrain.setup.sheet_text import FILE, sheet_title
from valvetrain.setup.starter import Described, starter_files
from valvetrain.setup.starter_words import SHOP_INSTRUMENTS
from valvetrain.setup.values import measured
from valvetrain.setup.writing import write_files

__all__ = ["ONLY", "Shop"]

ONLY = "engine"
"""By what the sheet is called where there is only one."""

_NAME = re.compile(r"^[A-Za-z0-9][A-Za-z0-9_-]{0,60}$")


@dataclass
class Shop:
    """One sheet, or a folder of sheets.

    Attributes:
        root: the sheet, or the folder.
        single: `root` is a sheet.
    """

    root: Path
    single: bool
    desks: dict[str, Desk] = field(default_factory=dict)
    lock: threading.RLock = field(default_factory=threading.RLock)

    def desk(self, name: str) -> Desk | None:
        """Return the desk of a sheet by its name, which is never taken as a path; None if there is none."""
        with self.lock:
            if name in self.desks:
                return self.desks[name]
            if self.single:
                if name != ONLY:
                    return None
                self.desks[name] = Desk(self.root, quick=True)
            elif name in self._folders():
                self.desks[name] = Desk(self.root / name, quick=True)
            return self.desks.get(name)

    def _folders(self) -> list[str]:
        """Name the folders that hold a sheet."""
        return sorted(each.parent.name for each in self.root.glob(f"*/{FILE}"))

    def listed(self) -> list[dict[str, Any]]:
        """List the sheets: name, title, state as far as it is known, date of the last change."""
        rows = []
        for name in self._folders():
            toml = self.root / name / FILE
            when = max(each.stat().st_mtime for each in toml.parent.iterdir() if each.is_file())
            desk = self.desks.get(name)
            said = "not opened yet"
            try:
                title = sheet_title(toml) or name
            except SheetError:
                title, said = name, "has faults: open it to see them"
            if desk is not None and desk.answers is not None:
                said = headline(desk.answers)
            day = datetime.datetime.fromtimestamp(when).strftime("%Y-%m-%d %H:%M")
            rows.append({"name": name, "title": title, "state": said, "when": day})
        return rows

    def begun(self, told: Mapping[str, Any]) -> str:
        """Begin a sheet from the interview; return its name.

        Raises:
            SheetError: an answer that cannot be.
            OSError: it cannot be written.
        """
        title = str(told.get("title", "")).strip() or "New engine"
        name = str(told.get("name", "")).strip() or _name_from(title)
        faults = []
        if not _NAME.match(name):
            faults.append(
                Fault("Folder", f"'{name}' is no name for it", "Use letters, figures, - and _ only.")
            )
        cylinders, each = str(told.get("cylinders", "")), str(told.get("valves_per_cylinder", "2"))
        if not cylinders.isdigit() or not 1 <= int(cylinders) <= 24:
            faults.append(Fault("Cylinders", f"'{cylinders}' is not 1 to 24", "Write how many there are."))
        if each not in ("2", "4"):
            faults.append(Fault("Valves per cylinder", f"'{each}' is not 2 or 4", "Choose one."))
        shafts = str(told.get("shafts", "1"))
        if not shafts.isdigit() or not 1 <= int(shafts) <= 8:
            faults.append(Fault("Rocker shafts", f"'{shafts}' is not 1 to 8", "Write how many there are."))
        units = str(told.get("units", ""))
        if units not in ("inch", "metric"):
            faults.append(Fault("Units", "none are chosen", "Choose inch or metric."))
        if faults:
            raise SheetError(faults)
        with self.lock:
            if self.single or (self.root / name).exists():
                raise SheetError(
                    [Fault("Folder", f"'{name}' is there already", "Give another name.")],
                )
            at_hand = tuple(one for one in SHOP_INSTRUMENTS if one in told.get("instruments", ()))
            files = starter_files(
                Described(
                    title[:200], int(cylinders), int(each), units, at_hand or SHOP_INSTRUMENTS, int(shafts)
                )
            )
            known = {
                key: str(value) for key, value in dict(told.get("known", {})).items() if str(value).strip()
            }
            files = _with_known(self.root / name, files, known, units)
            write_files(
                self.root / name, {**{key: files[key] for key in files if key != FILE}, FILE: files[FILE]}
            )
        return name


# What the interview may ask of the engine; all else is measured at the bench.
_KNOWN = (
    "engine.bore",
    "engine.stroke",
    "engine.rod_length",
    "engine.redline",
    "rocker.nominal_ratio",
    "tappet.kind",
    "rocker.tip",
    "lobe.intake.lift",
    "lobe.exhaust.lift",
    "cam.intake_centerline",
    "cam.exhaust_centerline",
    "lash.intake",
    "lash.exhaust",
    "lash.at",
    "lash.state",
    "spring.seat_load_target",
)


def _with_known(
    folder: Path, files: Mapping[str, str], known: Mapping[str, str], units: str
) -> dict[str, str]:
    """Write what is known into the starter's text, and read it as a sheet."""
    toml = folder / FILE
    contents: dict[Path, bytes | str] = {folder / name: text.encode() for name, text in files.items()}
    wrong = [key for key in known if key not in _KNOWN]
    faults = [Fault(f"'{each}'", "is not asked for here", "Measure it later.") for each in wrong]
    faults += [fault for key in known if key in _KNOWN for fault in _faults(key, known[key], units)]
    if faults:
        raise SheetError(faults)
    contents, _ = edited(toml, contents, known)
    return {path.name: _text(found) for path, found in contents.items()}


def _faults(key: str, written: str, units: str) -> list[Fault]:
    """Say what is wrong with one answer."""
    spec = described_as(place_of(key))
    assert spec is not None
    name = key.replace(".", " ").replace("_", " ")
    if spec.dimension is None:
        choices = spec.choices or ("valve", "pushrod", "cold", "hot")
        return [] if written in choices else [Fault(name, f"'{written}' is not known", "Choose one.")]
    try:
        measured(written, spec, name, system=units, instruments=DEFAULT_UNCERTAINTY)
    except ValueError as error:
        return [Fault(name, str(error), "Correct it, or leave it out.")]
    return []


def _text(found: bytes | str) -> str:
    return found if isinstance(found, str) else found.decode()


def _name_from(title: str) -> str:
    return re.sub(r"[^A-Za-z0-9]+", "_", title).strip("_").lower()[:60] or "engine"
