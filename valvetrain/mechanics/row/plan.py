"""The exact plan of shims, spacers and stands for whole rocker shafts that share one drawer of shims.

Every rocker is brought within its tolerance of its stem and every play into its range with the fewest
changes (shims taken out and put in, spacers cut, stands moved), then the least sum of |offset|. Located
stands cut a row into bays that only the drawer ties together: each is solved by enumeration, and only where
their sum overdraws a count, or a stand may move or a spacer be cut, a mixed-integer program is solved.
"""

from collections import Counter
from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np

from valvetrain.mechanics.row.enumeration import enumerated
from valvetrain.mechanics.row.joint import joint_plan, shims_short
from valvetrain.mechanics.row.model import LinearBay, blocks, linear_bays
from valvetrain.mechanics.row.program import Program, Solution
from valvetrain.mechanics.row.remedies import SECONDS, Remedy, group_name, neighbors, remedies_for
from valvetrain.mechanics.row.shaft import Part, Rocker, RowPositions, Shim, Spacer, Stand, placed

__all__ = ["Remedy", "RowPlan", "SlotChange", "plan_rows"]

_SAME = 1e-9
# For each objective: a plan that is found but not proved by then says so.
_SECONDS = SECONDS


@dataclass(frozen=True)
class SlotChange:
    """What changes in one slot.

    Attributes:
        row, slot: index of the row, and of the slot in its bay from the front.
        bay: the two walls, front to rear.
        ahead, behind: the parts that the slot lies between (`1I`, or a wall's name).
        added, removed: [m] shims, thickest first.
    """

    row: int
    bay: str
    slot: int
    ahead: str
    behind: str
    added: tuple[float, ...]
    removed: tuple[float, ...]


@dataclass(frozen=True)
class RowPlan:
    """The plan, or why there is none.

    Attributes:
        feasible: whether every rocker and play comes within its limits.
        rows: the rows as they will be (as they are, where not feasible).
        positions: where everything then sits, by the forward model, a row each.
        shims: changes of shims; spacers: (row, bay, slot, new length [m]); stands: (row, name, move [m]).
        changes: shims handled, spacers cut and stands moved.
        total_error: [m] sum of |offset|.
        blocked: bays for which no plan exists; "all": the drawer holds too few.
        remedies: what would help, for each of these.
        proved: False where a short drawer was searched for as long as allowed without an end: the plan may
            not be the best, or, where not feasible, one may exist after all.
        needing: where the drawer holds too few for all, the bays that must change.
    """

    feasible: bool
    rows: tuple[tuple[Part, ...], ...]
    positions: tuple[RowPositions, ...]
    shims: tuple[SlotChange, ...] = ()
    spacers: tuple[tuple[int, str, int, float], ...] = ()
    stands: tuple[tuple[int, str, float], ...] = ()
    changes: int = 0
    total_error: float = 0.0
    blocked: tuple[str, ...] = ()
    remedies: tuple[Remedy, ...] = ()
    proved: bool = True
    needing: tuple[str, ...] = ()


def plan_rows(
    rows: Sequence[Sequence[Part]],
    stock: Mapping[float, int | None],
    *,
    offset_tolerance: Mapping[str, float] | float,
    clearance_low: float,
    clearance_high: float,
    margin: float = 0.0,
    most_shims: int = 3,
    hold: Collection[str] = (),
) -> RowPlan:
    """Plan one or several shafts at once.

    Args:
        rows: each from front to rear, as `shaft_row.bays` takes them; valve names differ between rows.
        stock: thickness [m] -> number in the drawer, None for any number. What is now fitted may be used
            again and is counted besides.
        offset_tolerance: [m] allowed |offset|, one for all or by valve.
        clearance_low, clearance_high: [m] end clearance of every solid bay (springs carry their own range).
        margin: [m] kept from both of these by a clearance that is changed.
        most_shims: in a slot (a slot that now holds more may keep as many).
        hold: bays, by name ("stand 1 to stand 2"), that stay as they are whatever their limits say; bays tied
            to one of them by a stand that can be moved stay as well.

    Raises ValueError for bad parts, thicknesses or ranges, naming the bay or part.
    """
    if not 0 <= clearance_low <= clearance_high:
        raise ValueError(
            f"end clearance range {clearance_low} to {clearance_high} m is out of order or negative"
        )
    if any(not thickness > 0 for thickness in stock):
        raise ValueError(f"stock holds {sorted(stock)} m; every thickness must be positive")
    snapped = [_snapped(row, stock) for row in rows]
    names = Counter(part.valve for row in snapped for part in row if isinstance(part, Rocker))
    if names and names.most_common(1)[0][1] > 1:
        raise ValueError(f"valve {names.most_common(1)[0][0]} has more than one rocker in the rows")
    found = [
        bay
        for number, row in enumerate(snapped)
        for bay in linear_bays(number, row, offset_tolerance, clearance_low, clearance_high, margin)
    ]
    found = [bay for bay in found if bay.bay.rockers]
    groups = [g for g in blocks(found) if not ({group_name(g), *(bay.name for bay in g)} & set(hold))]
    found = [bay for group in groups for bay in group]
    fitted = sum((slot for bay in found for slot in bay.fitted), Counter[float]())
    available = {
        t: None if stock.get(t, 0) is None else (stock.get(t, 0) or 0) + fitted[t] for t in (*stock, *fitted)
    }
    still = {
        (bay.row, bay.number): bay
        for bay in _still(snapped, offset_tolerance, clearance_low, clearance_high, margin)
    }
    parts: list[Solution] = []
    blocked: list[list[LinearBay]] = []
    for group in groups:
        solution = _solved(group, still, available, most_shims)
        if solution is None:
            blocked.append(group)
        else:
            parts.append(solution)
    if blocked:
        remedies = tuple(r for group in blocked for r in remedies_for(group, available, most_shims))
        return _unsolved(snapped, tuple(group_name(group) for group in blocked), remedies)
    if _overdrawn(parts, available):
        joint = None
        separate = all(map(_can_be_enumerated, groups))
        least = [_changes(bay, parts) for bay in found]
        program = Program(found, available, most_shims, seconds=_SECONDS)
        possible = program.possible()
        if possible and separate:
            joint = joint_plan(found, least, available, most_shims)
        if joint is None:
            if possible:
                joint = program.solved(program.changes, program.error_terms())
            if joint is None:
                more = shims_short(found, least, available, most_shims) if separate else {}
                if not more:
                    loose = Program(found, available, most_shims, more=True, seconds=_SECONDS)
                    bought = loose.solved(loose.named("more"))
                    more = {} if bought is None else {n[1]: int(c) for n, c in bought.loosened.items()}
                remedies = tuple(Remedy("all", "buy more", "stock", t, n) for t, n in more.items())
                needing = tuple(bay.name for bay, fewest in zip(found, least, strict=True) if fewest)
                unsolved = _unsolved(snapped, ("all",), remedies)
                return replace(unsolved, proved=not program.timed_out, needing=needing)
        parts = [joint]
    return _plan(snapped, found, parts)


def _still(
    rows: Sequence[tuple[Part, ...]],
    tolerance: Mapping[str, float] | float,
    low: float,
    high: float,
    margin: float,
) -> list[LinearBay]:
    """The bays with every spacer left as long as it is."""
    fixed = [tuple(replace(p, can_be_cut=False) if isinstance(p, Spacer) else p for p in row) for row in rows]
    return [bay for k, row in enumerate(fixed) for bay in linear_bays(k, row, tolerance, low, high, margin)]


def _solved(
    group: list[LinearBay],
    still: Mapping[tuple[int, int], LinearBay],
    available: Mapping[float, int | None],
    most: int,
) -> Solution | None:
    """One block: by shims alone, and as a program where cutting or moving could need fewer changes."""
    shims: dict[tuple[int, int, int], Counter[float]] | None = {}
    changes = 0
    for bay in group:
        plan = enumerated(still[bay.row, bay.number], available, most)
        if isinstance(plan, str):
            if plan == "none" and _can_be_enumerated(group):
                return None
            shims = None
            break
        changes += plan.changes
        assert shims is not None
        shims |= {(bay.row, bay.number, slot): held for slot, held in enumerate(plan.shims)}
    alone = None if shims is None else Solution(shims, _lengths(group), {}, {})
    # Fewer changes than none there are not.
    if alone is not None and (changes == 0 or _can_be_enumerated(group)):
        return alone
    program = Program(group, available, most, seconds=_SECONDS)
    if alone is not None:
        program.rows.append((dict(program.changes), -np.inf, changes))
    found = program.solved(program.changes, program.error_terms())
    if found is None:
        return alone if alone is None else replace(alone, proved=not program.timed_out)
    return found


def _lengths(group: Sequence[LinearBay]) -> dict[tuple[int, int, int, int], float]:
    """Present lengths of the spacers that may be cut."""
    return {
        (bay.row, bay.number, slot, number): spacer.width
        for bay in group
        for slot, spacers in enumerate(bay.spacers)
        for number, spacer in enumerate(spacers)
    }


def _can_be_enumerated(group: Sequence[LinearBay]) -> bool:
    """A bay between located stands, with nothing to cut."""
    bay = group[0]
    return len(group) == 1 and bay.front.shift == 0 == bay.rear.shift and not any(bay.spacers)


def _changes(bay: LinearBay, parts: Sequence[Solution]) -> int:
    """Shims handled in a bay by its own plan."""
    held = {key: value for part in parts for key, value in part.shims.items()}
    after = [held[bay.row, bay.number, slot] for slot in range(len(bay.fitted))]
    pairs = zip(after, bay.fitted, strict=True)
    return sum(((new - old) + (old - new)).total() for new, old in pairs)


def _overdrawn(parts: Sequence[Solution], available: Mapping[float, int | None]) -> bool:
    used = sum((held for part in parts for held in part.shims.values()), Counter[float]())
    return any((limit := available[t]) is not None and n > limit for t, n in used.items())


def _plan(rows: Sequence[tuple[Part, ...]], found: Sequence[LinearBay], parts: Sequence[Solution]) -> RowPlan:
    """The rows as they will be, evaluated by the forward model."""
    shims = {key: held for part in parts for key, held in part.shims.items()}
    lengths = {key: value for part in parts for key, value in part.spacers.items()}
    moves = {key: value for part in parts for key, value in part.moves.items() if abs(value) > _SAME}
    changed: list[SlotChange] = []
    cut: list[tuple[int, str, int, float]] = []
    for bay in found:
        for slot, fitted in enumerate(bay.fitted):
            held = shims[bay.row, bay.number, slot]
            added, removed = (_listed(c) for c in (held - fitted, fitted - held))
            if added or removed:
                changed.append(SlotChange(bay.row, bay.name, slot, *neighbors(bay, slot), added, removed))
            for number, spacer in enumerate(bay.spacers[slot]):
                length = lengths[bay.row, bay.number, slot, number]
                if abs(length - spacer.width) > _SAME:
                    cut.append((bay.row, bay.name, slot, length))
    after = tuple(_rebuilt(number, row, shims, lengths, moves) for number, row in enumerate(rows))
    walls = [[part.name for part in row if isinstance(part, Stand)] for row in rows]
    stands = tuple((row, walls[row][number], move) for (row, number), move in moves.items())
    positions = tuple(placed(row) for row in after)
    return RowPlan(
        True,
        after,
        positions,
        tuple(changed),
        tuple(cut),
        stands,
        sum(len(c.added) + len(c.removed) for c in changed) + len(cut) + len(stands),
        sum(abs(rocker.offset) for row in positions for rocker in row.rockers),
        proved=all(part.proved for part in parts),
    )


def _rebuilt(
    number: int,
    row: tuple[Part, ...],
    shims: Mapping[tuple[int, int, int], Counter[float]],
    lengths: Mapping[tuple[int, int, int, int], float],
    moves: Mapping[tuple[int, int], float],
) -> tuple[Part, ...]:
    """The row with its new shims (first in their slot), spacers and stand positions."""
    new: list[Part] = []
    wall, slot, spacer = -1, 0, 0
    for part in row:
        if isinstance(part, Shim) and (number, wall, slot) in shims:
            continue
        if isinstance(part, Stand):
            wall, slot, spacer = wall + 1, 0, 0
            new.append(replace(part, position=part.position + moves.get((number, wall), 0.0)))
        elif isinstance(part, Rocker):
            slot, spacer = slot + 1, 0
            new.append(part)
        elif isinstance(part, Spacer) and part.can_be_cut:
            new.append(replace(part, width=lengths.get((number, wall, slot, spacer), part.width)))
            spacer += 1
            continue
        else:
            new.append(part)
            continue
        new.extend(Shim(t) for t in _listed(shims.get((number, wall, slot), Counter())))
    return tuple(new)


def _unsolved(
    rows: Sequence[tuple[Part, ...]], blocked: tuple[str, ...], remedies: tuple[Remedy, ...]
) -> RowPlan:
    positions = tuple(placed(row) for row in rows)
    error = sum(abs(rocker.offset) for row in positions for rocker in row.rockers)
    return RowPlan(False, tuple(rows), positions, total_error=error, blocked=blocked, remedies=remedies)


def _snapped(row: Sequence[Part], stock: Mapping[float, int | None]) -> tuple[Part, ...]:
    """Fitted shims under the stock's own number where they are the same but for rounding."""

    def same(part: Part) -> Part:
        if not isinstance(part, Shim):
            return part
        return Shim(next((t for t in stock if abs(t - part.thickness) < _SAME), part.thickness))

    return tuple(same(part) for part in row)


def _listed(held: Counter[float]) -> tuple[float, ...]:
    return tuple(sorted(held.elements(), reverse=True))
