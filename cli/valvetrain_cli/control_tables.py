"""Tables of valve control: the verdict a valve, what raises the limit, loads, and the elastic limits."""

import math
from collections.abc import Sequence
from typing import TYPE_CHECKING

from rich.table import Table
from rich.text import Text

from valvetrain.setup.units import display_unit, from_si, shown
from valvetrain_cli.tables import console, print_hanging, print_table, verdict_cells

if TYPE_CHECKING:
    from valvetrain.answers.verdict import Check
    from valvetrain.questions.control.elastic_result import ElasticLimit, ElasticResult
    from valvetrain.questions.control.loads import RoleLoads
    from valvetrain.questions.control.study import ControlResult
    from valvetrain_cli.control import ControlAnswer

__all__ = ["print_control"]

BENT = 0.005
"""Share of the seat load from which a spring that stays below its straight line is spoken of."""


def print_control(answer: "ControlAnswer", checks: "Sequence[Check]", system: str) -> None:
    """Print the tables; loads and gains only where the question was asked by itself."""
    result = answer.rigid
    if not result.asked:
        console().print(
            Text(
                "Valve control: not asked, the sheet gives no masses ([masses], [valve] mass).", style="bold"
            )
        )
        return
    force = display_unit("force", system)
    line = (
        "no redline in the sheet"
        if math.isnan(result.redline)
        else f"redline {shown(result.redline, 'rotation', system)}"
    )
    print_table(
        f"Valve control, rigid train: {line}; speeds in rpm, loads in {force}",
        result.valves,
        [
            ("leaves the lobe at", result.limit_speed),
            ("crank deg from full lift", result.limit_angle),
            ("above redline %", result.control_margin),
            ("seat load", result.seat_load),
            ("needed at redline", result.seat_load_needed),
            ("nose load, slowly", result.nose_load),
            ("lobe from", [each or "-" for each in result.lobe_from]),
        ],
        system,
        verdict_cells([check for check in checks if check.id == "control_margin"], result.valves),
    )
    _print_notes(result, system)
    if answer.loads:
        _print_gains(result, system)
        _print_loads(answer.loads, system)
    if answer.elastic is not None:
        _print_elastic(answer.elastic, checks, system)


def _print_notes(result: "ControlResult", system: str) -> None:
    """Say what is estimated, too coarse, simplified, a guess, and where the doubt comes from."""
    out = console()
    guessed = sorted({key for keys in result.estimated for key in keys})
    if guessed:
        out.print(Text(f"Estimated, not weighed: {', '.join(guessed)}. A scale makes the answer surer."))
    coarse = [valve for valve, bad in zip(result.valves, result.coarse, strict=True) if bad]
    if coarse:
        out.print(
            Text(
                f"Lift table too coarse for accelerations ({', '.join(coarse)}): the uncertainty is widened; "
                "read the lobe every 2 cam degrees."
            )
        )
    if "card" in result.lobe_from:
        out.print(
            Text("A card says little of the lobe's nose: the uncertainty is widened; a lift table is surer.")
        )
    worn = [valve for valve, less in zip(result.valves, result.worn, strict=True) if less]
    if worn:
        print_hanging(
            out,
            "",
            f"Worn lobe ({', '.join(worn)}): taken as the whole lobe scaled down to the lift found. A worn "
            "nose has edges that this does not know: trust its limit less than it says.",
        )
    bow = result.spring_bow.value / result.springs.seat_load.value
    bent = [at for at, share in enumerate(bow) if share > BENT]
    if bent:
        most = shown(float(max(result.spring_bow.value[at] for at in bent)), "force", system)
        print_hanging(
            out,
            "",
            f"Springs whose rate grows ({', '.join(result.valves[at] for at in bent)}): taken as a straight "
            f"line from seat to full lift. About half lift they give up to {most} less, and hold to a little "
            "less speed.",
        )
    doubts = sorted({name for name in result.doubt_from if name})
    if doubts:
        said = ", ".join(doubts)
        out.print(Text(f"Most of the doubt comes from {said}."))


def _weakest(result: "ControlResult") -> list[tuple[str, int]]:
    """Each role's weakest valve, where one is known."""
    rows = [(role, result.weakest(role)) for role in dict.fromkeys(result.roles)]
    return [(role, at) for role, at in rows if at is not None]


def _plain(value: float, dimension: str, system: str) -> str:
    """A value without its unit."""
    if math.isnan(value):
        return "-"
    text = shown(value, dimension, system)
    return text.removesuffix(f" {display_unit(dimension, system)}")


def _print_gains(result: "ControlResult", system: str) -> None:
    """Print what more load or less mass buys, and costs at the nose."""
    from valvetrain.questions.control.study import STEP

    roles = [(role, at) for role, at in _weakest(result) if math.isfinite(result.limit_speed.value[at])]
    if not roles:
        return
    force = display_unit("force", system)
    table = Table(
        title=f"What would raise the limit: rpm gained, and {force} added at the nose of the lobe",
        title_justify="left",
        title_style="bold",
        header_style="bold",
    )
    table.add_column("change", no_wrap=True)
    for _, at in roles:
        table.add_column(f"{result.valves[at]}: that is", justify="right", no_wrap=True)
        table.add_column("rpm", justify="right")
        table.add_column(force, justify="right")
    share = f"{100 * STEP:.0f} %"
    for what, size, gain, added in (
        (
            f"seat load {share} more",
            result.seat_load,
            result.gain_by_seat_load,
            result.nose_load_by_seat_load,
        ),
        (f"spring rate {share} more", None, result.gain_by_rate, result.nose_load_by_rate),
        (f"valve side {share} lighter", result.valve_side_mass, result.gain_by_valve_side, None),
        (f"rocker inertia {share} less", result.rocker_inertia, result.gain_by_rocker, None),
        (f"pushrod, tappet {share} lighter", result.follower_mass, result.gain_by_follower, None),
    ):
        row = [what]
        for _, at in roles:
            row.append(shown(STEP * float(size.value[at]), size.dimension, system) if size else "")
            row.append(_plain(float(gain.value[at]), "rotation", system))
            row.append(_plain(float(added.value[at]), "force", system) if added else "")
        table.add_row(*row)
    console().print(table)


def _print_loads(loads: "Sequence[RoleLoads]", system: str) -> None:
    """Print the greatest loads at each speed."""
    from valvetrain.questions.control.loads import PEAKS

    force, torque = display_unit("force", system), display_unit("torque", system)
    table = Table(
        title=f"Greatest loads of the rigid train, friction counted: {force}; tilting and camshaft {torque}",
        title_justify="left",
        title_style="bold",
        header_style="bold",
    )
    names = {
        "lobe": "lobe",
        "least_lobe": "lobe, least",
        "cup": "cup",
        "tip": "tip",
        "shaft": "shaft",
        "side": "stem, side",
        "tilting_moment": "stem, tilting",
        "camshaft_torque": "camshaft",
    }
    table.add_column("valve")
    table.add_column("rpm", justify="right")
    for name in PEAKS:
        table.add_column(names[name], justify="right")
    for each in loads:
        for index, speed in enumerate(each.crank_speed):
            table.add_row(
                each.valve if index == 0 else "",
                "slowly" if speed == 0.0 else _plain(float(speed), "rotation", system),
                *(_peak(name, float(each.peaks[name][index]), kind, system) for name, kind in PEAKS.items()),
                end_section=index == len(each.crank_speed) - 1,
            )
    console().print(table)
    missing = sorted({key for each in loads for key in each.missing})
    if missing:
        console().print(
            Text(f"The loads on lobe, cup, shaft and stem, and the torque, need {', '.join(missing)}.")
        )
    elif any(math.isnan(each.peaks["tilting_moment"][0]) for each in loads):
        console().print(Text("The moment that tilts the stem needs [contact] tip_over_guide."))


def _peak(name: str, value: float, dimension: str, system: str) -> str:
    """A greatest load; where the lobe would have to pull, that the tappet is off it."""
    return "off it" if name == "least_lobe" and value < 0 else _plain(value, dimension, system)


def _print_elastic(result: "ElasticResult", checks: "Sequence[Check]", system: str) -> None:
    """Print where each loss of control begins."""
    from valvetrain.questions.control.elastic_result import LIMITS
    from valvetrain_cli.tables import SIGNS, STYLES, worst

    rpm = display_unit("rotation", system)
    judged = result.judgments
    table = Table(
        title=f"Elastic train, speeds in {rpm} with expanded uncertainty (k = 2)",
        title_justify="left",
        title_style="bold",
        header_style="bold",
    )
    table.add_column("valve")
    for name in LIMITS.values():
        table.add_column(name, justify="right")
    table.add_column("stiffness at the valve", justify="right")
    table.add_column("doubt from", justify="right")
    table.add_column("verdict")
    for role in result.roles:
        if role.reason:
            table.add_row(role.valve or role.role, *["-"] * (len(LIMITS) + 2), Text(SIGNS["unmeasured"]))
            continue
        cells = []
        for name in LIMITS:
            cells.append(_onset(role.limits[name], system))
        own = [check for check in checks if check.id != "control_margin" and check.valve == role.valve]
        verdict = worst([check.verdict for check in own])
        assert role.stiffness is not None  # there is a sweep
        stiff = shown(role.stiffness.whole, "stiffness", system, role.stiffness.whole_uncertainty)
        table.add_row(
            role.valve,
            *cells,
            stiff,
            role.limits[role.lowest].doubt_from.replace("_", " ") or "-",
            Text(SIGNS[verdict], style=STYLES[verdict]),
        )
    out = console()
    out.print(table)
    if all(role.reason for role in result.roles):
        return
    out.print(
        Text(
            f"Parted means a gap above {shown(judged.least_gap, 'length', system)} beyond "
            f"{shown(judged.ramp_share, 'fraction', system)} of the lift, a bounce one above "
            f"{shown(judged.least_bounce, 'length', system)}; damping {judged.damping_ratio:.2f} of critical "
            "is a judgment and moves the onsets. Change them in [control]. Every speed is the mean of 16 "
            "runs with all unsure inputs moved up or down together; --speeds does not move it."
        )
    )
    if any(limit.bound == "above" for role in result.roles for limit in role.limits.values()):
        out.print(
            Text(
                '"above" a speed: some of these runs, or all, do not come to it within the search, and none '
                "below that speed, the lobe's doubt allowed for."
            )
        )
    for role in result.roles:
        if role.reason or role.measures is None:
            continue
        near = _nearest(result, result.redline)
        if near is None:
            continue
        measures = role.measures
        speed = shown(float(result.crank_speed[near]), "rotation", system)
        if not role.steady[near]:
            out.print(
                Text(
                    f"{role.valve} at {speed}: no two cycles are alike there; its loads and seating are not "
                    "given."
                )
            )
            continue
        seating = shown(float(measures.seating_speed[near]), "speed", system)
        lost = shown(float(measures.lost_lift[near]), "length", system)
        peak = shown(float(measures.peak_lobe[near]), "force", system)
        out.print(
            Text(
                f"{role.valve} at {speed}: seats at {seating}, loses {lost} of lift, peaks at {peak} on the "
                "lobe."
            )
        )


def _onset(limit: "ElasticLimit", system: str) -> str:
    """An onset to the tens that it deserves, or the bound, rounded to the safe side."""
    at = from_si(limit.speed, "rotation", system)
    if limit.bound:
        safe = math.floor if limit.bound == "above" else math.ceil
        return f"{limit.bound} {10 * safe(at / 10)}"
    spread = 2.0 * from_si(limit.uncertainty, "rotation", system)
    return f"{10 * round(at / 10)} +-{10 * math.ceil(spread / 10)}"


def _nearest(result: "ElasticResult", speed: float) -> int | None:
    """Index of the sweep's speed nearest to a speed."""
    if math.isnan(speed):
        return None
    return min(range(len(result.crank_speed)), key=lambda at: abs(float(result.crank_speed[at]) - speed))
