"""The plan of whole shafts: shims, spacers, stands, and what they leave at each rocker."""

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np

from valvetrain.answers.quantity import Quantity
from valvetrain.mechanics.row.plan import Remedy, RowPlan, plan_rows
from valvetrain.mechanics.row.shaft import Bay, Part, Rocker, Shim, Spacer, Stand, bays, placed
from valvetrain.mechanics.row.tolerance_stack import row_tolerance
from valvetrain.parts.instruments import DEFAULT_UNCERTAINTY
from valvetrain.parts.row import ShaftRow
from valvetrain.questions.center.single_plan import LEAST_PLAY, RockerPlan, drawer
from valvetrain.setup.setup import Setup

__all__ = ["Drawn", "ShaftPlan", "shaft_plan"]

_SAME = 1e-9
_COVERAGE = 2.0


@dataclass(frozen=True)
class Drawn:
    """Shims of one thickness [m]: how many the plan takes, how many go back, how many the drawer holds.

    `count` is None where any number can be had.
    """

    thickness: float
    taken: int
    returned: int
    count: int | None


@dataclass(frozen=True)
class ShaftPlan:
    """The plan of all shafts.

    Attributes:
        before: the rows as they stand.
        after: the rows as they will stand; as they are where no plan exists.
        plan: changes of shims, spacers and stands. Bays that cannot be planned are left out of it.
        blocked: bays for which no plan exists ("all": the drawer holds too few for all of them together).
        remedies: what would help there.
        rockers: what happens at each valve, in the sheet's order.
        drawn: shims that go from the drawer and back, thinnest first.
        empty: why the drawer gives nothing at all, in words; empty where it holds shims.
    """

    before: tuple[ShaftRow, ...]
    after: tuple[ShaftRow, ...]
    plan: RowPlan
    blocked: tuple[str, ...]
    remedies: tuple[Remedy, ...]
    rockers: tuple[RockerPlan, ...]
    drawn: tuple[Drawn, ...]
    empty: str = ""

    @property
    def done(self) -> bool:
        """True where nothing needs to change and nothing is blocked."""
        return self.plan.changes == 0 and not self.blocked


def shaft_plan(setup: Setup, offset: Quantity, limit: Quantity, play: Quantity) -> ShaftPlan:
    """Plan the shafts of a setup that describes them.

    Args:
        setup: the engine, with its rows.
        offset: of every rocker as measured.
        limit: largest offset either way at every rocker.
        play: end clearance of every rocker as found.
    """
    rows, stock = setup.shaft_rows, drawer(setup)
    now = dict(zip(setup.valves, offset.value, strict=True))
    wide = _tolerances(setup, now, limit, None)
    tight = _tolerances(setup, now, limit, offset)
    ends = setup.limits["end_clearance"]
    low = max(ends.low, LEAST_PLAY)
    held = {name for row in rows for name in row.held}
    parts = [row.parts for row in rows]

    def planned(tolerance: Mapping[str, float], hold: set[str], margin: float = 0.0) -> RowPlan:
        return plan_rows(
            parts,
            stock,
            offset_tolerance=tolerance,
            clearance_low=min(low, ends.high),
            clearance_high=ends.high,
            margin=margin,
            hold=hold,
        )

    plan = planned(tight, held)
    margin = _at_the_edge(plan, low, ends.high, play)
    if margin > 0:
        # Clearances that would read as doubtful once assembled: with as few changes, rather not.
        inner = planned(tight, held, margin)
        plan = inner if inner.feasible and inner.changes <= plan.changes else plan
    blocked: tuple[str, ...] = ()
    remedies: tuple[Remedy, ...] = ()
    if not plan.feasible:
        # First without the room kept for the uncertainty, where that is what is in the way.
        everywhere = "all" in plan.blocked
        hard = set(setup.valves) if everywhere else set(_valves_in(parts, plan.blocked))
        plan = planned({name: wide[name] if name in hard else tight[name] for name in tight}, held)
        if not plan.feasible:
            blocked, remedies = plan.blocked, plan.remedies
            needing = plan.needing
            if len(needing) == 1:  # nobody else wants shims: it is this bay that lacks them
                blocked, remedies = needing, tuple(replace(each, bay=needing[0]) for each in remedies)
            if "all" not in blocked:
                rest = planned(tight, held | set(blocked))
                plan = rest if rest.feasible else plan
                blocked += () if rest.feasible else rest.blocked
                remedies += () if rest.feasible else rest.remedies
    known = {shim.thickness.value: shim.thickness.uncertainty for shim in setup.stock.rocker_shims or ()}
    after = tuple(_rebuilt(row, new, known) for row, new in zip(rows, plan.rows, strict=True))
    rockers: dict[str, RockerPlan] = {}
    empty = _empty(setup)
    reasons = _reasons(parts, blocked, plan.needing, empty)
    for one, other in zip(rows, after, strict=True):
        rockers |= _rockers(one, other, dict(zip(setup.valves, play.value, strict=True)))
    ordered = tuple(replace(rockers[name], reason=reasons.get(name, "")) for name in setup.valves)
    return ShaftPlan(rows, after, plan, blocked, remedies, ordered, _drawn(plan, stock), empty)


def _tolerances(
    setup: Setup, now: Mapping[str, float], limit: Quantity, doubt: Quantity | None
) -> dict[str, float]:
    """Offset allowed at each rocker, less room for the uncertainty of the offsets where `doubt` is given.

    A rocker that is within its limit now may stay where it is. One whose offset or limit is not known may be
    anywhere: nothing is moved on its account.
    """
    found: dict[str, float] = {}
    for index, name in enumerate(setup.valves):
        allowed, at = float(limit.value[index]), abs(now[name])
        if np.isnan(allowed) or np.isnan(at):
            found[name] = np.inf
            continue
        inner = allowed
        if doubt is not None:
            inner = max(allowed - _COVERAGE * float(np.nan_to_num(doubt.uncertainty[index])), 0.5 * allowed)
        found[name] = max(inner, at) if at <= allowed else inner
    return found


def _at_the_edge(plan: RowPlan, low: float, high: float, play: Quantity) -> float:
    """Room that changed clearances should keep from the ends of their range [m]; 0 where all keep it."""
    if not (plan.feasible and plan.changes and plan.proved):
        return 0.0
    read = float(np.nanmax(np.nan_to_num(play.uncertainty), initial=0.0))
    margin = _COVERAGE * float(np.hypot(read, _WORK))
    near = any(
        not each.spring_lengths and not low + margin - _SAME <= each.end_clearance <= high - margin + _SAME
        for row in plan.positions
        for each in row.rockers
    )
    return margin if near else 0.0


def _valves_in(rows: Sequence[Sequence[Part]], names: Sequence[str]) -> list[str]:
    """Return the valves between the walls that a bay, or several tied bays, is named after."""
    found: list[str] = []
    for row in rows:
        walls = [(k, part.name) for k, part in enumerate(row) if isinstance(part, Stand)]
        for k, front in walls:
            for last, rear in walls:
                if last > k and f"{front} to {rear}" in names:
                    found += [part.valve for part in row[k:last] if isinstance(part, Rocker)]
    return found


def _empty(setup: Setup) -> str:
    """Say why the drawer gives nothing; empty where it holds shims."""
    if any(count is None or count > 0 for count in drawer(setup).values()):
        return ""
    told = setup.stock.rocker_shims is not None
    return "the drawer is empty" if told else "no rocker shims are in the stock list"


def _reasons(
    parts: Sequence[Sequence[Part]], blocked: tuple[str, ...], needing: tuple[str, ...], empty: str
) -> dict[str, str]:
    """Say shortly at each valve why there is no plan; what would help stands with the plan."""
    found: dict[str, str] = {}
    for name in blocked:
        why = f"no plan, {empty}." if empty else "no plan from the drawer."
        where = f"Bays {', '.join(needing)} together" if name == "all" else f"Bay {name}"
        for valve in _valves_in(parts, needing if name == "all" else [name]):
            found.setdefault(valve, f"{where}: {why}")
    return found


def _rebuilt(row: ShaftRow, parts: tuple[Part, ...], known: Mapping[float, float]) -> ShaftRow:
    """The row after the plan, each part with its uncertainty and its name."""
    if parts == row.parts:
        return row
    others = [k for k, part in enumerate(row.parts) if not isinstance(part, Shim)]
    fitted = {p.thickness: u for p, u in zip(row.parts, row.spread, strict=True) if isinstance(p, Shim)}
    spread, kinds = [], []
    for part in parts:
        if isinstance(part, Shim):
            spread.append(known.get(part.thickness, fitted.get(part.thickness, 0.0)))
            kinds.append("shim")
            continue
        old = others.pop(0)
        spread.append(row.spread[old] if _like(part, row.parts[old]) else _WORK)
        kinds.append(row.kinds[old])
    return replace(row, parts=parts, spread=tuple(spread), kinds=tuple(kinds))


# A spacer is cut, and a stand set, to what a micrometer and an indicator tell.
_WORK = float(np.hypot(DEFAULT_UNCERTAINTY["micrometer"][1], DEFAULT_UNCERTAINTY["indicator"][1]))


def _like(new: Part, old: Part) -> bool:
    if isinstance(new, Spacer) and isinstance(old, Spacer):
        return abs(new.width - old.width) <= _SAME
    if isinstance(new, Stand) and isinstance(old, Stand):
        return abs(new.position - old.position) <= _SAME
    return True


def _rockers(before: ShaftRow, after: ShaftRow, play: Mapping[str, float]) -> dict[str, RockerPlan]:
    """What the plan does at each rocker of a row."""
    then = placed(after.parts).rockers
    now = placed(before.parts).rockers
    spread = _spread(before, after)
    found: dict[str, RockerPlan] = {}
    slots = {valve: pair for bay in bays(after.parts) for valve, pair in _slots(bay).items()}
    old = {valve: pair for bay in bays(before.parts) for valve, pair in _slots(bay).items()}
    for one, other in zip(now, then, strict=True):
        name = one.valve
        (front, rear), (old_front, old_rear) = slots[name], old[name]
        moved_by = other.offset - one.offset
        change = other.end_clearance - one.end_clearance
        found[name] = RockerPlan(
            front_shims=_listed(front),
            rear_shims=_listed(rear),
            front_added=_listed(front - old_front),
            front_removed=_listed(old_front - front),
            rear_added=_listed(rear - old_rear),
            rear_removed=_listed(old_rear - rear),
            moved_by=moved_by,
            end_clearance=max(play[name] + change, 0.0)
            if play[name] + change > -_SAME
            else play[name] + change,
            moved=front != old_front or rear != old_rear or max(abs(moved_by), abs(change)) > _SAME,
            offset_spread=spread[name][0],
            clearance_spread=spread[name][1],
        )
    return found


def _spread(before: ShaftRow, after: ShaftRow) -> dict[str, tuple[float, float]]:
    """Standard uncertainties of offset and end clearance that what is changed adds at each rocker."""
    squares: dict[str, tuple[float, float]] = {}
    for row, other in ((before, after), (after, before)):
        left = Counter(_marks(other))
        changed = []
        for part, mark, spread in zip(row.parts, _marks(row), row.spread, strict=True):
            same = left[mark] > 0
            left[mark] -= same
            # Where a stand sat before is in the offsets measured there.
            same = same or (row is before and isinstance(part, Stand))
            changed.append(0.0 if same else spread)
        if any(changed):
            told = row_tolerance(row.parts, changed)
            parts = zip(told.valves, told.offset_rss, told.clearance_rss, strict=True)
        else:
            parts = ((r.valve, 0.0, 0.0) for r in row.parts if isinstance(r, Rocker))  # type: ignore[assignment]
        for valve, offset, clearance in parts:
            so_far = squares.get(valve, (0.0, 0.0))
            squares[valve] = (so_far[0] + float(offset) ** 2, so_far[1] + float(clearance) ** 2)
    return {valve: (each[0] ** 0.5, each[1] ** 0.5) for valve, each in squares.items()}


def _marks(row: ShaftRow) -> list[tuple[object, ...]]:
    """What each part of a row is and where: equal where nothing changed."""
    marks: list[tuple[object, ...]] = []
    slot = 0
    for part in row.parts:
        if isinstance(part, Stand | Rocker):
            slot += 1
        if isinstance(part, Shim):
            marks.append((slot, "shim", round(part.thickness / _SAME)))
        elif isinstance(part, Spacer):
            marks.append((slot, "spacer", round(part.width / _SAME)))
        elif isinstance(part, Stand):
            marks.append((slot, "wall", round(part.position / _SAME)))
        else:
            marks.append((slot, "other"))
    return marks


def _slots(bay: Bay) -> dict[str, tuple[Counter[float], Counter[float]]]:
    """Shims in front of and behind each rocker of a bay."""
    held = [Counter(p.thickness for p in slot if isinstance(p, Shim)) for slot in bay.slots]
    return {rocker.valve: (held[k], held[k + 1]) for k, rocker in enumerate(bay.rockers)}


def _listed(held: Counter[float]) -> tuple[float, ...]:
    return tuple(sorted(held.elements(), reverse=True))


def _drawn(plan: RowPlan, stock: Mapping[float, int | None]) -> tuple[Drawn, ...]:
    """Shims taken from the drawer and put back; one that only changes its place is neither."""
    added = Counter(t for change in plan.shims for t in change.added)
    removed = Counter(t for change in plan.shims for t in change.removed)
    taken, returned = added - removed, removed - added
    return tuple(
        Drawn(t, taken[t], returned[t], stock.get(t, 0)) for t in sorted({*taken, *returned}) if t > 0
    )
