"""How the spring's numbers come about."""

from collections.abc import Callable, Mapping
from dataclasses import replace
from typing import Any

import numpy as np

from valvetrain.answers.explanation import Explanation, Plain
from valvetrain.questions.spring.explain_line import Told, spring_line
from valvetrain.questions.spring.explain_planned import PLANNED
from valvetrain.questions.spring.explain_stress import STRESSES
from valvetrain.setup.setup import Setup

__all__ = ["EXPLANATIONS"]

_LINE = "straight line through the load tests (least squares), or catalog figures, or the wire"
_NAMES = {"spring": "outer spring", "middle_spring": "middle spring", "inner_spring": "inner spring"}
_SET_NOTE = "The springs of a set stand side by side: their loads and rates add up."
_AS_PLANNED = "springs and shims as planned"


def _planned_line(name: str) -> Told:
    """Line of the spring that the plan puts on the valve, as fitted."""

    def coefficient(key: str) -> Callable[[Setup, Any, int], float]:
        return lambda setup, result, index: float(result.inputs[f"spring.{key}"].value[index])

    where = f"line through the load tests of spring {name}" if name else "no spring is placed on this valve"
    symbols: dict[str, str | Plain] = {
        "a": Plain("spring", "load at the middle height tested", "force", coefficient("load"), where),
        "b": Plain("spring", "rate", "stiffness", coefficient("rate"), where),
        "x": Plain("spring", "middle height tested", "length", coefficient("load_height"), where),
    }
    return Told(symbols, (), _LINE, "The springs are on no valve yet: this is the one that the plan puts on.")


def _loaded(
    own: Explanation, at: str, after: bool, alone: bool = False
) -> Callable[[Setup, Mapping[str, Any], int], Explanation]:
    """Explain the load, or the rate, of a valve's springs at a height; `at` is the height's formula.

    With `alone` the outer spring's only.
    """
    rate = own.name.removeprefix("break_in_").startswith("rate")

    def told(setup: Setup, results: Mapping[str, Any], index: int) -> Explanation:
        result = results["spring"]
        symbols = dict(own.symbols)
        steps: list[tuple[str, str]] = []
        notes, publications, terms = [own.note], [], []
        sections = result.curves.sections[: 1 if alone else None]
        for number, section in enumerate(sections, 1):
            mark = "" if len(sections) == 1 else str(number)
            bench = after and result.judged_as_planned and section == "spring"
            line = (
                _planned_line(result.spring_after[index])
                if bench
                else spring_line(setup, result, section, index, mark)
            )
            if line.read_off:
                return _read_off(own, line, at, rate)
            symbols |= line.symbols
            steps.extend(line.steps)
            height = at
            if section != "spring":
                symbols |= {f"s{mark}": f"{section}.seat_step", f"r{mark}": f"{section}.retainer_step"}
                height = f"{at} - either(s{mark}, 0) - either(r{mark}, 0)"
            term, more = _term(height, mark, line.bent, rate)
            steps.extend(more)
            terms.append(term)
            notes.append(line.note)
            publications.append(line.publication)
        if len(sections) > 1:
            notes.append(_SET_NOTE)
        return replace(
            own,
            symbols=symbols,
            steps=(*steps, (own.name, " + ".join(terms))),
            publication="; ".join(dict.fromkeys(publications)),
            note=" ".join(each for each in dict.fromkeys(notes) if each),
        )

    return told


def _term(height: str, mark: str, bent: bool, rate: bool) -> tuple[str, tuple[tuple[str, str], ...]]:
    """Return load or rate of one spring at a height, and the steps before it."""
    a, b, c, u, load = (f"{each}{mark}" for each in ("a", "b", "c", "u", "F"))
    above = f"{height} - x{mark}"
    # A parabola goes no further than to where it is level.
    first = (u, f"where({c} > 0, min({above}, v{mark}), {above})" if bent else above)
    force = f"{a} - {b}*{u} + {c}*{u}^2" if bent else f"{a} - {b}*{u}"
    if not rate:
        return f"max({load}, 0)", (first, (load, force))
    slope = f"{b} - 2*{c}*{u}" if bent else b
    return f"where({load} < 0, 0, {slope})", (first, (load, force))


def _read_off(own: Explanation, line: Told, at: str, rate: bool) -> Explanation:
    """Explain what is read off a conical spring's curve."""
    return replace(
        own,
        symbols={**own.symbols, **line.symbols},
        steps=(),
        note=f"{line.note} {'Its slope is read' if rate else 'Read'} at a height of {at}.",
        publication=line.publication,
    )


def _load(name: str, doc: str, at: str, check: str = "") -> Explanation:
    """Explain a load or a rate at installed height, or at full lift."""
    after = name.endswith("_after")
    symbols: dict[str, str | Plain] = {"H": f"spring:installed_height{'_after' if after else ''}"}
    if "L" in at:
        symbols["L"] = "rocker:net_lift"
    note = f"With {_AS_PLANNED}." if after else ""
    own = Explanation(name, "spring", doc, symbols, (), _LINE, note, check)
    return replace(own, at=_loaded(own, at, after))


def _middle(setup: Setup, result: Any, index: int) -> float:
    """Median of the installed heights of a valve's role."""
    heights = result.installed_height.value[np.array(setup.roles) == setup.roles[index]]
    return float(np.nanmedian(heights)) if not np.isnan(heights).all() else np.nan


def _broken_in(name: str, doc: str, at: str) -> Explanation:
    """Explain a load or the rate of the outer spring alone."""
    symbols: dict[str, str | Plain] = {"H": Plain("spring", "installed height", "length", _stands)}
    if "L" in at:
        symbols["L"] = "rocker:net_lift"
    own = Explanation(name, "spring", doc, symbols, (), _LINE, "The inner springs are out for the break-in.")

    def told(setup: Setup, results: Mapping[str, Any], index: int) -> Explanation:
        if results["spring"].break_in is None:
            return replace(own, note="The springs are single: there is nothing to take out.")
        return _loaded(own, at, results["spring"].judged_as_planned, alone=True)(setup, results, index)

    return replace(own, at=told)


def _stands(setup: Setup, result: Any, index: int) -> float:
    """Installed height: as planned where the springs are on no valve yet."""
    height = result.installed_height_after if result.judged_as_planned else result.installed_height
    return float(height.value[index])


def _bind(name: str, doc: str, check: str = "") -> Explanation:
    """Explain what is left to coil bind."""
    after = name.endswith("_after")
    own = Explanation(
        name,
        "spring",
        doc,
        {
            "H": f"spring:installed_height{'_after' if after else ''}",
            "L": "rocker:net_lift",
            "S": "spring.solid_height",
        },
        ((name, "H - L - S"),),
        "definition",
        f"With {_AS_PLANNED}." if after else "",
        check,
    )

    def told(setup: Setup, results: Mapping[str, Any], index: int) -> Explanation:
        symbols, ends = dict(own.symbols), ["S"]
        for number, section in enumerate(results["spring"].curves.sections[1:], 2):
            symbols |= {
                f"S{number}": f"{section}.solid_height",
                f"s{number}": f"{section}.seat_step",
                f"r{number}": f"{section}.retainer_step",
            }
            ends.append(f"S{number} + either(s{number}, 0) + either(r{number}, 0)")
        if len(ends) == 1:
            return own
        note = f"{own.note} The first spring of the set to go solid counts.".strip()
        return replace(own, symbols=symbols, steps=((name, f"H - L - max({', '.join(ends)})"),), note=note)

    return replace(own, at=told)


def _to_middle(name: str) -> Explanation:
    return Explanation(
        name,
        "spring",
        "installed height against the middle of its role",
        {
            "H": "spring:installed_height",
            "M": Plain("spring", "median of the installed heights of this role", "length", _middle),
        },
        ((name, "H - M"),),
        "definition",
        "",
        "installed_height_deviation",
    )


_SUNK: dict[str, str | Plain] = {"w": "spring.seat_recession"}


def _lowered(setup: Setup, result: Any, index: int) -> float:
    """Return how much lower the plan's shims leave the spring."""
    found = np.broadcast_to(result.plan.lowered, len(setup.valves))
    return float(found[index])


def _clear(name: str, doc: str, key: str) -> Explanation:
    """Explain the clearance of the retainer at full lift."""
    return Explanation(
        name,
        "spring",
        doc,
        {"R": f"spring.{key}", "L": "rocker:net_lift", **_SUNK},
        ((name, "R + either(w, 0) - L"),),
        "definition",
        "",
        name,
    )


EXPLANATIONS = (
    *PLANNED,
    _load("seat_load", "spring load with the valve closed", "H", "seat_load"),
    _load("open_load", "spring load at full lift", "H - L", "open_load"),
    _bind("bind_clearance", "what is left before the coils touch, at full lift", "bind_clearance"),
    _clear("retainer_clearance", "retainer to seal, at full lift", "retainer_to_seal"),
    _clear("guide_clearance", "retainer to the guide, at full lift", "retainer_to_guide"),
    _to_middle("installed_height_deviation"),
    _load("rate", "spring rate at the seat", "H"),
    _load("rate_open", "spring rate at full lift", "H - L"),
    Explanation(
        "installed_height",
        "spring",
        "spring seat, on top of the shims, to the retainer",
        {"h": "spring.installed_height", **_SUNK},
        (("installed_height", "h + either(w, 0)"),),
        "measured",
        "As measured, plus what seat work sinks the valve.",
    ),
    Explanation(
        "stem_height_after_work",
        "spring",
        "spring seat to valve tip after the seat work",
        {"h": "valve.stem_height", **_SUNK, "t": "spring.tip_ground"},
        (("stem_height_after_work", "h + either(w, 0) - either(t, 0)"),),
        "definition",
        "Stem height plus what the valve is sunk less what the tip is ground.",
    ),
    Explanation(
        "open_load_following",
        "spring",
        "load at full lift that follows the valve down",
        {"F": "spring:open_load", "f": "spring.damper_friction"},
        (("open_load_following", "max(F - f, 0)"),),
        "definition: the damper rubs against the motion, so that its friction holds the valve up",
    ),
    Explanation(
        "installed_height_after",
        "spring",
        f"installed height, with {_AS_PLANNED}",
        {
            "h": "spring.installed_height",
            **_SUNK,
            "t": Plain("spring", "lower by, with the shims of the plan", "length", _lowered),
        },
        (("installed_height_after", "h + either(w, 0) - t"),),
        "definition",
    ),
    _load("rate_after", f"spring rate, with {_AS_PLANNED}", "H"),
    _load("seat_load_after", f"seat load, with {_AS_PLANNED}", "H"),
    _load("open_load_after", f"open load, with {_AS_PLANNED}", "H - L"),
    _bind("bind_clearance_after", f"bind clearance, with {_AS_PLANNED}"),
    *STRESSES,
    _broken_in("break_in_seat_load", "seat load with the outer spring alone", "H"),
    _broken_in("break_in_open_load", "open load with the outer spring alone", "H - L"),
    _broken_in("break_in_rate", "rate of the outer spring alone", "H"),
    Explanation(
        "break_in_limit",
        "spring",
        "crank speed at which the train leaves its lobe with the outer spring alone",
        {"F": "spring:break_in_seat_load", "k": "spring:break_in_rate"},
        (),
        "own derivation: as control.limit_speed",
        "Least speed over the nose, as `control` explains its limit_speed, with this load and rate.",
    ),
    Explanation(
        "break_in_margin",
        "spring",
        "that speed over the break-in speed, less 1",
        {"n": "spring:break_in_limit", "N": "engine.break_in_speed"},
        (("break_in_margin", "n/N - 1"),),
        "definition",
        "",
        "break_in_margin",
        in_si=True,
    ),
)
