"""The stages of the plan, in the order of assembly: each works on the engine as those before leave it."""

import math
from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import replace
from typing import Any

import numpy as np

from valvetrain.answers.verdict import Check
from valvetrain.parts.measured import Measured
from valvetrain.parts.train import Train
from valvetrain.questions.center.action import center_action
from valvetrain.questions.plan.step import PartUsed, Step, lengths_cell, value_cell
from valvetrain.questions.rocker.stand_plan import ShaftPlan
from valvetrain.questions.rocker.study import RockerResult
from valvetrain.questions.spring.action import spring_action
from valvetrain.setup.editing.following import with_stand_shims_tried
from valvetrain.setup.linkage_columns import height_over_tip, lobe_lift_as_made
from valvetrain.setup.setup import Setup
from valvetrain.setup.units import brief

__all__ = [
    "cam_steps",
    "lash_steps",
    "pushrod_steps",
    "rocker_shim_steps",
    "spring_steps",
    "stand_steps",
    "tip_steps",
]

_SAME = 1e-7


def tip_steps(setup: Setup, rocker: RockerResult, checks: Sequence[Check], system: str) -> Iterator[Step]:
    """Bring tips that stand apart back to their set: work on seat or valve, as no shim helps them."""
    out = {check.valve for check in checks if check.verdict == "out"}
    heights = height_over_tip(rocker.side.rows)
    high = {
        check.valve: check.value for check in checks if check.id == "tip_height" and check.verdict == "out"
    }
    for plan in rocker.stand.shafts:
        for index in plan.group.members:
            valve = setup.valves[index]
            if valve not in out or not (index in plan.group.apart or valve in high):
                continue
            above = plan.group.middle - float(heights[index])
            if valve in high and index not in plan.group.apart:
                above = high[valve]
            train = setup.trains[index]
            stem, height = train.valve.stem_height, train.spring.installed_height
            if stem is None:
                continue
            edits: dict[str, str | None] = {
                f"{valve}.valve.stem_height": value_cell(
                    stem.value - above, stem.uncertainty, "length", setup.units
                )
            }
            sunk = _stands_off(setup, index, above)
            if sunk and height is not None:
                edits[f"{valve}.spring.installed_height"] = value_cell(
                    height.value - above, height.uncertainty, "length", setup.units
                )
            side = "above" if above > 0 else "below"
            amount = brief(abs(above), "length", system)
            if sunk:
                way = "seat insert" if above > 0 else "cut the seat"
            else:
                way = "shorter valve, or grind its tip" if above > 0 else "longer valve, or lash cap"
            yield Step(
                "valve work",
                (valve,),
                "",
                f"bring its tip {amount} {'down' if above > 0 else 'up'}: {way}",
                f"tip stands {amount} {side} its set",
                (),
                edits,
            )


def _stands_off(setup: Setup, index: int, above: float) -> bool:
    """Whether a valve's retainer stands off its role's by what its tip does: then its seat was moved.

    A valve that is only longer leaves its retainer where the others' are.
    """
    height = setup.column("spring", "installed_height").value
    role = np.array(setup.roles) == setup.roles[index]
    role[index] = False
    others = height[role & np.isfinite(height)]
    if not others.size or math.isnan(height[index]):
        return False
    off = float(height[index]) - float(np.median(others))
    return abs(off - above) < abs(off)


def stand_steps(
    setup: Setup, plan: ShaftPlan, change: float, stack: tuple[float, ...], removed: bool, system: str
) -> Step:
    """Shim one shaft's stands by `change` [m], and write what follows: height, adjuster, tappet's line."""
    members = plan.group.members
    edits: dict[str, str | None] = {}
    for index in members:
        train = setup.trains[index]
        edits[f"{train.name}.shaft.stand_shim"] = value_cell(
            _fitted(train) + change, 0.0, "length", setup.units
        )
    edits |= _what_follows(setup, members, change)
    name = f"{plan.group.name} shaft" if plan.group.name else "the shaft"
    words = " + ".join(brief(each, "length", system) for each in stack)
    if not stack:
        do = f"{name}: take out the stand shims"
    elif removed:
        do = f"{name}: take out what is under each stand and lay {words}"
    else:
        do = f"{name}: lay {words} more under each stand"
    side = "low" if plan.exact > 0 else "high"
    parts = tuple(PartUsed("stand shim", thick, count) for thick, count in sorted(Counter(stack).items()))
    return Step(
        "stand shims",
        tuple(setup.valves[index] for index in members),
        plan.group.name,
        do,
        f"{brief(abs(plan.exact), 'length', system)} too {side}",
        parts,
        edits,
    )


def _fitted(train: Train) -> float:
    """Return the stand shim that is there; none where the sheet does not say."""
    return 0.0 if train.shaft.stand_shim is None else train.shaft.stand_shim.value


def _what_follows(setup: Setup, members: Sequence[int], change: float) -> dict[str, str | None]:
    """Write what another stand shim moves at every valve of a shaft."""
    trains = list(setup.trains)
    for index in members:
        train = trains[index]
        shim = Measured(_fitted(train) + change, 0.0, "the plan", True)
        trains[index] = replace(train, shaft=replace(train.shaft, stand_shim=shim))
    after = with_stand_shims_tried(setup, replace(setup, trains=tuple(trains)))
    edits: dict[str, str | None] = {}
    for index in members:
        before, then = setup.trains[index], after.trains[index]
        for section, key, dimension in (
            ("shaft", "height", "length"),
            ("shaft", "setback", "length"),
            ("tappet", "setback", "length"),
            ("rocker", "socket_arm", "length"),
            ("rocker", "arm_angle", "angle"),
            ("adjuster", "exposure", "length"),
        ):
            old = getattr(getattr(before, section), key)
            new = getattr(getattr(then, section), key)
            if old is not None and new is not None and abs(new.value - old.value) > _SAME:
                edits[f"{before.name}.{section}.{key}"] = value_cell(
                    new.value, new.uncertainty, dimension, setup.units
                )
    return edits


def rocker_shim_steps(setup: Setup, center: Any, system: str) -> Iterator[Step]:
    """Move rockers over their stems, shims and spacers as the plan of the shafts has them."""
    rows = {} if center.shafts is None else _row_edits(setup, center.shafts)
    for index, valve in enumerate(setup.valves):
        moved = center.moved[index]
        offset, play = center.offset_after, center.end_clearance
        before = center.offset_before.value[index]
        if not moved and not abs(offset.value[index] - before) > _SAME:
            continue
        edits: dict[str, str | None] = {}
        for key, quantity in (("offset", offset), ("end_clearance", play)):
            if math.isfinite(quantity.value[index]):
                doubt = float(np.nan_to_num(quantity.uncertainty[index]))
                edits[f"{valve}.station.{key}"] = value_cell(
                    float(quantity.value[index]), doubt, "length", setup.units
                )
        if center.shafts is None:
            edits[f"{valve}.station.front_shims"] = lengths_cell(center.front_shims[index], setup.units)
            edits[f"{valve}.station.rear_shims"] = lengths_cell(center.rear_shims[index], setup.units)
        edits |= rows
        rows = {}
        do, then = center_action(center, index, system)
        if not do:
            continue
        used = Counter((*center.front_added[index], *center.rear_added[index]))
        used.subtract((*center.front_removed[index], *center.rear_removed[index]))
        parts = tuple(PartUsed("rocker shim", thick, count) for thick, count in sorted(used.items()) if count)
        yield Step("rocker shims", (valve,), "", do, then, parts, edits)


def _row_edits(setup: Setup, shafts: Any) -> dict[str, str | None]:
    """Write every row that changes part by part, as it stands afterward."""
    edits: dict[str, str | None] = {}
    for number, (before, after) in enumerate(zip(shafts.before, shafts.after, strict=True), 1):
        if before.parts == after.parts:
            continue
        words = [_word(part, kind, setup.units) for part, kind in zip(after.parts, after.kinds, strict=True)]
        listed = ", ".join(f'"{word}"' for word in words)
        edits[f"row.{number}.front"] = "[]"
        edits[f"row.{number}.each"] = f"[{listed}]"
        edits[f"row.{number}.rear"] = "[]"
    return edits


def _word(part: Any, kind: str, system: str) -> str:
    """Write one part of a row as `[[row]]` has it."""
    for name, attribute in (("shim", "thickness"), ("spacer", "width")):
        if type(part).__name__ == name.capitalize():
            length = lengths_cell((float(getattr(part, attribute)),), system)
            cut = "cut " if getattr(part, "can_be_cut", False) else ""
            return f"{cut}{name} {length}"
    # A wall's name tells its shaft and its number too.
    return next((word for word in kind.split() if word in ("stand", "collar", "end")), kind)


def spring_steps(setup: Setup, spring: Any, system: str) -> Iterator[Step]:
    """Shim and change springs as their plan has it; one that no shim helps is replaced."""
    for index, valve in enumerate(setup.valves):
        own = spring.plan.valves[index]
        do, then = spring_action(spring, index, system)
        if not do:
            continue
        if own.reason is not None:
            # The new spring gives what is wanted at the height that is there.
            gone: dict[str, str | None] = {f"{valve}.spring": None} if spring.spring[index] else {}
            yield Step(
                "springs",
                (valve,),
                "",
                do,
                "no stack of shims helps it",
                (PartUsed("spring", math.nan, 1),),
                gone,
            )
            continue
        edits: dict[str, str | None] = {}
        height = spring.installed_height_after
        edits[f"{valve}.spring.installed_height"] = value_cell(
            float(height.value[index]), float(np.nan_to_num(height.uncertainty[index])), "length", setup.units
        )
        edits[f"{valve}.spring.shims_fitted"] = lengths_cell(own.stack, setup.units)
        name = spring.spring_after[index]
        if spring.matched and name and name != spring.spring[index]:
            edits[f"{valve}.spring"] = name
        used = Counter(own.put_in)
        used.subtract(own.take_out)
        parts = tuple(PartUsed("spring shim", thick, count) for thick, count in sorted(used.items()) if count)
        yield Step("spring shims", (valve,), "", do, then, parts, edits)


def pushrod_steps(setup: Setup, pushrod: Any, system: str) -> Iterator[Step]:
    """Replace pushrods whose adjusters have no reserve."""
    plan = pushrod.plan
    for place, length in enumerate(plan.lengths):
        own = [
            index
            for index in range(len(setup.valves))
            if plan.chosen[index] == place and not plan.kept[index]
        ]
        if not own:
            continue
        edits: dict[str, str | None] = {}
        for index in own:
            valve = setup.valves[index]
            edits[f"{valve}.pushrod.length"] = value_cell(float(length), 0.0, "length", setup.units)
            if math.isfinite(plan.exposure[index]):
                edits[f"{valve}.adjuster.exposure"] = value_cell(
                    float(plan.exposure[index]), 0.0, "length", setup.units
                )
        stated = brief(plan.stated[place], "length", system)
        yield Step(
            "pushrods",
            tuple(setup.valves[index] for index in own),
            "",
            f"fit pushrods of {stated}",
            "their adjusters run out of thread",
            (PartUsed("pushrod", float(plan.stated[place]), len(own)),),
            edits,
        )


def cam_steps(setup: Setup, checks: Sequence[Check], system: str) -> Iterator[Step]:
    """Turn a cam that stands wrong; replace or regrind one whose lobes are worn."""
    for check in checks:
        if check.id == "cam_position" and check.verdict == "out":
            late, crank = check.value > 0, abs(math.degrees(check.value))
            doubt = 2 * math.degrees(check.uncertainty)
            yield Step(
                "cam",
                (),
                "",
                f"{'advance' if late else 'retard'} the cam by {crank:.1f} +-{doubt:.1f} crank degrees "
                f"({crank / 2:.1f} cam degrees), and read the degree wheel again",
                f"its lobes come {'late' if late else 'early'}",
                (),
                # It then stands as on its card, until the wheel is read again.
                {"tables.wheel": None},
            )
    made = lobe_lift_as_made(setup)
    worn = [check for check in checks if check.id == "lobe_wear" and check.verdict == "out" and check.valve]
    for check in worn:
        valve = str(check.valve)
        index = setup.valves.index(valve)
        measured = setup.trains[index].lobe.measured_lift
        doubt = 0.0 if measured is None else measured.uncertainty
        edits: dict[str, str | None] = {
            f"{valve}.lobe.measured_lift": value_cell(float(made.value[index]), doubt, "length", setup.units)
        }
        yield Step(
            "cam",
            (valve,),
            "",
            "read the lobe again; if it holds, regrind or replace the cam, with new tappets",
            f"{brief(check.value, 'length', system)} of lobe lift lost",
            (),
            edits,
        )


def lash_steps(setup: Setup, moved: set[str], system: str) -> Iterator[Step]:
    """Set the lash where it is off, or where work before has moved it; never at a valve not measured."""
    wanted = setup.column("lash", "wanted")
    limit = setup.limits["lash_deviation"]
    groups: dict[tuple[float, str, str], list[int]] = {}
    for index, train in enumerate(setup.trains):
        found = train.lash.lash
        if found is None or math.isnan(wanted.value[index]):
            continue
        off = found.value - float(wanted.value[index])
        if train.name in moved or not limit.low <= off <= limit.high:
            key = (float(wanted.value[index]), train.lash.at or "", train.lash.state or "")
            groups.setdefault(key, []).append(index)
    for (value, at, state), own in groups.items():
        known = setup.instruments.get("feeler", ("length", 0.0))[1]
        cell = value_cell(value, known, "length", setup.units)
        names = tuple(setup.valves[index] for index in own)
        place = f" at the {at}" if at else ""
        yield Step(
            "lash",
            names,
            "",
            f"set the lash {state}{place} to {brief(value, 'length', system)}".replace("  ", " "),
            "the work above moves it",
            (),
            {f"{name}.lash": cell for name in names},
        )
