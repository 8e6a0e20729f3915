"""The rockers as tables: sweep and lift, ratio and height, stand shims, and the cures side by side."""

from collections.abc import Iterable, Iterator
from math import isnan, nan

from valvetrain.answers.table import Block, Sentence, Table, bare, valve_table, verdicts_of
from valvetrain.answers.verdict import Check
from valvetrain.questions.rocker.checks import ratio_sentences, shaft_sentence
from valvetrain.questions.rocker.cures import cures_of
from valvetrain.questions.rocker.study import RockerResult
from valvetrain.setup.units import display_unit, shown

__all__ = ["rocker_details", "rocker_tables"]

# Valves whose cures are written out in full; the others' are in the JSON.
_MOST = 4


def rocker_tables(result: RockerResult, checks: list[Check], system: str) -> Iterator[Block]:
    """Say where every rocker meets its tip."""

    unit = display_unit("length", system)
    yield valve_table(
        f"Rocker on the valve tip: lengths in {unit}, sweep from the stem axis, positive away from the shaft",
        result.valves,
        [
            ("gross lift", result.gross_lift),
            ("net lift", result.net_lift),
            ("mean ratio", result.mean_ratio),
            ("sweep width", result.sweep_width),
            ("least possible", result.least_sweep_width),
            ("sweep middle", result.sweep_middle),
            ("to chamfer", result.chamfer_distance),
            ("stand shim for least sweep", result.stand_shim_change_for_least_sweep),
        ],
        system,
        verdicts_of(checks, result.valves),
    )
    if result.ratio_apart:
        for sentence in ratio_sentences(result):
            yield Sentence(mark="  [ ] ", text=sentence)


def rocker_details(result: RockerResult, checks: list[Check], system: str) -> Iterator[Block]:
    """Say ratio and height, what the stock's stand shims leave, and the cures side by side."""

    unit = display_unit("length", system)
    yield valve_table(
        f"Ratio and shaft height: lengths in {unit}, fractions in % of net lift",
        result.valves,
        [
            ("ratio at opening", result.ratio_at_opening),
            ("at half lift", result.ratio_at_half_lift),
            ("at full lift", result.ratio_at_full_lift),
            ("mean", result.mean_ratio),
            ("arm square at", result.square_at_lift_fraction),
            ("lift lost to height", result.lift_lost_to_height),
            ("contact at opening", result.contact_closed),
            ("at full lift ", result.contact_full),
        ],
        system,
    )
    wanted = shown(result.square_at_wanted, "fraction", system)
    yield Sentence(f"Arm wanted square to the stem at {wanted} of lift (--square-at).")
    for plan in result.stand.shafts:
        doubts = result.stand_shim_change_for_square_at.uncertainty[list(plan.group.deciding)]
        doubt = float(doubts.max()) if doubts.size else nan
        yield Sentence(shaft_sentence(plan, result.valves, system, doubt))
    if any(abs(plan.change) > 0 for plan in result.stand.shafts):
        best = result.stand.with_best
        yield valve_table(
            f"What the best stand shim in stock leaves at every valve: lengths in {unit}",
            result.valves,
            [
                ("stand shim", _lengths(result.stand.best, system)),
                ("sweep width", _lengths(best.sweep_width, system)),
                ("share of lift", [shown(each, "fraction", system) for each in best.sweep_share]),
                ("middle", _lengths(best.sweep_middle, system)),
                ("to chamfer", _lengths(best.chamfer_distance, system)),
                ("lift gained", _lengths(best.lift_gain, system)),
                ("adjuster out", _lengths(best.adjuster, system)),
            ],
            system,
        )
    yield from _cures(result, checks, system)
    if result.pads is not None:
        for valve, error in zip(result.valves, result.pads.feeler_error, strict=True):
            if error > 0:
                yield Sentence(
                    f"{valve}: hollow pad: a feeler reads {shown(float(error), 'length', system)} less "
                    "than the true lash. Set it by turns of the adjuster (`pushrod` says how many)."
                )


def _lengths(values: Iterable[float], system: str) -> list[str]:
    return [bare(float(each), "length", system) for each in values]


def _cures(result: RockerResult, checks: list[Check], system: str) -> Iterator[Block]:
    """Lay out the cures of the valves that are outside, side by side."""

    outside = {check.valve for check in checks if check.verdict in ("out", "unsure")}
    valves = [index for index, valve in enumerate(result.valves) if valve in outside]
    if not valves:
        return
    rows: list[tuple[str, ...]] = []
    breaks = set()
    cautions: dict[str, str] = {}
    for index in valves[:_MOST]:
        for number, cure in enumerate(cures_of(result.side, result.stand, index)):
            numbers = _lengths(
                [cure.amount, cure.sweep_width, cure.sweep_middle, cure.lift_gain, cure.adjuster], system
            )
            if isnan(cure.amount):
                numbers[0], numbers[-1] = "as chosen", "as much"
            cautions[cure.name] = cure.caution
            rows.append(
                (
                    result.valves[index] if number == 0 else "",
                    cure.name,
                    cure.serves,
                    numbers[0],
                    numbers[1],
                    shown(cure.sweep_share, "fraction", system),
                    *numbers[2:],
                )
            )
        breaks.add(len(rows) - 1)
    unit = display_unit("length", system)
    yield Table(
        f"Cures side by side: lengths in {unit}, sweep and lift as they are then; choose one a valve",
        ("valve", "cure", "for", "by", "sweep", "of lift", "middle", "lift gained", "adjuster out"),
        tuple(rows),
        words=frozenset({0, 1, 2}),
        breaks=frozenset(breaks),
    )
    for name, caution in cautions.items():
        yield Sentence(mark="  ", text=f"{name}: {caution}.")
    if len(valves) > _MOST:
        rest = ", ".join(result.valves[index] for index in valves[_MOST:])
        yield Sentence(f"The cures of {rest} are in the JSON (--json).")
