"""Bays that share a drawer which holds too few shims for each one's own best plan.

Every bay has a least number of changes. A plan of the whole with d changes more than the sum of these has no
bay more than d above its own least, so that the plans of each bay up to d above its least are enough to find
it: one of them is picked for every bay by a small integer program (scipy's HiGHS), d being raised from zero.
"""

from collections.abc import Mapping, Sequence

import numpy as np

from valvetrain.mechanics.row.enumeration import BayPlan, candidates
from valvetrain.mechanics.row.model import LinearBay
from valvetrain.mechanics.row.program import Solution

__all__ = ["joint_plan", "shims_short"]

_MOST_ABOVE = 3
# For one level: where it is not decided by then, the caller goes on another way.
_SECONDS = 0.5


def joint_plan(
    group: Sequence[LinearBay],
    least: Sequence[int],
    available: Mapping[float, int | None],
    most: int,
) -> Solution | None:
    """The plan of all bays with fewest changes, then least error, within the drawer's counts.

    Args:
        group: bays that can be enumerated; least: the fewest changes of each on its own.
        available, most: as for `row_enumeration.enumerated`.

    Returns None where none was found: not a proof that there is none.
    """
    proved = True
    for above in range(_MOST_ABOVE + 1):
        choices: list[list[BayPlan]] = []
        for bay, fewest in zip(group, least, strict=True):
            found = candidates(bay, available, most, fewest + above)
            if isinstance(found, str):
                return None
            choices.append(found)
        picked, decided = _picked(choices, available, sum(least) + above)
        proved &= decided
        if picked is not None:
            shims = {
                (bay.row, bay.number, slot): held
                for bay, plan in zip(group, picked, strict=True)
                for slot, held in enumerate(plan.shims)
            }
            return Solution(shims, {}, {}, {}, proved)
    return None


def shims_short(
    group: Sequence[LinearBay],
    least: Sequence[int],
    available: Mapping[float, int | None],
    most: int,
) -> dict[float, int]:
    """Fewest more shims, by thickness, with which every bay can have a plan of its own least changes."""
    choices = [candidates(bay, available, most, fewest) for bay, fewest in zip(group, least, strict=True)]
    if any(isinstance(found, str) for found in choices):
        return {}
    lists = [found for found in choices if not isinstance(found, str)]
    bought: dict[float, int] = {}
    _picked(lists, available, sum(least), bought)
    return {thickness: count for thickness, count in bought.items() if count}


def _picked(
    choices: Sequence[Sequence[BayPlan]],
    available: Mapping[float, int | None],
    changes: int,
    bought: dict[float, int] | None = None,
) -> tuple[list[BayPlan] | None, bool]:
    """One plan a bay with at most so many changes in all; and whether the solver came to its end.

    Where `bought` is given, the drawer may be filled up, by as few shims as will do, which it then holds.
    """
    from scipy.optimize import Bounds, LinearConstraint, milp
    from scipy.sparse import csr_array

    flat = [(number, plan) for number, plans in enumerate(choices) for plan in plans]
    counted = [t for t, count in available.items() if count is not None]
    extra = 0 if bought is None else len(counted)
    matrix = np.zeros((len(choices) + len(counted) + 1, len(flat) + extra))
    for row in range(extra):
        matrix[len(choices) + row, len(flat) + row] = -1.0
    for column, (number, plan) in enumerate(flat):
        matrix[number, column] = 1.0
        matrix[len(choices) : -1, column] = [sum(held[t] for held in plan.shims) for t in counted]
        matrix[-1, column] = plan.changes
    limits = [available[t] for t in counted]
    high = np.array([*(1.0 for _ in choices), *limits, changes], dtype=float)
    low = np.concatenate([np.ones(len(choices)), np.full(len(counted) + 1, -np.inf)])
    result = milp(
        [0.0 if extra else plan.error * 1e3 for _, plan in flat] + [1.0] * extra,
        integrality=np.ones(len(flat) + extra),
        bounds=Bounds(0, np.array([1.0] * len(flat) + [np.inf] * extra)),
        constraints=LinearConstraint(csr_array(matrix), low, high),
        options={"mip_rel_gap": 0.0, "time_limit": _SECONDS},
    )
    decided = result.status in (0, 2)
    if result.x is None:
        return None, decided
    if bought is not None:
        bought.update({t: round(result.x[len(flat) + k]) for k, t in enumerate(counted)})
    return [plan for (_, plan), on in zip(flat, result.x[: len(flat)], strict=True) if on > 0.5], decided
