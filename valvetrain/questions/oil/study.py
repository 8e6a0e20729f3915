"""What oil reaches each rocker, new and worn, and what does each change of layout bring?"""

from dataclasses import dataclass, replace

import numpy as np

from valvetrain.answers.output import output
from valvetrain.answers.quantity import Quantity
from valvetrain.mechanics.arrays import FloatArray
from valvetrain.mechanics.oil.network import (
    ATMOSPHERE,
    AnnularLeak,
    Edge,
    OilFlow,
    Orifice,
    Pipe,
    solved_network,
)
from valvetrain.mechanics.uncertainty.bent_draws import Drawn, first_order_agrees
from valvetrain.parts.measured import Measured
from valvetrain.parts.oil import LayoutChange, Passage
from valvetrain.questions.oil.state import OilState, oil_state
from valvetrain.setup.setup import Setup

__all__ = ["AS_BUILT", "OilCase", "OilNetworkError", "OilResult", "oil_study"]

AS_BUILT = "as built"
GALLERY = "gallery"

# Discharge coefficient of a short drilled hole (memory; White, Fluid Mechanics).
_COEFFICIENT = 0.8
# A loaded bushing runs somewhere between centered (0) and touching (1): common practice, no source.
_ECCENTRICITY = 0.5


class OilNetworkError(Exception):
    """A network that cannot be solved: the sentence names the passage or place."""


@dataclass(frozen=True)
class OilCase:
    """One layout with new or worn bushings."""

    layout: str = output(None, "its name")
    condition: str = output(None, '"new", "worn", or "measured" (clearances of the sheet\'s valves)')
    pressure: FloatArray = output(
        "oil_pressure", "at every valve's rocker, where its passage begins; NaN where none is drawn", key=""
    )
    flow: FloatArray = output("flow", "oil that reaches it", key="")
    share: FloatArray = output("fraction", "flow over that of the best fed rocker as built and new", key="")
    starved: tuple[str, ...] = output(None, "valves whose share is below the limit")
    supply: dict[str, float] = output("flow", "place of known pressure -> flow that it gives")
    fed: float = output("flow", "sum of all that the places of known pressure give", key="taken")
    away: dict[str, float] = output(
        "flow", "passage -> flow, of those that end in the open air without a rocker"
    )
    reynolds: tuple[float, str] = output(None, "the greatest in a pipe [1], and that pipe's name", key="")


@dataclass(frozen=True)
class ShaftOil:
    """The oil of one rocker shaft, as it is."""

    shaft: str = output(None, "its name")
    valves: tuple[str, ...] = output(None, "the valves on it")
    flow: float = output("flow", "oil that reaches its rockers in all")
    least_share: float = output("fraction", "share of its worst fed rocker")
    worst: str = output(None, "that rocker's valve")


@dataclass(frozen=True)
class OilResult:
    """The oil to the rockers; empty where the sheet draws no network."""

    valves: tuple[str, ...]
    roles: tuple[str, ...]
    oil: OilState = output(None, "the oil", key="")
    cases: tuple[OilCase, ...] = output(
        None, "all layouts, each new and worn, the engine as built first", key=""
    )
    now: str = output(
        None, "the case that the verdicts are on: measured clearances where every leak has one, else new"
    )
    rocker_pressure: Quantity = output(
        "oil_pressure", "where the rocker's passage begins", heading="pressure"
    )
    rocker_flow: Quantity = output("flow", "oil that reaches the rocker", heading="flow")
    rocker_share: Quantity = output(
        "fraction", "flow over that of the best fed rocker as built and new", heading="share %"
    )
    missing: str = output(
        None, "what keeps the network from being solved, in shop words; empty where nothing does", key=""
    )
    assumed: tuple[str, ...] = output(
        None, "what the table of passages leaves out and is taken instead", key="", default=()
    )
    shafts: tuple[ShaftOil, ...] = output(
        None, "what each rocker shaft gets as it is; empty for one shaft", key="", default=()
    )


def oil_study(setup: Setup) -> OilResult:
    """Solve the oil's way to the rockers for every layout, with new and with worn bushings.

    Raises:
        OilNetworkError: the network has an island, no drain, a loop without resistance, or a layout names
            what is not there.
    """
    try:
        oil = oil_state(setup.oil)
    except ValueError as error:
        raise OilNetworkError(f"setup.toml {error}.") from error
    network = setup.oil.network
    blank = Quantity("ratio", *(np.full(len(setup.valves), np.nan),) * 2, {})
    missing = ""
    if network is None:
        missing = "no oil network is drawn in the sheet"
    elif np.isnan(oil.dynamic):
        missing = oil.basis
    if network is None or missing:
        return OilResult(setup.valves, setup.roles, oil, (), "", blank, blank, blank, missing)
    layouts: dict[str, tuple[LayoutChange, ...]] = {AS_BUILT: ()}
    if setup.oil.layouts is not None:
        layouts |= setup.oil.layouts.layouts
    for passage in network.passages:
        if passage.valve and passage.valve not in setup.valves:
            raise OilNetworkError(
                f"{passage.where}: '{passage.valve}' is not a valve of this engine. "
                f"Its valves are {', '.join(setup.valves)}."
            )
    measured = _measured_clearances(setup, network.passages)
    conditions = ("new", "worn", "measured") if measured else ("new", "worn")
    best = np.nan
    cases = []
    for name, changes in layouts.items():
        passages = _changed(network.passages, changes)
        for condition in conditions:
            case = _solved(setup, oil, name, condition, passages, measured, best)
            if np.isnan(best):
                best = float(np.nanmax(case.flow, initial=-np.inf))
                case = _solved(setup, oil, name, condition, passages, measured, best)
            cases.append(case)
    now = "measured" if measured else "new"
    chosen = next(case for case in cases if case.layout == AS_BUILT and case.condition == now)
    first = cases[0]
    # One input, and every answer follows it one way: the ends of its interval are those of the answers'.
    reach = 1.959964 * np.log1p(oil.relative_uncertainty)
    thin_thick = []
    for way in (-1.0, 1.0):
        other = replace(oil, dynamic=float(oil.dynamic * np.exp(way * reach)))
        most = _solved(setup, other, AS_BUILT, "new", _changed(network.passages, ()), measured, best)
        own = _solved(setup, other, AS_BUILT, now, _changed(network.passages, ()), measured, best)
        # The best fed rocker, of which a share is, has its oil from the same can.
        moved = float(np.nanmax(most.flow) / np.nanmax(first.flow))
        thin_thick.append((own.pressure, own.flow, own.share / moved))
    (pressures, flows, shares) = zip(*thin_thick, strict=True)
    return OilResult(
        setup.valves,
        setup.roles,
        oil,
        tuple(cases),
        now,
        _by_one_input("oil_pressure", chosen.pressure, pressures),
        _by_one_input("flow", chosen.flow, flows),
        _by_one_input("fraction", chosen.share, shares),
        "",
        _assumed(network.passages),
        tuple(_on_shaft(setup, name, own, chosen) for name, own in setup.shafts.items()),
    )


def _on_shaft(setup: Setup, name: str, own: tuple[int, ...], case: OilCase) -> ShaftOil:
    """Sum up one shaft."""
    valves, share = tuple(setup.valves[index] for index in own), case.share[list(own)]
    worst = int(np.argmin(np.where(np.isnan(share), np.inf, share)))
    return ShaftOil(name, valves, float(np.nansum(case.flow[list(own)])), float(share[worst]), valves[worst])


def _by_one_input(dimension: str, value: FloatArray, ends: tuple[FloatArray, ...]) -> Quantity:
    """A quantity from its values at both ends of the 95 % interval of the one input that is unsure.

    Between the ends the value is taken as a parabola of a normal input; the interval is told where it is not
    that of first order (JCGM 101:2008, clause 8).
    """
    reach = 1.959964
    low, high = np.fmin(*ends), np.fmax(*ends)
    slope, bend = (ends[1] - ends[0]) / (2 * reach), (ends[1] + ends[0] - 2 * value) / reach**2
    # y = y0 + s z + b z^2/2 of a standard normal z: mean square about y0 is s^2 + 3 b^2/4.
    doubt = np.sqrt(slope**2 + 0.75 * bend**2)
    drawn = Drawn(doubt, low, high, np.zeros(value.shape))
    straight = first_order_agrees(value, np.abs(slope), drawn)
    return Quantity(
        dimension,
        value,
        np.where(straight, np.abs(slope), doubt),
        {},
        np.where(straight, np.nan, np.fmin(low, value)),
        np.where(straight, np.nan, np.fmax(high, value)),
    )


def _assumed(passages: tuple[Passage, ...]) -> tuple[str, ...]:
    """Say what is taken where the table of passages is silent."""
    silent = {
        (each.kind, name)
        for each in passages
        for kinds, name in ((("leak",), "eccentricity"), (("hole", "jet"), "coefficient"))
        if each.kind in kinds and name not in each.values
    }
    said = []
    if ("leak", "eccentricity") in silent:
        said.append(
            f"bushings run half off their shaft's middle (eccentricity {_ECCENTRICITY:g}; centered they leak "
            f"{100 - 100 / _more(_ECCENTRICITY):.0f} % less, touching "
            f"{100 * _more(1.0) / _more(_ECCENTRICITY) - 100:.0f} % more)"
        )
    if {("hole", "coefficient"), ("jet", "coefficient")} & silent:
        said.append(f"holes and jets have a discharge coefficient of {_COEFFICIENT:g}")
    return tuple(said)


def _more(eccentricity: float) -> float:
    """How many times a centered bushing's leak one is that runs off the middle."""
    return 1 + 1.5 * eccentricity**2


def _measured_clearances(setup: Setup, passages: tuple[Passage, ...]) -> dict[str, float]:
    """Return valve -> clearance on diameter as measured, if every leak at a rocker has one; else nothing."""
    from valvetrain.questions.record.measured_wear import bushing_clearance

    column = bushing_clearance(setup).value
    found = dict(zip(setup.valves, column.tolist(), strict=True))
    leaks = {each.valve for each in passages if each.kind == "leak" and each.valve}
    if not leaks or any(np.isnan(found[valve]) or found[valve] <= 0 for valve in leaks):
        return {}
    return {valve: found[valve] for valve in leaks}


def _changed(passages: tuple[Passage, ...], changes: tuple[LayoutChange, ...]) -> list[Passage]:
    """Return the passages that are fitted in a layout, with the sizes they have in it."""
    from dataclasses import replace

    found = {each.name: each for each in passages}
    for change in changes:
        stem = change.passage.removesuffix("*")
        names = [
            name
            for name in found
            if name == change.passage or (stem != change.passage and name.startswith(stem))
        ]
        if not names:
            raise OilNetworkError(
                f"{change.where}: no passage is named '{change.passage}'. Name one of the network."
            )
        for name in names:
            one = found[name]
            if change.change in ("fit", "remove"):
                found[name] = replace(one, fitted=change.change == "fit")
            elif change.value is not None:
                found[name] = replace(one, values=one.values | {change.change: change.value}, fitted=True)
    return [each for each in found.values() if each.fitted]


def _solved(
    setup: Setup,
    oil: OilState,
    layout: str,
    condition: str,
    passages: list[Passage],
    measured: dict[str, float],
    best: float,
) -> OilCase:
    """Solve one layout in one condition."""
    fixed = {each.start: each.values["pressure"].value for each in passages if each.kind == "pressure"}
    if setup.oil.gallery_pressure is not None:
        fixed.setdefault(GALLERY, setup.oil.gallery_pressure.value)
    pipes = [each for each in passages if each.kind != "pressure"]
    edges = [_edge(each, condition, measured) for each in pipes]
    met = {name for each in pipes for name in (each.start, each.end)}
    # A gallery that this layout does not draw from is not an error.
    fixed = {name: value for name, value in fixed.items() if name in met or name != GALLERY}
    source = setup.oil.network.source if setup.oil.network is not None else ""
    if not met & set(fixed):
        raise OilNetworkError(
            f"{source}, layout '{layout}': no passage begins at a place of known pressure. Name the gallery "
            f"'{GALLERY}' and give [oil] gallery_pressure, or a row of kind pressure."
        )
    try:
        flow = solved_network(edges, fixed, viscosity=oil.dynamic, density=oil.density)
    except ValueError as error:
        sentence = str(error)
        end = "" if sentence.endswith("?") else "."
        raise OilNetworkError(f"{source}, layout '{layout}': {sentence}{end}") from error
    return _case(setup, layout, condition, pipes, flow, best)


def _edge(passage: Passage, condition: str, measured: dict[str, float]) -> Edge:
    """Turn a passage into an edge of the network."""
    size = {name: each.value for name, each in passage.values.items()}
    ends = {"start": passage.start, "end": passage.end, "diameter": size["diameter"]}
    if passage.kind == "pipe":
        extra = {name: size[name] for name in ("roughness", "loss") if name in size}
        return Pipe(**ends, length=size["length"], **extra)  # type: ignore[arg-type]
    if passage.kind in ("hole", "jet"):
        return Orifice(**ends, coefficient=size.get("coefficient", _COEFFICIENT))  # type: ignore[arg-type]
    clearance = _clearance(passage, condition, measured)
    return AnnularLeak(
        **ends,  # type: ignore[arg-type]
        clearance=0.5 * clearance,
        length=size["length"],
        eccentricity=size.get("eccentricity", _ECCENTRICITY),
    )


def _clearance(passage: Passage, condition: str, measured: dict[str, float]) -> float:
    """Return a leak's clearance on diameter in a condition."""
    new = passage.values.get("clearance")
    worn = passage.values.get("worn_clearance")
    if condition == "measured" and passage.valve in measured:
        return measured[passage.valve]
    chosen: Measured | None = worn if condition == "worn" and worn is not None else new
    if chosen is None:
        chosen = worn
    if chosen is None and passage.valve in measured:
        return measured[passage.valve]
    if chosen is None:
        raise OilNetworkError(
            f"{passage.where}: the leak '{passage.name}' has no clearance. Give it in the column, or the "
            "rocker's bore_clearance in the table of valves."
        )
    return chosen.value


def _case(
    setup: Setup, layout: str, condition: str, passages: list[Passage], flow: OilFlow, best: float
) -> OilCase:
    """Sum up what reaches each rocker and what goes elsewhere."""
    count = len(setup.valves)
    pressure, reach = np.full(count, np.nan), np.full(count, np.nan)
    for index, valve in enumerate(setup.valves):
        own = [k for k, each in enumerate(passages) if each.valve == valve]
        # What passes the rocker's own drillings; a rocker without any lives on its bore's leak.
        drilled = [k for k in own if passages[k].kind != "leak"] or own
        if drilled:
            pressure[index] = max(flow.pressure[passages[k].start] for k in drilled)
            reach[index] = sum(flow.flow[k] for k in drilled)
    share = reach / best
    low = setup.limits["rocker_oil_share"].low
    starved = tuple(
        valve for valve, each in zip(setup.valves, share, strict=True) if not np.isnan(each) and each < low
    )
    pipes = [k for k, each in enumerate(passages) if each.kind == "pipe"]
    fastest = max(pipes, key=lambda k: flow.reynolds[k], default=None)
    return OilCase(
        layout,
        condition,
        pressure,
        reach,
        np.asarray(share),
        starved,
        {name: value for name, value in flow.supply.items() if name != ATMOSPHERE},
        sum(value for value in flow.supply.values() if value > 0),
        {
            each.name: float(flow.flow[k])
            for k, each in enumerate(passages)
            if each.end == ATMOSPHERE and not each.valve
        },
        (0.0, "") if fastest is None else (float(flow.reynolds[fastest]), passages[fastest].name),
    )
