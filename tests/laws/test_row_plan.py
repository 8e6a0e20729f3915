"""The plan of a shaft against exhaustive search with a forward model written apart (derived).

The forward model here pushes all parts to one end and then to the other, or balances the springs' forces,
instead of using the package's equations.
"""

from collections import Counter
from dataclasses import replace
from itertools import combinations_with_replacement, pairwise, product

import numpy as np
import pytest

from valvetrain.mechanics.row_enumeration import enumerated
from valvetrain.mechanics.row_joint import joint_plan
from valvetrain.mechanics.row_model import linear_bays
from valvetrain.mechanics.row_plan import plan_rows
from valvetrain.mechanics.row_program import Program
from valvetrain.mechanics.shaft_row import Rocker, Shim, Spacer, Spring, Stand, end_fixing

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


@pytest.mark.parametrize(
    ("kinds", "most", "count"),
    [
        (("one",), 2, 60),
        (("pair",), 2, 50),
        (("spacer",), 2, 30),
        (("one", "one"), 1, 40),
        (("spring",), 2, 30),
        (("springs",), 2, 30),
    ],
    ids=lambda value: "-".join(value) if isinstance(value, tuple) else str(value),
)
def test_plans_equal_exhaustive_search(kinds, most, count):
    rng = np.random.default_rng(17)
    feasible = [compared(random_row(rng, kinds), random_stock(rng), most) for _ in range(count)]
    assert 0.1 * count < sum(feasible) < count  # both answers occur


def least_on_line(make, low, high, rest):
    """Best error over one length in [low, high]: the error is convex and piecewise linear, so that its least
    is at a kink or at the end of the allowed range, all of which are found by the zeros of every limit."""
    samples = []
    zero, one = make(0.0), make(1.0)
    o0, p0 = simulated(zero)
    o1, p1 = simulated(one)
    values = [low, high]
    for valve in o0:
        slope = o1[valve] - o0[valve]
        if abs(slope) > 1e-12:
            values += [(goal - o0[valve]) / slope for goal in (0.0, TOLERANCE, -TOLERANCE)]
    for a, b in zip(p0, p1, strict=True):
        if abs(b - a) > 1e-12:
            values += [(goal - a) / (b - a) for goal in (LOW, HIGH)]
    samples = [(1, make(float(v))) for v in values if low <= v <= high]
    return [(0, make(rest)), *samples]


def test_spacers_cut_anew_equal_exhaustive_search():
    rng = np.random.default_rng(5)

    def finish(row):
        index = next(k for k, part in enumerate(row) if isinstance(part, Spacer))
        spacer = row[index]

        def make(length):
            return (*row[:index], Spacer(length, True, spacer.least, spacer.most), *row[index + 1 :])

        return least_on_line(make, spacer.least, spacer.most, spacer.width)

    feasible = [
        compared(random_row(rng, ("spacer",), can_be_cut=True), random_stock(rng), 1, finish, 5e-9)
        for _ in range(20)
    ]
    assert any(feasible)


def test_stands_moved_in_their_bolt_holes_equal_exhaustive_search():
    rng = np.random.default_rng(6)

    def finish(row):
        index = next(k for k, part in enumerate(row) if isinstance(part, Stand) and part.shift > 0)
        stand = row[index]

        def make(move):
            moved = Stand(stand.name, stand.position + move, stand.width, stand.shift)
            return (*row[:index], moved, *row[index + 1 :])

        return least_on_line(make, -stand.shift, stand.shift, 0.0)

    feasible = [
        compared(random_row(rng, ("one", "one"), shift=200 * UM), random_stock(rng), 1, finish, 5e-9)
        for _ in range(20)
    ]
    assert any(feasible)


def centered_row(play, offset=0.0):
    rocker = Rocker("1I", 20e-3, 10e-3, play / 2 + 10e-3 - offset)
    return (end_fixing("front end", 0.0), rocker, Stand("stand 1", 20e-3 + play + 5e-3, 10e-3))


def planned(row, stock, **limits):
    limits = {
        "offset_tolerance": TOLERANCE,
        "clearance_low": LOW,
        "clearance_high": HIGH,
        **limits,
    }
    return plan_rows([row], stock, **limits)


def test_a_row_in_order_is_left_alone():
    plan = planned(centered_row(200 * UM, 100 * UM), {50 * UM: None})
    assert plan.feasible
    assert plan.changes == 0
    assert plan.total_error == pytest.approx(100 * UM)


def test_a_missing_thickness_is_named_and_makes_the_plan_possible():
    row = centered_row(1000 * UM)  # 0.7 to 0.9 mm of shims are wanted, the drawer holds 50 um ones
    plan = planned(row, {50 * UM: None})
    assert not plan.feasible
    assert plan.blocked == ("front end to stand 1",)
    # One side alone would push the rocker off its stem: at most 3 x 50 um can balance it.
    assert [r.kind for r in plan.remedies] == ["buy shim", "buy shim"]
    assert planned(row, {50 * UM: None, **{r.amount: 2 for r in plan.remedies}}).feasible


def test_a_hub_too_wide_is_to_be_faced_by_what_is_missing():
    plan = planned(centered_row(40 * UM), {50 * UM: None})
    taken = sum(r.amount for r in plan.remedies if r.kind in ("face hub", "machine stand"))
    assert not plan.feasible
    assert taken == pytest.approx(60 * UM, abs=1e-8)


def test_a_drawer_with_too_few_says_how_many_more():
    # Two bays that each need one shim of 130 um; the drawer has one.
    parts = [end_fixing("front end", 0.0)]
    at = 0.0
    for number in (1, 2):
        parts.append(Rocker(f"{number}I", 20e-3, 10e-3, at + 10e-3 + 200 * UM))
        at += 20e-3 + 400 * UM
        parts.append(Stand(f"stand {number}", at + 5e-3, 10e-3))
        at += 10e-3
    plan = planned(tuple(parts), {130 * UM: 1}, most_shims=1)
    assert plan.blocked == ("all",)
    assert [(r.kind, r.count) for r in plan.remedies] == [("buy more", 1)]
    assert planned(tuple(parts), {130 * UM: 2}, most_shims=1).changes == 2


@pytest.mark.parametrize(
    ("limits", "match"),
    [
        ({"clearance_low": 2e-3}, "end clearance range"),
        ({"offset_tolerance": float("nan")}, "offset tolerance of 1I"),
    ],
)
def test_bad_limits_are_named(limits, match):
    with pytest.raises(ValueError, match=match):
        planned(centered_row(200 * UM), {50 * UM: 1}, **limits)


def test_a_valve_with_two_rockers_is_an_error():
    row = centered_row(200 * UM)
    with pytest.raises(ValueError, match="1I has more than one rocker"):
        planned((*row, Rocker("1I", 1e-2, 5e-3, 0.05), end_fixing("rear end", 0.06)), {50 * UM: 1})


def test_a_short_drawer_shared_by_two_shafts_equals_exhaustive_search():
    # Exhaustive search over both shafts at once: put end to end they are one row of separate bays.
    rng = np.random.default_rng(21)
    tight = 0
    for _ in range(40):
        first, second = random_row(rng, ("one",)), random_row(rng, ("one",))
        length = first[-1].position
        joined = list(first)
        for part in second[1:]:
            if isinstance(part, Rocker):
                joined.append(replace(part, valve="other", stem=part.stem + length))
            elif isinstance(part, Stand):
                joined.append(replace(part, position=part.position + length))
            else:
                joined.append(part)
        renamed = tuple(replace(p, valve="other") if isinstance(p, Rocker) else p for p in second)
        stock = {t: int(rng.integers(0, 2)) for t in STOCK_SIZES}
        limits = {
            "offset_tolerance": TOLERANCE,
            "clearance_low": LOW,
            "clearance_high": HIGH,
            "most_shims": 1,
        }
        best = exhaustive(tuple(joined), stock, 1)
        plan = plan_rows([first, renamed], stock, **limits)
        plenty = plan_rows([first, renamed], dict.fromkeys(stock), **limits)
        assert plan.proved
        assert plan.feasible == (best is not None)
        if best is not None:
            assert (plan.changes, plan.total_error) == (best[0], pytest.approx(best[1], abs=1e-9))
        tight += plenty.feasible and (not plan.feasible or plan.total_error > plenty.total_error + 1e-9)
    assert tight >= 2  # the drawer's counts mattered


@pytest.mark.parametrize("seed", range(6))
def test_joining_the_bays_own_plans_equals_the_integer_program_of_the_whole(seed):
    rng = np.random.default_rng(seed)
    row = random_row(rng, ("one", "one", "one"))
    fitted = sum(fitted_of(row), Counter())
    for count in (1, 2):
        available = {t: count + fitted[t] for t in STOCK_SIZES}
        group = linear_bays(0, row, TOLERANCE, LOW, HIGH)
        own = [enumerated(bay, available, 2) for bay in group]
        if "none" in own:
            continue
        joint = joint_plan(group, [plan.changes for plan in own], available, 2)
        program = Program(group, available, 2)
        whole = program.solved(program.changes, program.error_terms())
        assert (joint is None) == (whole is None)
        if joint is not None:
            assert measured(row, joint) == pytest.approx(measured(row, whole), abs=1e-8)


def measured(row, solution):
    contents = [tuple(held.elements()) for _, held in sorted(solution.shims.items())]
    changes = sum(
        sum((Counter(c) - f).values()) + sum((f - Counter(c)).values())
        for c, f in zip(contents, fitted_of(row), strict=True)
    )
    return changes, allowed(with_contents(row, contents))


def test_a_free_stand_goes_where_both_its_rockers_need_it():
    parts = (
        end_fixing("front end", 0.0),
        Rocker("1I", 20e-3, 10e-3, 10e-3 + 100 * UM),
        Stand("stand 1", 25e-3 + 900 * UM, 10e-3, np.inf),
        Rocker("1E", 20e-3, 10e-3, 40e-3 + 300 * UM),
        end_fixing("rear end", 50e-3 + 400 * UM),
    )
    plan = planned(parts, {}, offset_tolerance=10 * UM)
    assert plan.feasible
    assert plan.changes == 1
    ((_, name, move),) = plan.stands
    assert (name, move) == ("stand 1", pytest.approx(-700 * UM, abs=1e-8))
    assert allowed(plan.rows[0]) == pytest.approx(0.0, abs=1e-8)
