"""Exhaustive search over rows on a shaft, with a forward model written apart from the package (derived).

The forward model here pushes all parts to one end and then to the other, or balances the springs' forces,
instead of using the package's equations.
"""

from collections import Counter
from dataclasses import replace
from itertools import combinations_with_replacement, pairwise, product

import numpy as np
import pytest

from valvetrain.mechanics.row.plan import plan_rows
from valvetrain.mechanics.row.shaft import Rocker, Shim, Spacer, Spring, Stand, end_fixing

UM = 1e-6
STOCK_SIZES = (50 * UM, 80 * UM, 130 * UM)
LOW, HIGH, TOLERANCE = 100 * UM, 300 * UM, 150 * UM


def simulated(row):
    """(offset by valve, play or spring lengths by bay): parts as blocks on a line."""
    walls = [k for k, part in enumerate(row) if isinstance(part, Stand)]
    offsets, plays = {}, []
    for a, b in pairwise(walls):
        start = row[a].position + row[a].width / 2
        end = row[b].position - row[b].width / 2
        inside = row[a + 1 : b]
        size = [
            p.hub_width
            if isinstance(p, Rocker)
            else p.thickness
            if isinstance(p, Shim)
            else getattr(p, "width", 0)
            for p in inside
        ]
        springs = [k for k, p in enumerate(inside) if isinstance(p, Spring)]
        if springs:
            # Unknown: each spring's length and the common force. Forces equal, lengths fill the bay.
            n = len(springs)
            matrix, right = np.zeros((n + 1, n + 1)), np.zeros(n + 1)
            for i, k in enumerate(springs):
                matrix[i, i], matrix[i, n] = inside[k].rate, 1.0
                right[i] = inside[k].rate * inside[k].free_length
            matrix[n, :n] = 1.0
            right[n] = end - start - sum(size)
            lengths = np.linalg.solve(matrix, right)[:n]
            for length, k in zip(lengths, springs, strict=True):
                size[k] = length
            plays.append(lengths)
            forward = backward = np.cumsum([start, *size[:-1]])
        else:
            forward = np.cumsum([start, *size[:-1]])  # pushed against the front wall
            backward = end - np.cumsum(size[::-1])[::-1]  # and against the rear wall
            plays.append(backward[0] - forward[0])
        for part, f, r in zip(inside, forward, backward, strict=True):
            if isinstance(part, Rocker):
                offsets[part.valve] = (f + r) / 2 + part.pad_position - part.stem
    return offsets, plays


def allowed(row):
    offsets, plays = simulated(row)
    edge = 1e-9
    if any(abs(o) > TOLERANCE + edge for o in offsets.values()):
        return None
    springs = [p for p in row if isinstance(p, Spring)]
    for play in plays:
        if np.ndim(play):
            for length in play:
                spring = springs.pop(0)
                if not spring.least_length - edge <= length <= spring.most_length + edge:
                    return None
        elif not LOW - edge <= play <= HIGH + edge:
            return None
    return sum(map(abs, offsets.values()))


def slots_of(row):
    """Indices between which each slot's shims lie: the index after which new shims are put."""
    return [k for k, part in enumerate(row[:-1]) if isinstance(part, (Stand, Rocker))]


def with_contents(row, contents):
    new, slot = [], -1
    for part in row:
        if isinstance(part, Shim):
            continue
        new.append(part)
        if isinstance(part, (Stand, Rocker)) and part is not row[-1]:
            slot += 1
            new.extend(Shim(t) for t in contents[slot])
    return tuple(new)


def fitted_of(row):
    held = []
    for part in row:
        if isinstance(part, (Stand, Rocker)) and part is not row[-1]:
            held.append(Counter())
        elif isinstance(part, Shim):
            held[-1][part.thickness] += 1
    return held


def exhaustive(row, stock, most, finish=lambda row: [(0, row)]):
    """(changes, error) of the best row, or None. `finish` adds the rows with lengths cut or stands moved."""
    fitted = fitted_of(row)
    total = sum(fitted, Counter())
    sizes = sorted({*stock, *total})
    options = [c for n in range(most + 1) for c in combinations_with_replacement(sizes, n)]
    best = None
    for contents in product(options, repeat=len(fitted)):
        used = sum((Counter(c) for c in contents), Counter())
        if any(stock.get(t, 0) is not None and n > stock.get(t, 0) + total[t] for t, n in used.items()):
            continue
        changes = 0
        for c, f in zip(contents, fitted, strict=True):
            changes += sum((Counter(c) - f).values()) + sum((f - Counter(c)).values())
        if best is not None and changes > best[0]:
            continue
        for extra, finished in finish(with_contents(row, contents)):
            error = allowed(finished)
            if error is not None and (best is None or (changes + extra, error) < best):
                best = (changes + extra, error)
    return best


def random_row(rng, kinds, shift=0.0, can_be_cut=False):
    """One or two bays, one or two rockers each, whose stems lie where some stack would put them."""
    row, at, valve = [end_fixing("front end", 0.0)], 0.0, 0
    for number, kind in enumerate(kinds):
        bay = []
        count = 2 if kind in ("pair", "spacer") else 1
        for index in range(count):
            if rng.random() < 0.6:
                bay.append(Shim(float(rng.choice(STOCK_SIZES))))
            if kind == "springs" or (kind == "spring" and index == 0):
                free = float(rng.uniform(3e-3, 4e-3))
                bay.append(Spring(free, 1e-3, 0.55 * free, 0.93 * free, float(rng.uniform(1, 3))))
            bay.append(("rocker", float(rng.uniform(20e-3, 25e-3)), f"{valve}I"))
            valve += 1
            if kind == "spacer" and index == 0:
                bay.append(Spacer(float(rng.uniform(8e-3, 9e-3)), can_be_cut, 1e-3, 20e-3))
        if kind == "springs":
            bay.append(Spring(3e-3, 1e-3, 1.5e-3, 2.8e-3, 2.0))
        start = at
        for part in bay:
            if isinstance(part, tuple):
                stem = at + part[1] / 2 + rng.uniform(-250, 250) * UM
                row.append(Rocker(part[2], part[1], part[1] / 2, float(stem)))
                at += part[1]
            else:
                row.append(part)
                name = {Shim: "thickness", Spacer: "width", Spring: "free_length"}[type(part)]
                at += getattr(part, name)
        squeeze = 0.75e-3 if kind == "spring" else 1.5e-3 if kind == "springs" else 0.0
        at += float(rng.uniform(0, 500)) * UM - squeeze
        assert at > start
        width = 15e-3 if number < len(kinds) - 1 else 0.0
        row.append(Stand(f"stand {number}", at + width / 2, width, shift if width else 0.0))
        at += width
    if "spring" in kinds or "springs" in kinds:  # where the springs hold them, give or take
        offsets, _ = simulated(row)
        row = [
            replace(p, stem=p.stem + offsets[p.valve] - float(rng.uniform(-250, 250)) * UM)
            if isinstance(p, Rocker)
            else p
            for p in row
        ]
    return tuple(row)


def random_stock(rng):
    return {t: None if rng.random() < 0.3 else int(rng.integers(0, 3)) for t in STOCK_SIZES}


def compared(row, stock, most=2, finish=lambda row: [(0, row)], error_room=1e-9):
    plan = plan_rows(
        [row], stock, offset_tolerance=TOLERANCE, clearance_low=LOW, clearance_high=HIGH, most_shims=most
    )
    best = exhaustive(row, stock, most, finish)
    assert plan.feasible == (best is not None)
    if best is not None:
        assert plan.changes == best[0]
        assert plan.total_error == pytest.approx(best[1], abs=error_room)
        # The plan's own rows, judged by the model of this file.
        assert allowed(plan.rows[0]) == pytest.approx(plan.total_error, abs=1e-9)
        drawer = Counter()
        for change in plan.shims:
            drawer.update(change.added)
            drawer.subtract(change.removed)
        assert all(stock.get(t, 0) is None or n <= stock.get(t, 0) for t, n in drawer.items())
    return plan.feasible
