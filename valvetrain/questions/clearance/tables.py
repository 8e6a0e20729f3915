"""What is said of the clearances: every valve to the piston, then every cylinder."""

import math
from collections.abc import Iterator

from valvetrain.answers.table import Block, Sentence, columns, known_somewhere, valve_table, verdicts_of
from valvetrain.answers.verdict import Check
from valvetrain.questions.clearance.study import ClearanceResult
from valvetrain.setup.units import display_unit, shown

__all__ = ["clearance_tables"]


def clearance_tables(result: ClearanceResult, checks: list[Check], system: str) -> Iterator[Block]:
    """Say the clearances; one line where the sheet holds nothing of the piston."""
    if not result.described:
        yield Sentence("Clearance to the piston: not asked, since the sheet has no [piston] section.")
        return
    length = display_unit("length", system)
    if result.advance:
        way = "advanced" if result.advance > 0 else "retarded"
        turn = f"{way} by {abs(math.degrees(result.advance)):g} crank degrees from where it stands"
        yield Sentence(
            f"What is worked out is for the cam {turn}; what a dial read is for the cam as it stood, and is "
            "not judged for the other."
        )
    if result.cam_position == "wheel":
        yield Sentence("The cam stands as the degree wheel found it; --cam card asks for it as on its card.")
    asked = columns(result, "clearance", "at_angle", "measured", "measured_angle", "relief_gap")
    yield valve_table(
        f"Valve to piston, the least along the stem in {length}; crank degrees after the overlap's TDC",
        result.valves,
        known_somewhere(asked),
        system,
        verdicts_of(checks, result.valves),
    )
    yield from _changes(result, system)
    rows = []
    for index, cylinder in enumerate(result.cylinders):
        parts = []
        gap, at = float(result.valve_gap.value[index]), float(result.gap_angle.value[index])
        if not math.isnan(gap):
            text = shown(gap, "length", system, float(result.valve_gap.uncertainty[index]))
            where = "while they are level" if math.isnan(at) else f"at {shown(at, 'angle', system)}"
            parts.append(f"valve to valve {text} {where}")
        for name, quantity in (("static", result.static_ratio), ("effective", result.effective_ratio)):
            value = float(quantity.value[index])
            if not math.isnan(value):
                text = shown(value, "ratio", system, float(quantity.uncertainty[index]))
                doubt = float(quantity.uncertainty[index])
                spread = f" +- {2 * doubt:.2f}" if doubt > 0 else ""
                parts.append(f"{name} compression {text}{spread}")
        if parts:
            rows.append((cylinder, ", ".join(parts)))
    same: dict[str, list[int]] = {}
    for cylinder, text in rows:
        same.setdefault(text, []).append(cylinder)
    for text, cylinders in same.items():
        who = ", ".join(map(str, cylinders))
        yield Sentence(f"Cylinder{'s' if len(cylinders) > 1 else ''} {who}: {text}.")
    if any("compression" in text for _, text in rows):
        if any(math.isnan(each) for each in result.effective_ratio.value):
            yield Sentence(
                "Effective compression is not known where a cylinder's intake lash, lobe or centerline, the "
                "stroke or the rod is not."
            )
        yield Sentence(
            "Static: (stroke + clearance volume)/clearance volume. Effective: the same, the stroke counted "
            "from where the intake valve seats at its lash; it says nothing of how the charge moves."
        )


def _changes(result: ClearanceResult, system: str) -> Iterator[Block]:
    """Say what the cam's advance, the lash and a stand shim would change."""
    length = display_unit("length", system)
    for role, name in (("intake", "intake valves"), ("exhaust", "exhaust valves")):
        own = [index for index, each in enumerate(result.roles) if each == role]
        rates = [float(result.per_degree_advance[index]) for index in own]
        known = [rate for rate in rates if not math.isnan(rate)]
        if known:
            change = shown(abs(sum(known) / len(known)), "length", system)
            way = "gives" if sum(known) >= 0 else "takes"
            yield Sentence(f"Each crank degree of cam advance {way} the {name} {change}.")
    for values, what in (
        (result.per_lash, "of lash"),
        (result.per_stand_shim, "of stand shim, the lash set again,"),
    ):
        known = [float(value) for value in values if not math.isnan(value)]
        if known:
            change_ratio = sum(known) / len(known)
            way = "gives" if change_ratio >= 0 else "takes"
            if abs(change_ratio) < 0.01:
                yield Sentence(f"Each {length} {what} changes the clearance by less than 0.01 {length}.")
            else:
                yield Sentence(f"Each {length} {what} {way} {abs(change_ratio):.2f} {length} of clearance.")
