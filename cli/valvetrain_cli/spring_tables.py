"""The springs as tables on a terminal: as they are, the plan to work by, stress, surge and break-in."""

from collections.abc import Sequence
from typing import TYPE_CHECKING

import numpy as np
from rich.text import Text

from valvetrain.answers.quantity import Quantity
from valvetrain.answers.verdict import Check
from valvetrain.questions.spring.checks import SHIMMED, planned_verdicts
from valvetrain.questions.spring.study import SpringResult, spread
from valvetrain.setup.units import display_unit, shown
from valvetrain_cli.tables import SIGNS, STYLES, console, print_hanging, print_table, verdict_cells

if TYPE_CHECKING:
    from valvetrain.questions.spring.stress import SpringStressResult

__all__ = ["print_further", "print_plan", "print_springs"]

_WIRE_CHECKS = ("goodman_safety", "solid_stress", "surge_order")
_SETS = {"shigley": "Shigley's constants", "fe_handbook": "those of the FE Reference Handbook"}


def print_springs(result: SpringResult, checks: list[Check], system: str) -> None:
    """Print loads and clearances of every valve's spring, and what looks wrong in the figures given."""
    if result.judged_as_planned:
        # Springs that are on no valve yet: the plan is all there is to show.
        _print_plan_table(result, verdict_cells(checks, result.valves), system)
    else:
        _print_as_they_are(result, checks, system)
    _print_figure_notes(result, system)


def _print_figure_notes(result: SpringResult, system: str) -> None:
    """Print the remarks on the figures given, of which one may spoil every other answer."""
    if not result.notes:
        return
    from valvetrain.questions.spring.advice import note_sentence

    out = console()
    out.print(Text("In the figures given of the springs", style="bold"))
    for note in sorted(result.notes, key=lambda one: (one.kind, one.name)):
        print_hanging(out, "  [ ] ", note_sentence(note, system))


def _print_as_they_are(result: SpringResult, checks: list[Check], system: str) -> None:
    length, force = display_unit("length", system), display_unit("force", system)
    columns: list[tuple[str, Quantity | Sequence[str]]] = []
    if any(result.spring):
        columns.append(("spring", [each or "-" for each in result.spring]))
    columns += [
        ("installed height", result.installed_height),
        ("rate", result.rate),
        ("seat load", result.seat_load),
        ("open load", result.open_load),
        ("to coil bind", result.bind_clearance),
    ]
    for name, quantity in (("to seal", result.retainer_clearance), ("to guide", result.guide_clearance)):
        if not np.isnan(quantity.value).all():
            columns.append((name, quantity))
    if not np.isnan(result.open_load_following.value).all():
        columns.append(("open less friction", result.open_load_following))
    if result.sunk:
        columns.append(("stem height after work", result.stem_height_after_work))
    print_table(
        f"Springs as they are: lengths in {length}, loads in {force}, rate in "
        f"{display_unit('stiffness', system)}",
        result.valves,
        columns,
        system,
        verdict_cells(checks, result.valves),
    )


def print_plan(result: SpringResult, checks: list[Check], system: str) -> None:
    """Print what to do at each valve, the spread of the loads, and what to buy."""
    out = console()
    plans = result.plan.valves
    if not result.judged_as_planned and (result.matched or any(each.changed for each in plans)):
        verdicts = [Text(SIGNS[each], style=STYLES[each]) for each in planned_verdicts(checks, result)]
        _print_plan_table(result, verdicts, system)
    elif not any(each.planned for each in plans):
        out.print("No spring needs another stack of shims; --every plans them all for the most even set.")
    for role, now in spread(result.seat_load, result.roles).items():
        then = spread(result.seat_load_after, result.roles)[role]
        if np.isnan(then):
            continue
        text = f"Seat loads of the {role} valves spread over {shown(then, 'force', system)} as planned"
        text += "." if np.isnan(now) else f", {shown(now, 'force', system)} now."
        out.print(Text(text))
    for index, each in enumerate(plans):
        if each.reason is None or not each.reason.wrong_spring or result.valves[index] in _told(checks):
            continue
        load = shown(float(result.seat_load_after.value[index]), "force", system)
        name = f" {result.spring_after[index]}" if result.spring_after[index] else ""
        text = f"{result.valves[index]}: spring{name} gives {load} there, and no shim puts that right"
        print_hanging(out, "", f"{text}: fit another spring.")
    if result.trouble:
        print_hanging(out, "", f"The springs were not matched: {result.trouble}")
    if result.left_over:
        print_hanging(out, "", f"Springs left over: {', '.join(sorted(result.left_over, key=_by_number))}.")
    if result.purchase is not None:
        from valvetrain.questions.spring.advice import purchase_sentence

        print_hanging(out, "", purchase_sentence(result, system))
        _print_purchase(result, system)
    if not result.plan.proved:
        print_hanging(out, "", "There was no time to prove that no plan is better than this one.")


def _print_purchase(result: SpringResult, system: str) -> None:
    """Print what every valve stands on and gives once the shims are bought."""
    found = result.purchase
    assert found is not None
    columns: list[tuple[str, Quantity | Sequence[str]]] = []
    if result.matched:
        columns.append(("spring", [each or "-" for each in found.spring]))
    columns += [
        (
            "shims",
            [
                " + ".join(_bare(one, "length", system) for one in each.stack) or "-"
                for each in found.plan.valves
            ],
        ),
        ("height", found.installed_height),
        ("seat load", found.seat_load),
        ("open load", found.open_load),
        ("to bind", found.bind_clearance),
    ]
    length, force = display_unit("length", system), display_unit("force", system)
    title = f"Plan with these bought; lengths in {length}, loads in {force}"
    print_table(title, result.valves, columns, system)


def _told(checks: list[Check]) -> set[str | None]:
    """Return the valves at which the list of work says what to do with the spring."""
    return {each.valve for each in checks if each.id in SHIMMED and each.verdict == "out"}


def _print_plan_table(result: SpringResult, verdicts: Sequence[Text], system: str) -> None:
    """Print what to do at each valve, and what it gives."""
    plans = result.plan.valves
    length, force = display_unit("length", system), display_unit("force", system)

    def stack(shims: tuple[float, ...]) -> str:
        return " + ".join(_bare(each, "length", system) for each in shims) or "-"

    columns: list[tuple[str, Quantity | Sequence[str]]] = []
    if result.matched:
        columns.append(("spring", [each or "-" for each in result.spring_after]))
    columns += [
        ("shims now", [stack(each.fitted) for each in plans]),
        ("take out", [stack(each.take_out) for each in plans]),
        ("put in", [stack(each.put_in) for each in plans]),
        ("in all", [_bare(sum(each.stack), "length", system) if each.stack else "-" for each in plans]),
        ("height", result.installed_height_after),
        ("seat load", result.seat_load_after),
        ("open load", result.open_load_after),
        ("to bind", result.bind_clearance_after),
    ]
    name = "Plan: springs and shims" if result.matched else "Plan: shims"
    title = f"{name}; lengths in {length}, loads in {force}; what it gives, and the verdict then"
    print_table(title, result.valves, columns, system, verdicts)


def print_further(result: SpringResult, checks: list[Check], system: str) -> None:
    """Print the springs of a set, stress, surge and break-in, where the sheet has it."""
    out = console()
    _print_members(result, system)
    for each in result.stress.values():
        _print_stress(each, checks, system)
    for surge in result.surge.values():
        strongest = np.argsort(-surge.met_amplitude)[:4]
        met = ", ".join(
            f"order {surge.met_order[each]:.0f} at {shown(surge.met_speed[each], 'rotation', system)} "
            f"({_amplitude(surge.met_amplitude[each], system)})"
            for each in sorted(strongest, key=lambda one: -surge.met_speed[one])
        )
        name = surge.section.replace("_", " ")
        text = f"{surge.role} {name} ({surge.valve}), {surge.frequency:.0f} Hz: "
        text += (
            f"strongest harmonics of the lift that meet it up to the redline: {met}."
            if met
            else "meets none."
        )
        print_hanging(out, "  ", f"Surge, {text}")
    _print_break_in(result, checks, system)


def _print_members(result: SpringResult, system: str) -> None:
    """Print each spring of the set by itself."""
    if not result.members:
        return
    length, force = display_unit("length", system), display_unit("force", system)
    columns: list[tuple[str, Quantity | Sequence[str]]] = []
    for section, own in result.members.items():
        name = {"spring": "outer", "middle_spring": "middle", "inner_spring": "inner"}[section]
        columns += [
            (f"{name} seat", own["seat_load"]),
            (f"{name} open", own["open_load"]),
            (f"{name} to bind", own["bind_clearance"]),
        ]
    print_table(
        f"Each spring of the set: loads in {force}, to coil bind in {length}", result.valves, columns, system
    )


def _print_stress(result: "SpringStressResult", checks: list[Check], system: str) -> None:
    """Print stress and natural frequency of one spring."""
    from valvetrain.questions.spring.stress import CONSTANT_SET, OTHER_SET

    unit = display_unit("pressure", system)
    name = result.section.replace("_", " ")
    own = [check for check in checks if check.id in _WIRE_CHECKS and check.quantity.endswith(f"({name})")]
    print_table(
        f"Stress and surge of the {name}: stress in {unit}, safety by Goodman and Sines, solid in %",
        result.valves,
        [
            ("seat", result.stress_seat),
            ("open", result.stress_open),
            ("alternating", result.stress_alternating),
            ("Goodman", result.goodman_safety),
            ("Sines", result.sines_safety),
            ("solid", result.solid_stress),
            ("Hz", result.surge_frequency),
            ("order at redline", result.surge_order),
        ],
        system,
        verdict_cells(own, result.valves),
    )
    known = result.goodman_safety_other.value[~np.isnan(result.goodman_safety_other.value)]
    if known.size:
        ours = np.nanmin(result.goodman_safety.value)
        strength = shown(float(np.nanmin(result.tensile_strength.value)), "pressure", system)
        print_hanging(
            console(),
            "  ",
            f"Shear stress by Bergstraesser's factor; endurance by Zimmerli; tensile strength {strength} by "
            f"{_SETS[CONSTANT_SET]}. Least Goodman safety {ours:.2f}; by {_SETS[OTHER_SET]}, which rate the "
            f"wire differently, {known.min():.2f}. A surface that is not given counts as unpeened.",
        )


def _print_break_in(result: SpringResult, checks: list[Check], system: str) -> None:
    """Print the outer springs alone."""
    found = result.break_in
    if found is None:
        return
    force, speed = display_unit("force", system), display_unit("rotation", system)
    own = [check for check in checks if check.id == "break_in_margin"]
    asked = f", held against {shown(found.speed, 'rotation', system)}" if np.isfinite(found.speed) else ""
    print_table(
        f"Break-in with the inner springs out: loads in {force}, speeds in {speed}{asked}",
        result.valves,
        [
            ("seat load", found.break_in_seat_load),
            ("open load", found.break_in_open_load),
            ("keeps control to", found.break_in_limit),
        ],
        system,
        verdict_cells(own, result.valves) if own else None,
    )
    if np.isnan(found.break_in_limit.value).all():
        print_hanging(
            console(),
            "  ",
            "Control at the break-in speed is not measured: [masses] and the lobe are needed.",
        )
    elif not np.isfinite(found.speed):
        print_hanging(console(), "  ", "Give [engine] break_in_speed for a verdict.")


def _amplitude(value: float, system: str) -> str:
    """Write a harmonic's amplitude, which may be far below what a shop reads."""
    from valvetrain.setup.units import from_si

    return f"{from_si(float(value), 'length', system):.1e} {display_unit('length', system)}"


def _bare(value: float, dimension: str, system: str) -> str:
    return shown(value, dimension, system).removesuffix(f" {display_unit(dimension, system)}")


def _by_number(name: str) -> tuple[int, str]:
    digits = "".join(each for each in name if each.isdigit())
    return int(digits or 0), name
