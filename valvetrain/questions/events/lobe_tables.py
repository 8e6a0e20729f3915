"""What is said of a lobe, and the lobe written out as a lift table."""

import math
from collections.abc import Iterator

from valvetrain.answers.table import Block, Sentence, Table
from valvetrain.questions.events.lobe_study import LobeResult
from valvetrain.questions.events.lobe_units import (
    PEAKS,
    per_degree,
    per_second,
    unit_per_degree,
    unit_per_second,
)
from valvetrain.setup.units import shown

__all__ = ["lobe_tables", "lobe_text"]


def lobe_text(title: str, result: LobeResult, system: str) -> str:
    """Write the lobe as a lift table that a sheet can name again."""
    source = {
        "card": "synthesised from a cam card: a likely shape between the card's lifts",
        "table": "smoothed from readings",
        "law": "a motion law",
    }
    lines = [
        f"# {title}: {result.role} lobe, {source[result.source]}; lobe center at 180 cam degrees",
        "cam_angle [deg],tappet_lift [{0}],velocity [{0}/deg],acceleration [{0}/deg2],jerk [{0}/deg3]".format(
            unit_per_degree(0, system)
        ),
    ]
    for row in zip(result.angle, result.lift, result.velocity, result.acceleration, result.jerk, strict=True):
        figures = [f"{per_degree(float(value), order, system):.9g}" for order, value in enumerate(row[1:])]
        lines.append(",".join([f"{math.degrees(row[0]):.10g}", *figures]))
    return "\n".join(lines) + "\n"


def lobe_tables(result: LobeResult, system: str) -> Iterator[Block]:
    """Say the peaks, and what the curve rests on."""
    words = {"card": "SYNTHESISED from the cam card", "table": "from its lift table", "law": "a motion law"}
    rows = []
    for name, (label, order) in PEAKS.items():
        value, doubt = result.peaks[name]
        shown_doubt = "-" if math.isnan(doubt) else f"{2 * abs(per_degree(doubt, order, system)):.2g}"
        second = ""
        if order and math.isfinite(result.cam_speed):
            speed = per_second(value * result.cam_speed**order, system)
            second = f"{speed:.4g} {unit_per_second(order, system)}"
        figure = f"{per_degree(value, order, system):.4g} {unit_per_degree(order, system)}"
        rows.append((label, figure, shown_doubt, second))
    yield Table(
        f"{result.role.capitalize()} lobe, {words[result.source]} (valves {', '.join(result.valves)})",
        ("peak", "over cam angle", "+-", "at the redline"),
        tuple(rows),
    )
    if result.source == "table":
        runout = "not seen" if math.isnan(result.runout) else shown(result.runout, "length", system)
        noise = f"{per_degree(result.noise, 0, system):.2g} {unit_per_degree(0, system)}"
        yield Sentence(
            f"Readings: noise {noise} rms, base-circle runout {runout}, zero offset taken off "
            f"{shown(result.zero_offset, 'length', system)}."
        )
    if result.source == "card":
        yield Sentence(
            "A card fixes the lift at its own lifts only: acceleration and jerk are likely figures, not "
            "measured ones; read a lift table before you trust them."
        )
