"""`valvetrain lobe`: a lobe's lift and its derivatives, with their doubt; exported as a table."""

import math
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from valvetrain_cli.options import force_option, json_option, plot_option, sheet_argument, units_option
from valvetrain_cli.paths import FilePath

if TYPE_CHECKING:
    from valvetrain.questions.events.lobe_study import LobeResult

__all__ = ["command"]

# name -> (words, order of the derivative)
_PEAKS = {
    "lift": ("greatest lift", 0),
    "velocity": ("fastest rise", 1),
    "fall": ("fastest fall", 1),
    "acceleration": ("greatest acceleration, flank", 2),
    "nose": ("greatest deceleration, nose", 2),
    "jerk": ("greatest jerk", 3),
}


@click.command(
    "lobe", help="What does a lobe do? Lift, velocity, acceleration, jerk; written out as a table."
)
@sheet_argument
@click.option("--role", type=click.Choice(["intake", "exhaust"]), required=True, help="Whose lobe.")
@click.option(
    "-o",
    "--output",
    type=FilePath(dir_okay=False),
    help="Write the lobe to FILE.csv as a lift table, with its derivatives.",
)
@click.option("--step", type=float, default=1.0, metavar="DEGREES", help="Cam degrees between rows; 1.")
@json_option
@units_option
@plot_option
@force_option
def command(
    sheet: Path,
    role: str,
    output: Path | None,
    step: float,
    as_json: bool,
    units: str | None,
    plot: Path | None,
    force: bool,
) -> None:
    """Ask what a lobe does."""
    from valvetrain_cli.running import bad_input, check_target, read_sheet, write_whole

    check_target(plot, force)
    check_target(output, force, (".csv",))
    setup = read_sheet(sheet)
    system = units or setup.units
    from valvetrain.questions.events.lobe_study import lobe_study

    if not math.isfinite(step):
        bad_input([f"--step {step}: give cam degrees from 0.1 to 20."])
    try:
        result = lobe_study(setup, role, math.radians(step))
    except ValueError as error:
        bad_input([f"{error}."])
    if output is not None:
        table = _table_text(setup.title, result, system)
        write_whole(output, lambda path: path.write_bytes(table.encode("utf-8")), force)
    if plot is not None:
        from valvetrain.answers.page import saved
        from valvetrain.questions.events.lobe_figure import lobe_sheet

        write_whole(plot, lambda path: saved(lobe_sheet(setup, result, system), path), force)
    if as_json:
        from valvetrain_cli.json_out import print_document

        print_document("lobe", str(sheet), _document(result, system), [], [], system)
    else:
        _print(result, system, output)


def _per_degree(value: float, order: int, system: str) -> float:
    """Convert a derivative over cam angle [m/rad^order] to the display length a degree."""
    from valvetrain.setup.units import from_si

    return float(from_si(value, "length", system, difference=True)) * math.radians(1.0) ** order


def _unit(order: int, system: str) -> str:
    from valvetrain.setup.units import display_unit

    length = display_unit("length", system)
    return length if order == 0 else f"{length}/deg" + (f"^{order}" if order > 1 else "")


def _table_text(title: str, result: "LobeResult", system: str) -> str:
    """Write the lobe as a lift table that a sheet can name again."""
    source = {
        "card": "synthesised from a cam card: a likely shape between the card's lifts",
        "table": "smoothed from readings",
        "law": "a motion law",
    }
    lines = [
        f"# {title}: {result.role} lobe, {source[result.source]}; lobe center at 180 cam degrees",
        "cam_angle [deg],tappet_lift [{0}],velocity [{0}/deg],acceleration [{0}/deg2],jerk [{0}/deg3]".format(
            _unit(0, system)
        ),
    ]
    for row in zip(result.angle, result.lift, result.velocity, result.acceleration, result.jerk, strict=True):
        figures = [f"{_per_degree(float(value), order, system):.9g}" for order, value in enumerate(row[1:])]
        lines.append(",".join([f"{math.degrees(row[0]):.10g}", *figures]))
    return "\n".join(lines) + "\n"


def _document(result: "LobeResult", system: str) -> dict[str, Any]:
    """Return the lobe as JSON: peaks a degree and a second, and the series."""
    from valvetrain_cli.json_out import quantity_json

    speed = result.cam_speed
    peaks = {}
    for name, (_, order) in _PEAKS.items():
        value, doubt = result.peaks[name]
        entry: dict[str, Any] = {
            "value": _per_degree(value, order, system),
            "unit": _unit(order, system),
        }
        if math.isfinite(doubt):
            entry["u"] = _per_degree(doubt, order, system)
        if order and math.isfinite(speed):
            entry["per_second"] = {
                "value": value * speed**order,
                "unit": f"m/s^{order}" if order > 1 else "m/s",
            }
        peaks[name] = entry
    series = {
        name: {
            "values": [_per_degree(float(each), order, system) for each in getattr(result, name)],
            "unit": _unit(order, system),
        }
        for order, name in enumerate(("lift", "velocity", "acceleration", "jerk"))
    }
    return {
        "role": result.role,
        "valves": list(result.valves),
        "source": result.source,
        "synthesised": result.source == "card",
        "peaks": peaks,
        "noise": quantity_json(result.noise, "length", system),
        "runout": quantity_json(result.runout, "length", system),
        "zero_offset": quantity_json(result.zero_offset, "length", system),
        "cam_angle": {"values": [math.degrees(each) for each in result.angle], "unit": "deg"},
        **series,
        "residual_angle": {"values": [math.degrees(each) for each in result.residual_angle], "unit": "deg"},
        "residuals": {
            "values": [_per_degree(float(each), 0, system) for each in result.residuals],
            "unit": _unit(0, system),
        },
    }


def _print(result: "LobeResult", system: str, output: Path | None) -> None:
    """Print the peaks, and what the curve rests on."""
    from rich.table import Table

    from valvetrain.setup.units import shown
    from valvetrain_cli.tables import console

    words = {"card": "SYNTHESISED from the cam card", "table": "from its lift table", "law": "a motion law"}
    table = Table(
        title=f"{result.role.capitalize()} lobe, {words[result.source]} (valves {', '.join(result.valves)})",
        title_justify="left",
        title_style="bold",
        header_style="bold",
    )
    table.add_column("peak")
    for head in ("over cam angle", "+-", "at the redline"):
        table.add_column(head, justify="right")
    for name, (label, order) in _PEAKS.items():
        value, doubt = result.peaks[name]
        shown_doubt = "-" if math.isnan(doubt) else f"{2 * abs(_per_degree(doubt, order, system)):.2g}"
        second = ""
        if order and math.isfinite(result.cam_speed):
            second = f"{value * result.cam_speed**order:.4g} m/s" + (f"^{order}" if order > 1 else "")
        figure = f"{_per_degree(value, order, system):.4g} {_unit(order, system)}"
        table.add_row(label, figure, shown_doubt, second)
    out = console()
    out.print(table)
    if result.source == "table":
        runout = "not seen" if math.isnan(result.runout) else shown(result.runout, "length", system)
        out.print(
            f"Readings: noise {_per_degree(result.noise, 0, system):.2g} {_unit(0, system)} rms, base-circle "
            f"runout {runout}, zero offset taken off {shown(result.zero_offset, 'length', system)}.",
            markup=False,
        )
    if result.source == "card":
        out.print(
            "A card fixes the lift at its own lifts only: acceleration and jerk are likely figures, not "
            "measured ones; read a lift table before you trust them.",
            markup=False,
        )
    if output is not None:
        out.print(f"Written: {output}", markup=False)
