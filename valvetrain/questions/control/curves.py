"""The motion of every valve's train over cam angle, with derivatives, for loads and control."""

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from valvetrain.mechanics.arrays import FloatArray
from valvetrain.mechanics.cam.acceleration_doubt import COARSE_STEP, table_acceleration_doubt
from valvetrain.mechanics.cam.card_doubt import peak_doubt
from valvetrain.mechanics.cam.lift_curve import LiftCurve
from valvetrain.mechanics.dynamics.train_loads import TrainCurves
from valvetrain.mechanics.rocker.linkage import ClosedPosition, pad_drop_and_ratio
from valvetrain.parts.card_flanks import card_flanks
from valvetrain.parts.lobe import Lobe
from valvetrain.parts.lobe_curve import lobe_curve
from valvetrain.questions.rocker.linkage_inputs import closed_linkage, lash_at_valve
from valvetrain.setup.setup import Setup

__all__ = ["LobeShapes", "lobe_shapes", "train_curves"]

# Ratio and pad drop are smooth in the tappet's lift: polynomials through so many lifts hold them to 1e-7.
_NODES = 0.5 - 0.5 * np.cos(np.pi * np.arange(7) / 6)


@dataclass(frozen=True)
class LobeShapes:
    """Every valve's lobe over cam angle from its center, as a share of its lift; arrays [valves, angles].

    Attributes:
        angle: cam angle from the lobe center, rising evenly [rad], shape [angles].
        lift, velocity, acceleration: share of the lobe lift, and its derivatives per cam radian; NaN where
            the sheet describes no lobe.
        doubt: relative standard uncertainty of the acceleration over the nose, shape [valves].
        source: "table", "law", "card" or empty, per valve.
        coarse: whether a table's rows are too far apart for accelerations, per valve.
        lobe_lift: of the lobe as made [m], shape [valves]; NaN where the sheet describes none.
    """

    angle: FloatArray
    lift: FloatArray
    velocity: FloatArray
    acceleration: FloatArray
    doubt: FloatArray
    source: tuple[str, ...]
    coarse: tuple[bool, ...]
    lobe_lift: FloatArray


def lobe_shapes(setup: Setup, angle: FloatArray) -> LobeShapes:
    """Sample every valve's lobe. A worn lobe keeps its shape here, scaled to the lift found."""
    count = len(setup.trains)
    shapes = np.full((3, count, len(angle)), np.nan)
    doubt, made = np.zeros(count), np.full(count, np.nan)
    source, coarse = [""] * count, [False] * count
    done: dict[int, tuple[FloatArray, float, str, bool]] = {}
    for index, train in enumerate(setup.trains):
        curve = lobe_curve(train.lobe)  # one object for all valves with the same lobe
        if curve is None:
            continue
        if id(curve) not in done:
            sampled = np.stack([curve.lift(angle), curve.velocity(angle), curve.acceleration(angle)])
            done[id(curve)] = (sampled / curve.max_lift, *_doubt(train.lobe, curve))
        shapes[:, index], doubt[index], source[index], coarse[index] = done[id(curve)]
        made[index] = curve.max_lift
    lift, velocity, acceleration = shapes
    return LobeShapes(angle, lift, velocity, acceleration, doubt, tuple(source), tuple(coarse), made)


def train_curves(
    shapes: LobeShapes,
    rows: Mapping[str, FloatArray],
    at_pushrod: np.ndarray,
    *,
    pushrod_lean: bool = False,
) -> TrainCurves:
    """Motion of every train from sheet keys, each [..., n]; the fields are [..., n, angles].

    By the linkage where it is known, or else by the rocker's ratio (dial over lobe lift, or nominal), which
    then stays the same through the lift. `rows["lobe.acceleration"]` scales the acceleration (1 as fitted).

    Args:
        shapes: lobes of the n valves.
        rows: values of the keys of `linkage_inputs.linkage_columns`, "station.gross_lift" and
            "lobe.acceleration".
        at_pushrod: True for valves whose lash is measured at the pushrod, [n].
        pushrod_lean: whether the pushrod's lean is wanted, which the control limit does not need; else 0.
    """
    lash = lash_at_valve(rows, at_pushrod)
    height = rows["lobe.lift"]
    closed = closed_linkage(rows, lash)
    drop_at, ratio_at = pad_drop_and_ratio(closed, height[..., np.newaxis] * _NODES)
    constant = rows["station.gross_lift"] / height
    constant = np.where(np.isnan(constant), rows["rocker.nominal_ratio"], constant)[..., np.newaxis]
    unknown = np.asarray(np.isnan(drop_at).any(axis=-1, keepdims=True))
    drop_at = np.where(unknown, constant * height[..., np.newaxis] * _NODES, drop_at)
    ratio_at = np.where(unknown, constant, ratio_at)
    value, slope = _interpolators(shapes.lift)
    ratio_slope = np.where(unknown, 0.0, _over(slope, ratio_at) / height[..., np.newaxis])
    drop = _over(value, drop_at)
    across = rows["rocker.pad_arm"][..., np.newaxis]
    start = np.where(unknown[..., 0], 0.0, closed.pad_angle)[..., np.newaxis]
    sine = np.where(unknown, 0.0, np.sin(start) - drop / across)
    pad_angle = np.arcsin(np.clip(sine, -1.0, 1.0))
    rise = height[..., np.newaxis] * shapes.lift
    return TrainCurves(
        tappet_lift=rise,
        tappet_velocity=height[..., np.newaxis] * shapes.velocity,
        tappet_acceleration=(height * rows["lobe.acceleration"])[..., np.newaxis] * shapes.acceleration,
        valve_lift=np.maximum(drop - lash[..., np.newaxis], 0.0),
        ratio=_over(value, ratio_at),
        ratio_slope=ratio_slope,
        pad_angle=pad_angle,
        pushrod_angle=_lean(closed, pad_angle, rise) if pushrod_lean else np.zeros(drop.shape),
    )


def _doubt(lobe: Lobe, curve: LiftCurve) -> tuple[float, str, bool]:
    """Doubt of the acceleration over the nose, where the curve is from, whether its table is coarse."""
    if curve.source == "table" and lobe.table is not None:
        step = float(np.median(np.diff(lobe.table.cam_angles)))
        noise = max(curve.noise, lobe.table.lift_uncertainty)
        return table_acceleration_doubt(step, noise, curve.max_lift), "table", step > COARSE_STEP
    if curve.source == "card":
        card = card_flanks(lobe)
        assert card is not None  # the curve is made of it
        told = -float(curve.acceleration(curve.fine_grid[0]).min())
        doubts = [
            peak_doubt(each.nose_peak, each.nose_peak_doubt, told) for each in (card.opening, card.closing)
        ]
        return max(doubts), "card", False
    return 0.0, curve.source, False


def _interpolators(share: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Weights of the nodes' values for a polynomial's value and slope at shares of the lift, [..., nodes]."""
    powers = np.arange(len(_NODES))
    inverse = np.linalg.inv(_NODES[:, np.newaxis] ** powers)
    at = share[..., np.newaxis]
    value = at**powers @ inverse
    slope = (powers[1:] * at ** powers[:-1]) @ inverse[1:]
    return value, slope


def _over(weights: FloatArray, nodes: FloatArray) -> FloatArray:
    """Interpolate values at the nodes [..., n, nodes] over the angles, [..., n, angles]."""
    # A product of matrices a valve: many times faster than the same sum written with einsum.
    rows = np.moveaxis(nodes[np.newaxis] if nodes.ndim == 2 else nodes, -2, 0)
    spread = np.moveaxis(rows @ np.swapaxes(weights, 1, 2), 0, -2)
    return np.asarray(spread[0] if nodes.ndim == 2 else spread)


def _lean(closed: ClosedPosition, pad_angle: FloatArray, rise: FloatArray) -> FloatArray:
    """Lean of the pushrod away from the valve, [..., n, angles] [rad]; 0 where the linkage is not known."""
    turned = pad_angle + closed.arm_angle[..., np.newaxis]
    start = closed.pad_angle + closed.arm_angle
    arm, angle = closed.socket_arm[..., np.newaxis], closed.tappet_angle[..., np.newaxis]
    first_x, first_y = closed.socket_arm * np.cos(start), closed.socket_arm * np.sin(start)
    lower_x = (closed.tappet_x - closed.socket_x + first_x)[..., np.newaxis] - rise * np.sin(angle)
    lower_y = (closed.tappet_y - closed.socket_y + first_y)[..., np.newaxis] + rise * np.cos(angle)
    along_x, along_y = arm * np.cos(turned) - lower_x, arm * np.sin(turned) - lower_y
    return np.nan_to_num(np.arctan2(-along_x, along_y))
