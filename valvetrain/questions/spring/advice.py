"""Sentences on springs and shims, in the units asked for."""

import math

from valvetrain.mechanics.spring.shim_reasons import ShimReason
from valvetrain.questions.spring.drawer import ALIKE
from valvetrain.questions.spring.remarks import SpringNote
from valvetrain.questions.spring.shim_plan import ValveShims
from valvetrain.questions.spring.study import SpringResult
from valvetrain.setup.setup import Setup
from valvetrain.setup.units import shown

__all__ = [
    "cure_sentence",
    "height_sentence",
    "note_sentence",
    "purchase_sentence",
    "reason_sentence",
    "shim_steps",
]

_BLOCKED = {
    "would_bind": "the coils come closer to bind than allowed",
    "open_load": "the open load goes over its limit",
    "too_strong": "the seat load goes over its limit",
    "uneven": "it stands lower among the valves of its role than allowed",
}


def cure_sentence(setup: Setup, result: SpringResult, index: int, system: str) -> str:
    """Say what puts a valve's spring right: shims, other parts, or another spring."""
    own = result.plan.valves[index]
    if not own.planned:
        return ""
    if own.reason is not None:
        return reason_sentence(setup, result, index, system)
    swap = _swap(result, index)
    if not own.changed and not swap:
        return "No other stack from the stock does better than the one that is there."
    seat = shown(float(result.seat_load_after.value[index]), "force", system)
    bind = shown(float(result.bind_clearance_after.value[index]), "length", system)
    hardened = ", hardened" if own.hardened else ""
    if not own.changed:
        return f"{swap}; gives {seat} on the seat and {bind} to coil bind."
    if swap:
        # What other parts would do, they would do with the spring that is there now.
        return (
            f"{swap}. Spring shims: {shim_steps(own, system)}{hardened}; gives {seat} on the seat and {bind} "
            "to coil bind. Check coil bind again after."
        )
    return (
        f"Spring shims: {shim_steps(own, system)}{hardened}; gives {seat} on the seat and {bind} "
        f"to coil bind. {_instead(own, system)}Check coil bind again after."
    )


def height_sentence(setup: Setup, result: SpringResult, index: int, system: str) -> str:
    """Say what to do about a height apart from its role's where the plan leaves that spring alone."""
    then = float(result.installed_height_deviation_after.value[index])
    limit = setup.limits["installed_height_deviation"]
    if limit.low <= then <= limit.high:
        apart = shown(abs(then), "length", system)
        return (
            "Nothing is to be done here: once the others of its role stand as planned, it is "
            f"{apart} from their middle."
        )
    return (
        "Read it again. If it holds, its seat, stem or spring pocket was cut otherwise than the rest; "
        "`valvetrain spring --every` plans shims for an even set."
    )


def _swap(result: SpringResult, index: int) -> str:
    """Say which tested spring comes in place of which; empty where it stays, or where none is fitted yet."""
    before, after = result.spring[index], result.spring_after[index]
    if not result.matched or result.judged_as_planned or not after or before == after:
        return ""
    if not before:
        return f"Fit spring {after}"
    to = [valve for valve, name in zip(result.valves, result.spring_after, strict=True) if name == before]
    where = f"goes to {to[0]}" if to else "is left over"
    return f"Fit spring {after} in place of {before}, which {where}"


def shim_steps(own: ValveShims, system: str) -> str:
    """Say what is fitted now, what comes out, what goes in, and the stack in all."""
    if not own.fitted:
        return f"put in {_stack(own.put_in, system)}, in all {_total(own.stack, system)}"
    steps = [f"fitted now {_stack(own.fitted, system)}"]
    if own.take_out:
        steps.append(f"take out {_stack(own.take_out, system)}")
    if own.put_in:
        steps.append(f"put in {_stack(own.put_in, system)}")
    steps.append(f"in all {_total(own.stack, system)}" if own.stack else "no shim left under it")
    return ", ".join(steps)


def reason_sentence(setup: Setup, result: SpringResult, index: int, system: str) -> str:
    """Say why no stack helps, and what would."""
    own = result.plan.valves[index]
    reason = own.reason
    if reason is None:
        return ""
    if reason.code == "unmeasured":
        return f"No shims are chosen: not measured is the {' and the '.join(reason.unknown)}."
    if reason.wrong_spring:
        return _wrong_spring(setup, result, index, reason, system)
    low, high = (shown(each, "length", system) for each in (reason.thickness_low, reason.thickness_high))
    if reason.code == "stack_limit":
        return (
            f"The lowest seat load needs {low} of shims, more than one stack may have. "
            f"{_instead(own, system)}".rstrip()
        )
    if reason.code == "not_hardened":
        return f"Needs {low} to {high} of hardened shims: the stock makes that only with soft ones. Buy some."
    if reason.code == "out_of_stock":
        return _bought(result, index, system)
    needs = f"Needs {low} to {high} of shims, and the stock makes no stack in between."
    return f"{needs} {_instead(own, system)}".rstrip()


def _bought(result: SpringResult, index: int, system: str) -> str:
    """Say what to buy, and what this valve then stands on and gives."""
    purchase = result.purchase
    if purchase is None:
        return "The shims it needs are used up at other valves."
    load = shown(float(purchase.seat_load.value[index]), "force", system)
    spring = f" spring {purchase.spring[index]}" if result.matched and purchase.spring[index] else ""
    return (
        f"The drawer lacks the shims it needs: buy {shopping_list(result, system)}. Then put{spring} on "
        f"{_stack(purchase.plan.valves[index].stack, system)}: {load} on the seat."
    )


def shopping_list(result: SpringResult, system: str) -> str:
    """What to buy: number, thickness and hardness of the shims; empty where nothing is."""
    hard = {True: ", hardened", False: ", not hardened", None: ""}
    return ", ".join(
        f"{each.number} of {shown(each.thickness, 'length', system)}{hard[each.hardened]}"
        for each in result.plan.to_buy
    )


def purchase_sentence(result: SpringResult, system: str) -> str:
    """Say what a purchase puts right, beside the plan without it; empty where nothing is to be bought."""
    if result.purchase is None:
        return ""
    words = ("outside a limit", "inside by less than their doubt", "off the load wanted")
    without, then = result.plan.faults, result.purchase.plan.faults
    told = [
        f"{before} {what} without, {after} with"
        for what, before, after in zip(words, without, then, strict=True)
        if before or after
    ]
    return f"To buy, beyond the drawer: {shopping_list(result, system)}. Valves {'; '.join(told)}."


def _wrong_spring(setup: Setup, result: SpringResult, index: int, reason: ShimReason, system: str) -> str:
    """Say that another spring is wanted, and how this one compares."""
    name = f" {result.spring_after[index]}" if result.spring_after[index] else ""
    load = float(result.seat_load_after.value[index])
    least = setup.limits["seat_load"].low
    if reason.code != "too_strong" and load < least:
        height = shown(float(result.installed_height_after.value[index]), "length", system)
        what = (
            f"No shim helps: spring{name} is too weak, or the wrong one: {shown(load, 'force', system)} at "
            f"{height}. Replace it with one that gives {_wanted(setup, index, system)} there. With this one"
        )
        if math.isfinite(reason.thickness_low):
            low = shown(reason.thickness_low, "length", system)
            high = shown(max(reason.thickness_high, 0.0), "length", system)
            why = f"the lowest seat load needs {low} of shims, and above {high} {_BLOCKED[reason.code]}"
        else:
            why = "the coils close before the lowest seat load is reached"
        breaks = "" if reason.code == "uneven" else " A spring shimmed up to its load in that way breaks."
        return f"{what} {why}.{breaks}"
    if reason.code == "uneven":
        height = shown(float(result.installed_height_after.value[index]), "length", system)
        return (
            f"Spring{name} gives {shown(load, 'force', system)} at {height}, and wanted is "
            f"{_wanted(setup, index, system)}. Shims up to that load would set it lower among the valves of "
            "its role than allowed: left as it is. Fit another spring for an even set."
        )
    if reason.thickness_high < 0 and math.isfinite(reason.thickness_high):
        more = shown(-reason.thickness_high, "length", system)
        return (
            f"Without any shim {_BLOCKED[reason.code]}: it must stand {more} higher. Take a taller retainer "
            f"or keepers, or machine the seat deeper by that much; else fit another spring."
        )
    return (
        f"No shim helps: without any, {_BLOCKED.get(reason.code, 'a limit is broken')}. Fit another spring."
    )


def _wanted(setup: Setup, index: int, system: str) -> str:
    """Write the seat load that is wanted, and what is allowed."""
    limit = setup.limits["seat_load"]
    low, high = (shown(each, "force", system) for each in (limit.low, limit.high))
    allowed = f"{low} to {high}" if math.isfinite(limit.high) else f"{low} or more"
    target = float(setup.column("spring", "seat_load_target").value[index])
    return allowed if math.isnan(target) else f"{shown(target, 'force', system)} (allowed: {allowed})"


def _instead(own: ValveShims, system: str) -> str:
    """Say what other parts, or the seat, would do instead."""
    low, high = own.higher_low, own.higher_high
    if math.isnan(low) or (low <= ALIKE and high >= -ALIKE):
        return ""
    if low > 0:
        span = f"{shown(low, 'length', system)} to {shown(high, 'length', system)}"
        text = f"Instead: a taller retainer or keepers, or a seat cut deeper, by {span}"
    else:
        span = f"{shown(-high, 'length', system)} to {shown(-low, 'length', system)}"
        text = f"Instead: a lower retainer or keepers, by {span}"
    for kind, step in own.other_parts:
        size = shown(abs(step), "length", system)
        text += f"; in stock: {kind} {'+' if step > 0 else '-'}{size}"
    return f"{text}. "


def _stack(shims: tuple[float, ...], system: str) -> str:
    return " + ".join(shown(each, "length", system) for each in shims) or "none"


def _total(shims: tuple[float, ...], system: str) -> str:
    return shown(sum(shims), "length", system)


def note_sentence(note: SpringNote, system: str) -> str:
    """Write a remark on the figures given."""
    name, words = note.name, note.words

    def say(place: int, dimension: str) -> str:
        return shown(note.values[place], dimension, system)

    if note.kind == "rate_apart":
        return (
            f"Spring {name} has a rate of {say(0, 'stiffness')}, the set {say(1, 'stiffness')}: mixed "
            "springs? Check its readings, or leave it out of the set."
        )
    if note.kind == "load_apart":
        what = "weaker" if note.values[0] < note.values[2] else "stronger"
        return (
            f"Spring {name} is {what} than its set: {say(0, 'force')} at {say(1, 'length')}, the others "
            f"{say(2, 'force')}. Mixed, tired or wrong? Test it again, or leave it out."
        )
    if note.kind == "figures_apart":
        first, second = ("as written" if word == "rate" else f"by its {word}" for word in words)
        return (
            f"Spring {name}: the rate {first} is {say(0, 'stiffness')}, {second} {say(1, 'stiffness')}. One "
            "of them is wrong, or of another spring; the first is used."
        )
    if note.kind == "catalog_apart":
        return (
            f"Spring {name}: the catalog says {say(0, 'force')} at {say(1, 'length')}, rate and free length "
            f"make {say(2, 'force')}. One of them is of another spring."
        )
    if note.kind == "solid_apart":
        return (
            f"Spring {name}: solid height {say(0, 'length')} was given, its wire and coils (closed, ground "
            f"ends) make {say(1, 'length')}. Measure it in the tester."
        )
    if note.kind == "bends":
        return (
            f"Spring {name}: its rate grows from {say(0, 'stiffness')} to {say(1, 'stiffness')} over the "
            'tested heights, and a straight line is drawn through them. Say kind = "progressive", or write '
            "it into the column kind of its table; linear there ends this remark."
        )
    if note.kind == "two_heights":
        return f"Spring {name} is said to be progressive, and was tested at two heights: taken as straight."
    if note.kind == "outside_tests":
        return (
            f"Valve {name}: its progressive spring works from {say(0, 'length')} to {say(1, 'length')}, and "
            f"was tested from {say(2, 'length')} to {say(3, 'length')}. Test it over its whole travel."
        )
    if note.kind == "open_apart":
        spring = f" {words[1]}" if words[1] else ""
        return (
            f"Valve {name}: its spring{spring} opens at {say(0, 'force')}, those of the other "
            f"{words[0]} valves at {say(1, 'force')}, alike on the seat. Another spring, or "
            "a reading that is wrong?"
        )
    if note.kind == "beyond_travel":
        spring = f" of spring {words[0]}" if words[0] else ""
        return (
            f"Valve {name}: full lift {say(0, 'length')} is more than the travel{spring} to solid, "
            f"{say(1, 'length')}. Do not turn the engine over."
        )
    if note.kind == "index":
        return (
            f"Spring {name}: coil over wire diameter is {note.values[0]:.1f}; rate and stress by its wire "
            "are trusted from 4 to 12. Are the diameters right?"
        )
    if note.kind == "interference":
        outer, inner = (each.replace("_", " ") for each in words)
        return (
            f"Valves {name}: {inner} and {outer} press on each other by {say(0, 'length')} on diameter. "
            "Meant to damp? If not, they are springs of different sets."
        )
    if note.kind == "wanted_outside":
        return (
            f"Valves {name}: the seat load wanted, {say(0, 'force')}, is outside what is allowed, "
            f"{say(1, 'force')} to {say(2, 'force')}, and the plan keeps to what is allowed. Put the maker's "
            "own range into [limits] seat_load, or want another load."
        )
    if note.kind == "buckles":
        return (
            f"Valves {name}: the {words[0].replace('_', ' ')} is so slender that between flat seats it bows "
            f"out sideways below a height of {say(0, 'length')}; full lift takes it to {say(1, 'length')}. "
            "It will rub: a wider or a shorter spring, or one that is guided."
        )
    return f"Valves {name}: the {words[0].replace('_', ' ')} stands above its free length: it hangs loose."
