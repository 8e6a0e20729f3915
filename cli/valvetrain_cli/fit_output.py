"""Writing the sheet that a fit gives, whole or not at all."""

import os
import tomllib
from collections.abc import Mapping
from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from valvetrain.questions.fit.study import FitResult
    from valvetrain.setup.setup import Setup

__all__ = ["write_sheet"]


def write_sheet(
    output: Path,
    toml: Path,
    table: str,
    setup: "Setup",
    result: "FitResult",
    choice: tuple[int, ...],
    system: str,
    force: bool,
) -> None:
    """Write the new sheet and its tables; the tables never replace anything, the sheet only with `force`.

    Args:
        output: a folder, or a .toml file beside the old sheet.
        toml: the old sheet; table: name of the readings.
        setup: the old sheet, read; result: the fit; choice: which of each shaft's answers, from 0.
        system: units of the remarks.
        force: write over a sheet that exists.
    """
    from valvetrain.questions.fit.fitted_setup import inferred_values, new_values
    from valvetrain.setup.fitted_sheet import fitted_files
    from valvetrain.setup.writing import write_files
    from valvetrain_cli.running import TAKEN, bad_input, reason

    inferred, correlation = inferred_values(setup, result.joint.chosen(choice))
    values = new_values(setup, inferred)
    remarks = [
        f"Values marked inferred were fitted to {result.readings} readings and measurements ({table}) by",
        "`valvetrain fit`. Leave the table of correlations: together they are known better than each alone.",
    ]
    for shaft, number in zip(result.shafts, choice, strict=True):
        if len(shaft.answers) > 1:
            whose = f" of shaft {shaft.shaft.called}" if shaft.shaft.called else ""
            remarks += [
                f"Two answers fit the readings{whose}; this sheet holds the one of probability "
                f"{shaft.answers[number].weight:.0%}, and its",
                "uncertainties hold if it is the right one.",
            ]
    beside = output.suffix == ".toml"
    folder, main = (output.parent, output.name) if beside else (output, "setup.toml")
    names = _free_names(folder, output.stem if beside else "fitted")
    files = fitted_files(toml, setup.units, values, correlation, [*remarks, ""], names)
    sheet = files.pop("")
    try:
        copied = {} if beside else _tables_of(toml, sheet, folder, files)
        write_files(folder, {**copied, **files, main: sheet}, force=force)
    except FileExistsError as error:
        bad_input([f"{error.filename2 or error.filename or output}: {TAKEN}"])
    except OSError as error:
        bad_input([f"{output}: cannot be written: {reason(error)}. Choose a folder that you may write to."])


def _free_names(folder: Path, stem: str) -> tuple[str, str]:
    """Name the new tables after the sheet; where one of them is taken, with the next number that is free."""
    number = 1
    while True:
        end = "" if number == 1 else f"_{number}"
        names = (f"{stem}_correlation{end}.csv", f"{stem}_valves{end}.csv")
        if not any(os.path.lexists(folder / name) for name in names):
            return names
        number += 1


def _tables_of(toml: Path, sheet: str, folder: Path, own: Mapping[str, str]) -> dict[str, bytes]:
    """Read the tables that the new sheet names and that stand with the old one, to stand with it too.

    One that is there already with the same content is left; with another it is refused, as is one that lies
    outside the old sheet's folder and is named from there.
    """
    from valvetrain.setup.tables.named import table_names
    from valvetrain.setup.tables.xlsx_file import workbook_file
    from valvetrain_cli.running import bad_input

    faults = []
    copied: dict[str, bytes] = {}
    for name in table_names(tomllib.loads(sheet)):
        file = workbook_file(Path(name))
        if str(file) in own or file.is_absolute():
            continue
        if ".." in file.parts:
            faults.append(f"{file}: lies outside the sheet's folder, where {folder} has no part. Move it.")
            continue
        content = (toml.parent / file).read_bytes()
        there = folder / file
        if not os.path.lexists(there):
            copied[str(file)] = content
        elif not there.is_file() or there.read_bytes() != content:
            faults.append(f"{there}: exists already and holds something else. Give a new folder.")
    if faults:
        bad_input(faults)
    return copied
