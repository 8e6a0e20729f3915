"""The oil's layouts and rockers as tables."""

from collections.abc import Iterator

import numpy as np

from valvetrain.answers.table import Block, Sentence, Table, bare, columns, valve_table, verdicts_of
from valvetrain.answers.verdict import Check
from valvetrain.questions.oil.study import AS_BUILT, OilCase, OilResult
from valvetrain.setup.units import display_unit, shown

__all__ = ["oil_tables"]


def oil_tables(result: OilResult, checks: list[Check], system: str) -> Iterator[Block]:
    """Say the comparison of layouts, and the rockers of the engine as it is."""
    if result.missing:
        yield Sentence(f"Oil to the rockers: not asked, {result.missing}.", strong=True)
        return
    flow, pressure = display_unit("flow", system), display_unit("oil_pressure", system)
    title = f"Oil to the rockers: flow in {flow}, pressure in {pressure}, share of the best fed rocker new"
    ends = {
        number
        for number, case in enumerate(result.cases)
        if number + 1 == len(result.cases) or result.cases[number + 1].layout != case.layout
    }
    yield Table(
        title,
        (
            "layout",
            "bushings",
            "taken in all",
            "least share",
            "at",
            "least pressure",
            "past the rockers",
            "starved",
        ),
        tuple(_case_row(result, case, system) for case in result.cases),
        words=frozenset({0, 1, 7}),
        breaks=frozenset(ends),
        strong=frozenset((number, 7) for number, case in enumerate(result.cases) if case.starved),
    )
    viscosity = shown(result.oil.kinematic, "viscosity", system)
    heat = shown(result.oil.temperature, "temperature", system)
    spread = 200 * result.oil.relative_uncertainty
    basis = f"Oil at {heat}: {viscosity} +- {spread:.0f} % (k = 2; {result.oil.basis})."
    yield Sentence(basis)
    if result.assumed:
        yield Sentence(f"Taken where the table is silent: {'; '.join(result.assumed)}.")
    reynolds, name = result.cases[0].reynolds
    if name:
        kind = "laminar" if reynolds < 2300 else "turbulent" if reynolds > 4000 else "between the two"
        yield Sentence(f"Fastest in a pipe, as built and new: {name}, Reynolds {reynolds:.0f}, {kind}.")
    for shaft in result.shafts:
        least = f"least {round(100 * shaft.least_share)} % at {shaft.worst}"
        yield Sentence(f"Shaft {shaft.shaft}: {shown(shaft.flow, 'flow', system)} to its rockers, {least}.")
    for sentence in _changes(result, system):
        yield Sentence(sentence)
    clearances = "clearances as measured" if result.now == "measured" else "new clearances"
    yield valve_table(
        f"Rockers as built, {clearances}: pressure in {pressure}, flow in {flow}",
        result.valves,
        [
            *columns(result, "rocker_pressure", "rocker_flow", "rocker_share"),
            *(
                (f"share %, {layout}, worn", _shares(result, layout, system))
                for layout in dict.fromkeys(case.layout for case in result.cases)
            ),
        ],
        system,
        verdicts_of(checks, result.valves),
    )


def _case_row(result: OilResult, case: OilCase, system: str) -> tuple[str, ...]:
    """Write one layout in one condition."""
    worst = int(np.nanargmin(case.share))
    past = sum(case.away.values())
    names = ", ".join(case.starved)
    return (
        case.layout,
        case.condition,
        bare(case.fed, "flow", system),
        f"{round(100 * case.share[worst])} %",
        result.valves[worst],
        bare(float(np.nanmin(case.pressure)), "oil_pressure", system),
        bare(past, "flow", system),
        names or "none",
    )


def _changes(result: OilResult, system: str) -> list[str]:
    """Say in words what each layout changes with worn bushings."""
    worn = {case.layout: case for case in result.cases if case.condition == "worn"}
    base = worn[AS_BUILT]
    said = []
    if base.starved:
        starve = "starves" if len(base.starved) == 1 else "starve"
        said.append(f"Worn bushings as built: {', '.join(base.starved)} {starve}.")
    else:
        said.append("Worn bushings as built: no rocker starves.")
    for name, case in worn.items():
        if name == AS_BUILT:
            continue
        more = case.fed / base.fed
        fed = [valve for valve in base.starved if valve not in case.starved]
        lost = [valve for valve in case.starved if valve not in base.starved]
        parts = [f"feeds {', '.join(fed)} again" if fed else "", f"starves {', '.join(lost)}" if lost else ""]
        what = " and ".join(part for part in parts if part) or "changes none of that"
        said.append(f"  {name}: {what}; takes {more:.1f} times as much oil.")
    return said


def _shares(result: OilResult, layout: str, system: str) -> list[str]:
    case = next(each for each in result.cases if each.layout == layout and each.condition == "worn")
    return ["-" if np.isnan(each) else f"{round(100 * each)}" for each in case.share]
