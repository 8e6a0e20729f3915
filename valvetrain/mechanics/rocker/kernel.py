"""Inner loop of the shaft rocker: the pad arm's direction from the lower ball, by square roots alone.

The upper ball lies where the circle of the socket arm about the shaft crosses the circle of the pushrod
about the lower ball. Written as the lower ball's own vector, scaled and turned a right angle, the crossing
needs no angle at all; a fixed turn by the arm angle leads on to the pad arm. Long arrays are worked in
blocks that stay in the processor's cache. Internal to `rocker_linkage`, whose frames hold. Derived.
"""

from dataclasses import dataclass

import numpy as np

from valvetrain.mechanics.arrays import BoolArray, FloatArray

__all__ = ["PushrodSide", "arm_swing", "pad_fall"]

# Values worked at once: eight scratch arrays of this length fit a usual second-level cache.
_BLOCK = 16384


@dataclass(frozen=True)
class PushrodSide:
    """What moves the rocker, each of shape [..., 1]. Lengths [m], angles [rad].

    Attributes:
        lever: socket arm; rod: planar pushrod length, NaN where the linkage does not go together.
        line: the lower ball's line from the shaft axis (`tappet_setback`).
        depth: how far the lower ball is below the point of its line nearest the shaft, on the base circle.
        turn: from the socket arm, seen from the tappet's line, to the pad arm: tappet_angle - arm_angle.
        arm: pad arm.
    """

    lever: FloatArray
    rod: FloatArray
    line: FloatArray
    depth: FloatArray
    turn: FloatArray
    arm: FloatArray

    def rows(self, part: slice | tuple[slice, ...]) -> "PushrodSide":
        """Some rows of the leading axis."""
        return PushrodSide(
            self.lever[part],
            self.rod[part],
            self.line[part],
            self.depth[part],
            self.turn[part],
            self.arm[part],
        )


@dataclass(frozen=True)
class ArmSwing:
    """Direction of the pad arm and what moves with it, shape [..., n].

    Attributes:
        sine, cosine: of the pad arm's angle from +x.
        rate: turn in the opening direction per tappet rise [rad/m].
        toward, above: upper ball seen from the lower one [m]: square to the bore, and along it.
    """

    sine: FloatArray
    cosine: FloatArray
    rate: FloatArray
    toward: FloatArray
    above: FloatArray


def _crossing(side: PushrodSide, below: FloatArray) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Upper ball as shares of the lower ball's vector: along it, square to it; and 1/(its length squared)."""
    inverse = below * below
    inverse += side.line * side.line
    np.reciprocal(inverse, out=inverse)
    along = inverse * (0.5 * (side.lever * side.lever - side.rod * side.rod))
    along += 0.5
    across = inverse * (side.lever * side.lever)
    across -= along * along
    np.sqrt(across, out=across)
    return along, across, inverse


def _past_lock(side: PushrodSide, lift: FloatArray) -> BoolArray:
    """Whether the lower ball has passed the shaft by a way on which the links could not follow."""
    return np.asarray((side.depth < lift) & (np.abs(side.rod - side.lever) > np.abs(side.line)))


def _possible_throughout(side: PushrodSide, lift: FloatArray) -> bool:
    """Whether both ends of the lifts show that nothing goes wrong between them.

    A lock that has been passed shows at the end (as no crossing, or by `_past_lock`); the arm turns one way
    while the upper ball is above the lower one; and that height, once lost, does not come back (the arm
    stands still there while the tappet rises).
    """
    if lift.size == 0:
        return True
    ends = np.stack([lift.min(axis=-1), lift.max(axis=-1)], axis=-1)
    swing = arm_swing(side, ends)
    return bool(((swing.cosine > 0) & (swing.above > 0)).all())


def arm_swing(side: PushrodSide, lift: FloatArray) -> ArmSwing:
    """Pad arm at each tappet lift [m], broadcast; NaN where the pushrod cannot follow."""
    below = side.depth - lift
    with np.errstate(invalid="ignore", divide="ignore"):
        along, across, inverse = _crossing(side, below)
        up, away = across * side.line - along * below, across * below + along * side.line
        above = np.where(_past_lock(side, lift), np.nan, up + below)
        cosine, sine = np.cos(side.turn) / side.lever, np.sin(side.turn) / side.lever
        return ArmSwing(
            sine=up * cosine - away * sine,
            cosine=-(away * cosine + up * sine),
            rate=above * inverse / across,
            toward=side.line - away,
            above=above,
        )


def pad_fall(
    side: PushrodSide, lift: FloatArray, *, with_ratio: bool
) -> tuple[FloatArray, FloatArray | None]:
    """Pad drop [m] and, if wanted, d(pad drop)/d(tappet rise), each [..., n]; NaN where it cannot be."""
    shape = np.broadcast_shapes(side.depth.shape, side.lever.shape, lift.shape)
    drop = np.empty(shape)
    ratio = np.empty(shape) if with_ratio else None
    with np.errstate(invalid="ignore", divide="ignore"):
        cosine, sine = np.cos(side.turn) * side.arm / side.lever, np.sin(side.turn) * side.arm / side.lever
        line_sine, line_cosine = side.line * sine, side.line * cosine
        # The closed height by the same steps as the others, so that no lift gives no drop, exactly.
        along, across, _ = _crossing(side, side.depth)
        closed = along * (side.depth * cosine + line_sine)
        closed += across * (side.depth * sine - line_cosine)
        closed = -closed
        safe = _possible_throughout(side, lift)
        leading = max(1, drop.size // max(1, shape[-1]))
        block = max(64, _BLOCK // leading)
        wide = lift.shape[-1] > 1
        for start in range(0, shape[-1], block):
            part = (..., slice(start, start + block))
            below = side.depth - (lift[part] if wide else lift)
            along, across, inverse = _crossing(side, below)
            # The lower ball's vector, and the one square to it, turned on to the pad arm.
            ahead = below * cosine
            ahead += line_sine
            aside = below * sine
            aside -= line_cosine
            fall = drop[part]
            np.multiply(along, ahead, out=fall)
            turned = across * aside
            fall += turned
            fall += closed
            if safe and ratio is None:
                continue
            # Reach of the pad arm: not above zero when it hangs past straight down.
            aside *= along
            ahead *= across
            reach = aside
            reach -= ahead
            # Upper ball above the lower one: not above zero when the pushrod lies flat.
            along *= below
            below -= along
            above = across * side.line
            above += below
            above *= reach
            if ratio is not None:
                inverse *= above
                np.divide(inverse, across, out=ratio[part])
            if not safe:
                impossible = ~(above > 0) | _past_lock(side, lift[part] if wide else lift)
                fall[impossible] = np.nan
                if ratio is not None:
                    ratio[part][impossible] = np.nan
    return drop, ratio
