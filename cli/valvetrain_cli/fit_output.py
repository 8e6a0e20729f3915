"""Writing the sheet that a fit gives, whole or not at all."""

import shutil
import tempfile
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
) -> None:
    """Write the new sheet and its tables.

    Args:
        output: a folder, or a .toml file beside the old sheet.
        toml: the old sheet; table: name of the readings.
        setup: the old sheet, read; result: the fit; choice: which of each shaft's answers, from 0.
        system: units of the remarks.
    """
    from valvetrain.questions.fit.fitted_setup import inferred_values, new_values
    from valvetrain.setup.fitted_sheet import fitted_files
    from valvetrain_cli.running import bad_input

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
    files = fitted_files(toml, setup.units, values, correlation, [*remarks, ""])
    folder = output.parent if output.suffix == ".toml" else output
    main = output.name if output.suffix == ".toml" else "setup.toml"
    try:
        with tempfile.TemporaryDirectory(dir=folder.resolve().parent, prefix=".valvetrain-") as beside:
            ready = Path(beside)
            if output.suffix != ".toml":
                for each in (*toml.parent.glob("*.csv"), *toml.parent.glob("*.xlsx")):
                    if each.name != table:
                        shutil.copy(each, ready / each.name)
            for name, text in files.items():
                (ready / (name or main)).write_text(text, encoding="utf-8")
            folder.mkdir(exist_ok=True)
            for each in sorted(ready.iterdir()):
                each.replace(folder / each.name)
    except OSError as error:
        reason = (error.strerror or str(error)).lower()
        bad_input([f"{output}: cannot be written: {reason}. Choose a folder that you may write to."])
