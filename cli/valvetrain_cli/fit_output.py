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
    output: Path, toml: Path, table: str, setup: "Setup", result: "FitResult", answer: int, system: str
) -> None:
    """Write the new sheet and its tables.

    Args:
        output: a folder, or a .toml file beside the old sheet.
        toml: the old sheet; table: name of the readings.
        setup: the old sheet, read; result: the fit; answer: which of its answers, from 1.
        system: units of the remarks.
    """
    from valvetrain.questions.fit.fitted_setup import INFERRED_KEYS, heights_by_valve
    from valvetrain.setup.fitted_sheet import NewValue, fitted_files
    from valvetrain_cli.running import bad_input

    chosen = result.answers[answer - 1]
    by_valve = heights_by_valve(setup)
    values, heights = [], {}
    for group, fitted in zip(chosen.inferred, result.groups, strict=True):
        for key in INFERRED_KEYS:
            dimension = "angle" if key.endswith("angle") else "length"
            value, doubt = float(group.value[key][0]), float(group.uncertainty[key][0])
            values.append(NewValue(key, fitted.role, dimension, value, doubt))
        if by_valve:
            for place, index in enumerate(group.members):
                heights[setup.valves[index]] = (
                    float(group.value["shaft.height"][place]),
                    float(group.uncertainty["shaft.height"][place]),
                )
    heights = {valve: heights[valve] for valve in setup.valves} if by_valve else {}
    remarks = [
        f"Values marked inferred were fitted to {result.readings} readings and measurements ({table}) by",
        "`valvetrain fit`. Leave the table of correlations: together they are known better than each alone.",
    ]
    if len(result.answers) > 1:
        remarks += [
            f"Two answers fit the readings; this sheet holds the one of probability {chosen.weight:.0%}, and",
            "its uncertainties hold if it is the right one. A mark made with the valve closed decides.",
        ]
    files = fitted_files(toml, setup.units, values, chosen.correlation, heights, [*remarks, ""])
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
