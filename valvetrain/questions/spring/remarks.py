"""What looks wrong in the figures given of the springs: mixed springs, figures that contradict each other."""

import dataclasses
import itertools
from collections.abc import Iterator, Mapping
from dataclasses import dataclass

import numpy as np

from valvetrain.answers.quantity import Quantity
from valvetrain.parts.measured import Measured
from valvetrain.parts.spring import CoilSpring, LoadTest, SpringTester
from valvetrain.questions.spring.curves import SPRINGS, corrected, fitted_line, given, kind_of
from valvetrain.questions.spring.wire import ELASTIC_MODULUS, shear_modulus, wire_rate
from valvetrain.setup.setup import Setup

__all__ = ["SpringNote", "rates_given", "spring_notes"]

# Springs of one set, and figures of one spring, that differ by more than this are remarked on: springs are
# sold to about +-10 % (common practice, no source).
APART = 0.10
_SURE = 2.0


@dataclass(frozen=True)
class SpringNote:
    """One remark; words and units come with `valvetrain.questions.spring.advice.note_sentence`.

    Attributes:
        kind: "rate_apart", "load_apart", "figures_apart", "catalog_apart", "solid_apart", "bends",
            "two_heights", "outside_tests", "open_apart", "beyond_travel", "index", "interference", "loose",
            "buckles" or "wanted_outside".
        name: the spring, or the valves, that it is about.
        values: numbers that the sentence needs [SI], in the order it says.
        words: words that it needs.
    """

    kind: str
    name: str
    values: tuple[float, ...] = ()
    words: tuple[str, ...] = ()


def spring_notes(setup: Setup, now: Mapping[str, Quantity], lift: Quantity) -> list[SpringNote]:
    """Return every remark, each once.

    Args:
        setup: the setup.
        now: quantities of `spring_study` as the springs stand.
        lift: full net lift of the valves.
    """
    notes: dict[SpringNote, None] = {}
    for springs in dict.fromkeys(setup.tested_springs):
        notes |= dict.fromkeys(_set_notes(springs, setup.spring_tester))
    notes |= dict.fromkeys(_all_figure_notes(setup))
    notes |= dict.fromkeys(_wanted_notes(setup))
    notes |= dict.fromkeys(_travel_notes(setup, now))
    notes |= dict.fromkeys(_open_notes(setup, now))
    notes |= dict.fromkeys(_nesting_notes(setup))
    notes |= dict.fromkeys(_buckling_notes(setup, now["installed_height"].value - lift.value))
    return list(notes)


def rates_given(spring: CoilSpring, tester: SpringTester) -> dict[str, tuple[float, float]]:
    """Return every rate that the figures of a spring give: what it is from -> value, uncertainty [N/m]."""
    found: dict[str, tuple[float, float]] = {}
    if spring.tests is not None and kind_of(spring, spring.tests) != "progressive":
        line = fitted_line(spring.tests, tester)
        found["load tests"] = float(line.rate), float(line.rate_uncertainty)
    for name, rate in (("rate", spring.rate), ("wire", wire_rate(spring))):
        if rate is not None:
            found[name] = rate.value, rate.uncertainty
    seat, full = spring.catalog_height, spring.catalog_open_height
    load, full_load = spring.catalog_load, spring.catalog_open_load
    if seat and full and load and full_load and seat.value > full.value:
        travel = seat.value - full.value
        doubt = float(np.hypot(load.uncertainty, full_load.uncertainty)) / travel
        found["catalog loads"] = (full_load.value - load.value) / travel, doubt
    return found


def _all_figure_notes(setup: Setup) -> list[SpringNote]:
    """Remarks on each spring's figures; what is said alike of several valves is said once."""
    keys = [each.name for each in dataclasses.fields(CoilSpring)]
    alike: dict[tuple[str, ...], tuple[SpringNote, list[str]]] = {}
    for section in SPRINGS:
        known: dict[tuple[object, ...], list[SpringNote]] = {}
        for train in setup.trains:
            spring: CoilSpring = getattr(train, section)
            if not given(spring):
                continue
            figures = tuple(getattr(spring, key) for key in keys)
            if figures not in known:
                known[figures] = list(_figure_notes(spring, "", setup.spring_tester))
            tested = spring.tests.spring if spring.tests else ""
            for note in known[figures]:
                same = (section, tested, note.kind, *note.words, *(f"{value:.3g}" for value in note.values))
                alike.setdefault(same, (note, []))[1].append(train.name)
    named = {"spring": "", "middle_spring": "middle ", "inner_spring": "inner "}
    return [
        dataclasses.replace(note, name=key[1] or f"{named[key[0]]}of {', '.join(valves)}")
        for key, (note, valves) in alike.items()
    ]


def _set_notes(springs: tuple[LoadTest, ...], tester: SpringTester) -> Iterator[SpringNote]:
    """Springs of one table that do not belong together."""
    if len(springs) < 3:
        return
    lines = [fitted_line(each, tester) for each in springs]
    rates = np.array([float(line.rate) for line in lines])
    middle = float(np.median(rates))
    height = float(np.median([float(np.max(corrected(each, tester)[0])) for each in springs]))
    loads = np.array([float(line.load_at(height)) for line in lines])
    usual = float(np.median(loads))
    for spring, rate, load in zip(springs, rates, loads, strict=True):
        if abs(rate - middle) > APART * middle:
            yield SpringNote("rate_apart", spring.spring, (float(rate), middle))
        elif abs(load - usual) > APART * usual:
            yield SpringNote("load_apart", spring.spring, (float(load), height, usual))


def _figure_notes(spring: CoilSpring, name: str, tester: SpringTester) -> Iterator[SpringNote]:
    """Figures of one spring that contradict each other."""
    rates = rates_given(spring, tester)
    (first, (rate, doubt)), *others = rates.items() or [("", (np.nan, 0.0))]
    for other, (value, own) in others:
        if abs(value - rate) > max(APART * rate, _SURE * float(np.hypot(doubt, own))):
            yield SpringNote("figures_apart", name, (rate, value), (first, other))
    free, height, load = spring.free_length, spring.catalog_height, spring.catalog_load
    if free and height and load and rates:
        expected = rate * (free.value - height.value)
        if abs(expected - load.value) > max(APART * load.value, _SURE * rate * free.uncertainty):
            yield SpringNote("catalog_apart", name, (load.value, height.value, expected))
    yield from _wire_notes(spring, name)
    test = spring.tests
    if test is None:
        return
    heights = len({each.value for each in test.heights})
    if kind_of(spring, test) == "progressive" and heights < 3:
        yield SpringNote("two_heights", name)
    if kind_of(spring, test) is None and heights >= 3:
        from valvetrain.mechanics.spring.progressive import fitted_progressive_spring

        fit = fitted_progressive_spring(*corrected(test, tester))
        bend, own = float(fit.coefficients[2]), float(np.sqrt(fit.covariance[2, 2]))
        ends = fit.rate_at(np.array([fit.greatest_height, fit.least_height]))
        if bend > 3 * own and ends[1] - ends[0] > APART * ends[0]:
            yield SpringNote("bends", name, (float(ends[0]), float(ends[1])))


def _wire_notes(spring: CoilSpring, name: str) -> Iterator[SpringNote]:
    """Wire figures that contradict the solid height or lie outside the formulas."""
    wire, coil, coils, solid = (
        spring.wire_diameter,
        spring.coil_diameter,
        spring.active_coils,
        spring.solid_height,
    )
    if wire and coil:
        from valvetrain.mechanics.spring.helical import index_in_range, spring_index

        index = float(spring_index(wire.value, coil.value))
        if not index_in_range(index):
            yield SpringNote("index", name, (index,))
    if wire and coils and solid:
        closed = (coils.value + 2.0) * wire.value
        if abs(closed - solid.value) > wire.value:
            yield SpringNote("solid_apart", name, (solid.value, closed))


def _wanted_notes(setup: Setup) -> Iterator[SpringNote]:
    """Seat loads that are wanted and not allowed."""
    limit = setup.limits["seat_load"]
    outside: dict[float, list[str]] = {}
    for train in setup.trains:
        wanted = train.spring.seat_load_target
        if wanted is not None and not limit.low <= wanted.value <= limit.high:
            outside.setdefault(wanted.value, []).append(train.name)
    for load, valves in outside.items():
        yield SpringNote("wanted_outside", ", ".join(valves), (load, limit.low, limit.high))


def _travel_notes(setup: Setup, now: Mapping[str, Quantity]) -> Iterator[SpringNote]:
    """Lifts larger than the travel, and progressive springs used beyond their tested heights."""
    for index, train in enumerate(setup.trains):
        height, bind = now["installed_height"].value[index], now["bind_clearance"].value[index]
        solid = train.spring.solid_height
        if bind < 0 and solid is not None:
            travel = height - solid.value
            name = train.spring.tests.spring if train.spring.tests else ""
            yield SpringNote("beyond_travel", train.name, (travel - bind, travel), (name,))
        test = train.spring.tests
        if test is not None and kind_of(train.spring, test) == "progressive" and solid is not None:
            lowest, tallest = (
                function(corrected(test, setup.spring_tester)[0]) for function in (np.min, np.max)
            )
            full = bind + solid.value
            if full < lowest or height > tallest:
                yield SpringNote("outside_tests", train.name, (height, full, float(tallest), float(lowest)))


def _open_notes(setup: Setup, now: Mapping[str, Quantity]) -> Iterator[SpringNote]:
    """Springs alike on the seat whose open load stands apart from the others of their role."""
    roles = np.array(setup.roles)
    seat, full = now["seat_load"].value, now["open_load"].value
    for role in dict.fromkeys(setup.roles):
        own = np.flatnonzero((roles == role) & ~np.isnan(seat) & ~np.isnan(full))
        if own.size < 3:
            continue
        usual, usual_seat = float(np.median(full[own])), float(np.median(seat[own]))
        for index in own:
            apart = abs(full[index] - usual) > APART * usual
            if apart and abs(seat[index] - usual_seat) <= APART * usual_seat:
                test = setup.trains[index].spring.tests
                words = (role, test.spring if test else "")
                yield SpringNote("open_apart", setup.valves[index], (float(full[index]), usual), words)


def _nesting_notes(setup: Setup) -> Iterator[SpringNote]:
    """Springs of a set that press on each other sideways, and an inner spring that hangs loose."""
    seen: dict[tuple[float, str, str], list[str]] = {}
    loose: dict[str, list[str]] = {}
    for train in setup.trains:
        here = [section for section in SPRINGS if given(getattr(train, section))]
        for outer, inner in itertools.pairwise(here):
            room = _room(getattr(train, outer), getattr(train, inner))
            if room is not None and room < 0:
                seen.setdefault((room, outer, inner), []).append(train.name)
            free, height = getattr(train, inner).free_length, train.spring.installed_height
            if free and height and free.value <= height.value - _steps(getattr(train, inner)):
                loose.setdefault(inner, []).append(train.name)
    for (room, outer, inner), valves in seen.items():
        yield SpringNote("interference", ", ".join(valves), (-room,), (outer, inner))
    for inner, valves in loose.items():
        yield SpringNote("loose", ", ".join(valves), words=(inner,))


def _buckling_notes(setup: Setup, full: np.ndarray) -> Iterator[SpringNote]:
    """Springs so slender that they bow out sideways before full lift, taken as between flat seats."""
    from valvetrain.mechanics.spring.buckling import END_SUPPORT, buckling_deflection

    seen: dict[tuple[float, str], tuple[float, list[str]]] = {}
    for train, height in zip(setup.trains, full, strict=True):
        for section in SPRINGS:
            spring: CoilSpring = getattr(train, section)
            free, coil, modulus = spring.free_length, spring.coil_diameter, shear_modulus(spring)
            if free is None or coil is None or modulus is None or spring.kind == "conical":
                continue
            support = END_SUPPORT["parallel flat plates"]
            bows = free.value - float(
                buckling_deflection(free.value, coil.value, support, ELASTIC_MODULUS, modulus.value)
            )
            own = float(height) - _steps(spring)
            if own < bows:
                lowest, valves = seen.setdefault((bows, section), (own, []))
                seen[bows, section] = min(lowest, own), [*valves, train.name]
    for (bows, section), (lowest, valves) in seen.items():
        yield SpringNote("buckles", ", ".join(valves), (bows, lowest), (section,))


def _steps(spring: CoilSpring) -> float:
    steps: list[Measured | None] = [
        getattr(spring, "seat_step", None),
        getattr(spring, "retainer_step", None),
    ]
    return sum(each.value for each in steps if each is not None)


def _room(outer: CoilSpring, inner: CoilSpring) -> float | None:
    """Clearance on diameter between two springs [m]; None where a diameter is missing."""
    wires, coils = (outer.wire_diameter, inner.wire_diameter), (outer.coil_diameter, inner.coil_diameter)
    if None in wires or None in coils:
        return None
    from valvetrain.mechanics.spring.nested import diametral_clearance

    damper = outer.damper_thickness.value if outer.damper_thickness else 0.0
    try:
        found = diametral_clearance(
            [each.value for each in coils if each], [each.value for each in wires if each], [damper]
        )
    except ValueError:
        return None
    return float(found[0])
