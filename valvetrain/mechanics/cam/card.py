"""A lobe from the figures of a cam card: a smooth closed profile that meets them.

Durations at two or more checking lifts and the lobe lift do not fix a lobe. Of all closed profiles that
meet them, rise without falling back to the nose and fall without rising again, this is the one with the least
integral of jerk squared over the revolution, or, where `likely_flank` tells what is expected of the flanks
between the card's lifts and below them, the one that keeps to that within its doubt with the least jerk.
Everything that hangs on curvature (acceleration, contact stress, film, spring control) is therefore a likely
figure, not a measured one.

A quadratic program in the steps between B-spline coefficients of degree five; steps that are not negative
make the flank monotone. Active-set method on the equations of optimality (J. Nocedal, S. J. Wright,
*Numerical Optimization*, chapter 16; memory), started from non-negative least squares.
"""

from dataclasses import dataclass
from functools import lru_cache
from math import pi

import numpy as np
from scipy.interpolate import BSpline, PPoly

from valvetrain.mechanics.arrays import ArrayLike, BoolArray, FloatArray
from valvetrain.mechanics.cam.events import crossings
from valvetrain.mechanics.cam.lift_curve import LiftCurve, lift_curve_from_pieces
from valvetrain.mechanics.cam.likely_flank import LikelyFlank

__all__ = ["FLANK_WORDS", "RAMP_SHARE", "card_order", "lift_curve_from_card", "lift_curve_from_event_angles"]

FLANK_WORDS = ("angle from opening to the nose", "angle from the nose to closing")
"""What the widths of a flank are called in errors."""

RAMP_SHARE = 0.35
"""The profile may leave the base circle this share of the half duration before the lowest checking lift is
reached (own choice, no source: it takes in the slow start of every motion law in use)."""

PIECES = 64
DEGREE = 5

STIFFNESS = 1e-2
"""Weight of jerk against straying from the likely flank by its doubt (own choice: the strays stay near a
tenth of the doubt)."""

MIDDLE = 1e-3
"""Least doubt of a likely flank's angle that is made use of [cam rad]."""


def lift_curve_from_card(
    checking_lifts: ArrayLike,
    durations: ArrayLike,
    lobe_lift: float,
    likely: LikelyFlank | None = None,
) -> LiftCurve:
    """Symmetric lobe from a card.

    Args:
        checking_lifts: lifts at the **tappet** at which durations are given [m], shape [n], n >= 2.
        durations: cam angle (not crank) between the two events at each lift [cam rad], shape [n].
        lobe_lift: full tappet lift [m].
        likely: what is expected of either flank.

    Returns:
        `LiftCurve` with source "card"; its lobe center and its peak are at 0. It meets the card to 1e-9.

    Raises:
        ValueError: fewer than two lifts, a figure that is not a positive finite number, a checking lift given
            twice or not below the lobe lift, a duration that is not shorter at a higher lift, a lobe longer
            than a revolution, or figures so far apart that the flank would have to jump or stand still.
    """
    lifts, widths = (
        np.atleast_1d(np.asarray(checking_lifts, float)),
        np.atleast_1d(np.asarray(durations, float)),
    )
    order = card_order(lifts, widths, lobe_lift, "duration")
    half = _smoothest([(lifts[order], widths[order] / 2)], float(lobe_lift), [likely])[0]
    return _moving(_joined(half, half), lifts, -widths / 2, widths / 2)


def lift_curve_from_event_angles(
    checking_lifts: ArrayLike,
    opening: ArrayLike,
    closing: ArrayLike,
    lobe_lift: float,
    likely: tuple[LikelyFlank | None, LikelyFlank | None] = (None, None),
) -> LiftCurve:
    """Asymmetric lobe from opening and closing angles.

    Args:
        checking_lifts: at the tappet [m], shape [n], n >= 2.
        opening, closing: cam angles at which each lift is reached and left, on one common scale rising with
            cam angle [cam rad], shape [n]; zero anywhere. Full lift is put midway between the events of the
            highest checking lift.
        lobe_lift: full tappet lift [m].
        likely: what is expected of the opening and of the closing flank.

    Returns:
        `LiftCurve` with source "card"; `center` tells where its angle 0 is on the scale of the events.

    Raises:
        ValueError: as `lift_curve_from_card`, for either flank.
    """
    lifts = np.atleast_1d(np.asarray(checking_lifts, float))
    start, end = np.atleast_1d(np.asarray(opening, float)), np.atleast_1d(np.asarray(closing, float))
    if start.shape != lifts.shape or end.shape != lifts.shape:
        raise ValueError("checking lifts, opening and closing angles must be as many of each")
    if not np.all(np.isfinite(lifts)):
        raise ValueError("a checking lift is not a finite number")
    top = int(np.argmax(lifts)) if lifts.size else 0
    nose = 0.5 * (start[top] + end[top]) if lifts.size else 0.0
    order = card_order(lifts, nose - start, lobe_lift, FLANK_WORDS[0])
    card_order(lifts, end - nose, lobe_lift, FLANK_WORDS[1])
    flanks = [(lifts[order], (nose - start)[order]), (lifts[order], (end - nose)[order])]
    first, second = _smoothest(flanks, float(lobe_lift), list(likely))
    return _moving(_joined(first, second, float(nose)), lifts, start, end)


def card_order(checking_lifts: ArrayLike, card_widths: ArrayLike, lobe_lift: float, what: str) -> list[int]:
    """Order of rising lift of a card's figures.

    Args:
        checking_lifts: at the tappet [m], shape [n].
        card_widths: the angle that the lobe, or one flank, is wide there [cam rad], shape [n].
        lobe_lift: [m].
        what: "duration", or one of `FLANK_WORDS`.

    Raises:
        ValueError: figures that no lobe has, see `lift_curve_from_card`.
    """
    lifts, widths = np.asarray(checking_lifts, float), np.asarray(card_widths, float)
    if lifts.ndim != 1 or lifts.shape != widths.shape:
        raise ValueError(f"there are {lifts.size} checking lifts but {widths.size} of {what}")
    if lifts.size < 2:
        raise ValueError(f"a card needs its {what} at two checking lifts at least; it has {lifts.size}")
    for name, values in (("checking lift", lifts), (what, widths), ("lobe lift", np.array([lobe_lift]))):
        bad = values[~(np.isfinite(values) & (values > 0))]
        if bad.size:
            raise ValueError(f"the {name} {bad[0]:g} is not allowed; it must be a finite number above 0")
    order = np.argsort(lifts)
    low, width = lifts[order], widths[order]
    if low[-1] >= lobe_lift:
        raise ValueError(f"the checking lift {low[-1]:g} m is not below the lobe lift {lobe_lift:g} m")
    for k in range(low.size - 1):
        if low[k] == low[k + 1]:
            raise ValueError(f"the checking lift {low[k]:g} m is given twice")
        if width[k + 1] >= width[k]:
            raise ValueError(
                f"the {what} is {2 * np.degrees(width[k + 1]):.6g} crank degrees at {low[k + 1]:g} m but "
                f"{2 * np.degrees(width[k]):.6g} at {low[k]:g} m; it must be shorter at the higher lift"
            )
    if width[0] > (pi if what != "duration" else 2 * pi):
        raise ValueError(f"the {what} of {np.degrees(width[0]):.6g} cam degrees is more than a cam has")
    return [int(k) for k in order]


@dataclass(frozen=True)
class _Half:
    """One flank from the nose (0) outward to where it is zero (`reach`), as B-spline coefficients."""

    coefficients: FloatArray
    reach: float


@lru_cache(maxsize=1)
def _basis() -> tuple[FloatArray, BSpline, FloatArray]:
    """Knots on [0, 1], all basis functions, and a square root of the roughness per coefficient."""
    knots = np.concatenate([np.zeros(DEGREE), np.linspace(0, 1, PIECES + 1), np.ones(DEGREE)])
    count = PIECES + DEGREE
    basis = BSpline(knots, np.eye(count), DEGREE)
    # Jerk is a parabola on each piece: three Gauss points integrate its square exactly.
    nodes, weights = np.polynomial.legendre.leggauss(3)
    at = ((np.arange(PIECES)[:, np.newaxis] + 0.5 + nodes / 2) / PIECES).ravel()
    root = basis.derivative(3)(at) * np.sqrt(np.tile(weights, PIECES) / (2 * PIECES))[:, np.newaxis]
    return knots, basis, root


def _smoothest(
    flanks: list[tuple[FloatArray, FloatArray]], lobe_lift: float, likely: list[LikelyFlank | None]
) -> list[_Half]:
    """Coefficients of one flank mirrored, or of two joined smoothly at the nose."""
    _, basis, root = _basis()
    count = PIECES + DEGREE
    # Coefficient k is the sum of the steps down from k on, the last being the base circle's 0.
    summed = np.triu(np.ones((count, count - 1)))
    nose = np.vstack([basis(0.0, nu=order) for order in (1, 2, 3)]) @ summed
    end = np.vstack([basis(1.0, nu=order) for order in (1, 2)]) @ summed
    reaches = [
        min((1 + RAMP_SHARE) * float(widths[0]) if flank is None else flank.reach, pi)
        for (_, widths), flank in zip(flanks, likely, strict=True)
    ]
    rows, rights, rough, strays = [], [], [], []
    blank = np.zeros(count - 1)
    for index, (lifts, widths) in enumerate(flanks):
        reach = reaches[index]
        wanted = [np.ones(count - 1), *(basis(widths / reach) @ summed), nose[0], *end]
        right = [1.0, *(lifts / lobe_lift), 0.0, 0.0, 0.0]
        if len(flanks) == 1:
            wanted.append(nose[2])
            right.append(0.0)
        for row in wanted:
            rows.append(np.concatenate([row if k == index else blank for k in range(len(flanks))]))
        rights += right
        scale = float(widths[0]) if likely[index] is not None else 1.0
        rough.append(root @ summed * (scale / reach) ** 2.5)
        strays.append(_strays(likely[index], basis, summed, reach, lobe_lift, lifts))
    if len(flanks) == 2:
        # Acceleration and jerk are the same seen from both sides of the nose.
        for order, sign in ((2, 1.0), (3, -1.0)):
            row, other = nose[order - 1] / reaches[0] ** order, nose[order - 1] / reaches[1] ** order
            rows.append(np.concatenate([row, -sign * other]))
            rights.append(0.0)
    size = len(flanks) * (count - 1)
    wanted_rows, wanted_right = [], []
    for index, (part, (near, at)) in enumerate(zip(rough, strays, strict=True)):
        both = np.vstack([part * np.sqrt(STIFFNESS) if at.size else part, near])
        wide = np.zeros((len(both), size))
        wide[:, index * (count - 1) : (index + 1) * (count - 1)] = both
        wanted_rows.append(wide)
        wanted_right.append(np.concatenate([np.zeros(len(part)), at]))
    steps = _least(np.vstack(wanted_rows), np.concatenate(wanted_right), np.array(rows), np.array(rights))
    return [
        _Half(lobe_lift * (summed @ steps[index * (count - 1) : (index + 1) * (count - 1)]), reach)
        for index, reach in enumerate(reaches)
    ]


def _strays(
    likely: LikelyFlank | None,
    basis: BSpline,
    summed: FloatArray,
    reach: float,
    lobe_lift: float,
    lifts: FloatArray,
) -> tuple[FloatArray, FloatArray]:
    """Rows and right side whose difference is how far the flank strays from the likely one, in its doubts."""
    if likely is None:
        return np.empty((0, summed.shape[1])), np.empty(0)
    # The card's own lifts are met exactly, and the nose is.
    far = np.min(np.abs(likely.levels[:, np.newaxis] - lifts), axis=1) > 1e-9 * lobe_lift
    far &= likely.levels < 0.98 * lobe_lift
    spread = likely.slope[far] * np.maximum(likely.doubt[far], MIDDLE) / lobe_lift
    rows = basis(likely.angle[far] / reach) @ summed / spread[:, np.newaxis]
    return rows, likely.levels[far] / lobe_lift / spread


def _least(wanted: FloatArray, target: FloatArray, equal: FloatArray, right: FloatArray) -> FloatArray:
    """Minimise |wanted x - target|^2 with equal x = right and x >= 0."""
    from scipy.optimize import nnls

    norm = np.linalg.norm(wanted, 2)
    wanted, target = wanted / norm, target / norm
    size = np.linalg.norm(equal, axis=1)
    equal, right = equal / size[:, np.newaxis], right / size
    start, _ = nnls(np.vstack([wanted, 1e2 * equal]), np.concatenate([target, 1e2 * right]))
    held: BoolArray = start <= 1e-12
    hessian, linear = wanted.T @ wanted, wanted.T @ target
    seen: set[bytes] = set()
    for _ in range(200):
        x, multipliers = _with_held(hessian, linear, equal, right, held)
        low, wrong = x < -1e-12, multipliers < -1e-14
        change = (low & ~held) | (wrong & held)
        if not np.any(change):
            if np.max(np.abs(equal @ x - right)) > 1e-9:
                break
            return np.maximum(x, 0.0)
        if held.tobytes() in seen:
            # Cycling: change one at a time, the worst first, which always ends.
            score = np.where(low & ~held, -x / max(float(np.max(np.abs(x))), 1e-300), 0.0)
            largest = max(float(np.max(np.abs(multipliers))), 1e-300)
            score += np.where(wrong & held, -multipliers / largest, 0.0)
            change = np.arange(x.size) == int(np.argmax(score))
        seen.add(held.tobytes())
        held = held ^ change
    raise ValueError("no smooth monotone flank meets these figures: two of them lie too close together")


def _with_held(
    hessian: FloatArray, linear: FloatArray, equal: FloatArray, right: FloatArray, held: BoolArray
) -> tuple[FloatArray, FloatArray]:
    """Solution with the held unknowns at 0, and the multipliers of the held ones."""
    free = np.flatnonzero(~held)
    k, m = free.size, right.size
    system = np.zeros((k + m, k + m))
    system[:k, :k] = hessian[np.ix_(free, free)]
    system[:k, k:] = equal[:, free].T
    system[k:, :k] = equal[:, free]
    solved = np.linalg.lstsq(system, np.concatenate([linear[free], right]), rcond=1e-15)[0]
    x = np.zeros(held.size)
    x[free] = solved[:k]
    multipliers = np.where(held, hessian @ x - linear + equal.T @ solved[k:], 0.0)
    return x, multipliers


def _moving(curve: LiftCurve, lifts: FloatArray, opening: FloatArray, closing: FloatArray) -> LiftCurve:
    """The curve, if it passes through its events; a flank that stands still at one has no event there."""
    events = crossings(curve, lifts)
    miss = np.abs(
        np.concatenate([events.opening + curve.center - opening, events.closing + curve.center - closing])
    )
    if not np.all(miss < 1e-6):
        worst = lifts[int(np.argmax(np.nan_to_num(miss, nan=np.inf))) % lifts.size]
        raise ValueError(
            f"the flank would have to stand still at the checking lift {worst:g} m to meet these figures"
        )
    return curve


def _joined(opening: _Half, closing: _Half, nose: float = 0.0) -> LiftCurve:
    """The closed curve of two flanks, with the base circle as one piece between them."""
    knots = _basis()[0]
    parts, edges = [], []
    for half in (opening, closing):
        pieces = PPoly.from_spline(BSpline(knots, half.coefficients, DEGREE))
        inside = pieces.c[:, DEGREE:-DEGREE] if pieces.c.shape[1] > PIECES else pieces.c
        scale = half.reach ** -np.arange(5.0, -1.0, -1.0)
        parts.append(inside * scale[:, np.newaxis])
        edges.append(half.reach * np.linspace(0, 1, PIECES + 1))
    flipped = _reversed(parts[0], edges[0])
    points = np.concatenate([-edges[0][::-1], edges[1][1:]])
    coefficients = np.concatenate([flipped, parts[1]], axis=1)
    if points[-1] - points[0] < 2 * pi - 1e-9:
        points = np.append(points, points[0] + 2 * pi)
        coefficients = np.concatenate([coefficients, np.zeros((6, 1))], axis=1)
    return lift_curve_from_pieces(
        points + nose,
        coefficients,
        "card",
        noise=np.nan,
        lift_uncertainty=np.nan,
        base_start=closing.reach + nose,
        base_end=-opening.reach + nose,
    )


def _reversed(coefficients: FloatArray, edges: FloatArray) -> FloatArray:
    """The same pieces seen backward: each about its far end, with odd powers' signs turned."""
    from math import comb

    width = np.diff(edges)
    low = coefficients[::-1]
    turned = np.zeros_like(low)
    for power in range(6):
        for k in range(power + 1):
            turned[k] += low[power] * comb(power, k) * width ** (power - k) * (-1.0) ** k
    flipped: FloatArray = turned[::-1, ::-1]
    return flipped
