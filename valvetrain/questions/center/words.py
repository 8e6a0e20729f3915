"""What a shaft's plan says, in shop words and the units asked for."""

from collections.abc import Sequence

from valvetrain.mechanics.row.plan import Remedy
from valvetrain.questions.center.plan import ShaftPlan
from valvetrain.questions.center.study import CenteringResult
from valvetrain.setup.units import shown

__all__ = ["blocked_lines", "cure", "plan_lines", "remedy_words", "shims_words"]

# More metal than this is not taken off on the word of one measurement: 2 mm (our judgment, no source).
_GREAT_DEAL = 2e-3


def shims_words(shims: Sequence[float], system: str) -> str:
    """Write shims with their unit, such as `0.030 + 0.010 in`."""
    each = [shown(shim, "length", system) for shim in shims]
    unit = each[0].rpartition(" ")[2] if each else ""
    return " + ".join(one.removesuffix(f" {unit}") for one in each) + (f" {unit}" if each else "")


def remedy_words(remedy: Remedy, system: str) -> str:
    """Say what would make a plan possible."""
    amount = shown(remedy.amount, "length", system)
    if remedy.kind == "buy shim":
        front, rear = remedy.place.split(" to ")
        return f"Buy or grind a rocker shim of {amount}, to stand between {front} and {rear}."
    if remedy.kind == "buy more":
        return f"Buy {remedy.count} more of {amount}."
    doubt = " That is a great deal: check the offset first." if remedy.amount > _GREAT_DEAL else ""
    if remedy.kind == "face hub":
        valve, side = remedy.place.rsplit(" ", 1)
        return f"Face {amount} off the {side} of the hub of {valve}.{doubt}"
    if remedy.kind == "machine stand":
        wall, side = remedy.place.rsplit(" ", 1)
        return f"Machine {amount} off the {side} face of {wall}.{doubt}"
    return "No shim, and no metal taken off, brings it within its limits: check the measurements of this bay."


def blocked_lines(shafts: ShaftPlan, system: str) -> list[str]:
    """Say for which bays there is no plan and what would help; a line a bay."""
    lines = []
    for bay in shafts.blocked:
        own = [remedy_words(each, system) for each in shafts.remedies if each.bay == bay]
        if bay == "all":
            needing = ", ".join(shafts.plan.needing)
            what = f"Bays {needing}: the drawer holds too few shims for all of them together."
        else:
            what = (
                f"Bay {bay}: no plan, {shafts.empty}."
                if shafts.empty
                else f"Bay {bay}: no plan from the drawer."
            )
        lines.append(" ".join([what, *own]))
    return lines


def plan_lines(shafts: ShaftPlan, system: str) -> list[str]:
    """List every change of the plan, front to rear; empty where nothing changes."""
    lines = []
    for change in shafts.plan.shims:
        steps = [
            f"{verb} {shims_words(shims, system)}"
            for verb, shims in (("take out", change.removed), ("put in", change.added))
            if shims
        ]
        lines.append(f"between {change.ahead} and {change.behind}: {', '.join(steps)}")
    for _, bay, _, length in shafts.plan.spacers:
        lines.append(f"bay {bay}: cut the spacer to {shown(length, 'length', system)}")
    for _, name, move in shafts.plan.stands:
        side = "rear" if move > 0 else "front"
        lines.append(f"move {name} by {shown(abs(move), 'length', system)} toward the {side}")
    return lines


def cure(result: CenteringResult, index: int, system: str) -> str:
    """Say what moves one rocker over its stem."""
    if result.reason[index]:
        more = ""
        if result.shafts is not None:
            more = " ".join(
                remedy_words(each, system)
                for each in result.shafts.remedies
                if each.bay == "all" or _is_in(result, index, each.bay)
            )
        return f"{_sentence(result.reason[index])} {more}".strip()
    if not result.moved[index]:
        return ""
    steps = [
        f"{action} {shims_words(shims, system)} {side}"
        for action, side, shims in (
            ("take out", "in front", result.front_removed[index]),
            ("take out", "behind", result.rear_removed[index]),
            ("put in", "in front", result.front_added[index]),
            ("put in", "behind", result.rear_added[index]),
        )
        if shims
    ]
    offset = shown(float(result.offset_after.value[index]), "length", system)
    play = shown(float(result.end_clearance.value[index]), "length", system)
    leaves = f"leaves an offset of {offset} and an end clearance of {play}."
    if steps:
        return f"Rocker shims: {', '.join(steps)}; {leaves}"
    return f"The other changes on its shaft move it (center --plan lists them); that {leaves}"


def _sentence(text: str) -> str:
    """Begin with a capital and end with a stop."""
    return f"{text[0].upper()}{text[1:].rstrip('.')}."


def _is_in(result: CenteringResult, index: int, bay: str) -> bool:
    """Say whether a rocker stands in a bay, or in the bays tied together that are called so."""
    assert result.shafts is not None
    for row in result.shafts.before:
        names = list(row.kinds)
        if result.valves[index] not in names:
            continue
        front, rear = bay.split(" to ")
        if front in names and rear in names:
            return names.index(front) < names.index(result.valves[index]) < names.index(rear)
    return False
