"""What does a lobe do: its lift, velocity, acceleration and jerk, and how sure is each?"""

from dataclasses import dataclass
from math import pi

import numpy as np

from valvetrain.mechanics.arrays import FloatArray
from valvetrain.mechanics.cam.card_doubt import peak_doubt
from valvetrain.mechanics.cam.lift_curve import LiftCurve
from valvetrain.mechanics.cam.lift_table_fit import lift_curve_from_table
from valvetrain.parts.card_flanks import card_flanks
from valvetrain.parts.lobe import Lobe
from valvetrain.parts.lobe_curve import lobe_curve
from valvetrain.setup.setup import Setup

__all__ = ["LobeResult", "lobe_study"]

_REFITS = 12
# Share of a peak by which smoothing a table may flatten it (own trial on tables of all laws, no source).
_FLATTENED = 0.03


@dataclass(frozen=True)
class LobeResult:
    """One role's lobe over a turn of the cam, its center at half a turn.

    Attributes:
        role: "intake" or "exhaust"; valves: those that have this lobe.
        source: "table", "law" or "card".
        angle: cam angle, 0 to just under a turn [rad], shape [n].
        lift [m], velocity [m/rad], acceleration [m/rad^2], jerk [m/rad^3]: shape [n].
        peaks: "lift", "velocity", "fall", "acceleration", "nose" (most negative acceleration), "jerk" ->
            (value in those units, its standard uncertainty; NaN where not known).
        noise: of the readings [m]; runout of the base circle, peak to peak [m]; zero_offset taken off [m];
            all NaN where there are no readings.
        residual_angle, residuals: reading less curve [m]; empty without readings.
        cam_speed: at the redline [rad/s]; NaN where not given.
    """

    role: str
    valves: tuple[str, ...]
    source: str
    angle: FloatArray
    lift: FloatArray
    velocity: FloatArray
    acceleration: FloatArray
    jerk: FloatArray
    peaks: dict[str, tuple[float, float]]
    noise: float
    runout: float
    zero_offset: float
    residual_angle: FloatArray
    residuals: FloatArray
    cam_speed: float


def lobe_study(setup: Setup, role: str, step: float = pi / 180) -> LobeResult:
    """Study the lobe of a role, at every `step` of cam angle [rad].

    Raises:
        ValueError: the sheet describes no lobe of that role, or a step that is not within 0.1 to 20 degrees.
    """
    if not 0.099 * pi / 180 <= step <= 20.1 * pi / 180:
        raise ValueError(f"a step of {np.degrees(step):g} cam degrees is outside the range 0.1 to 20")
    trains = [train for train in setup.trains if train.role == role]
    curve = lobe_curve(trains[0].lobe) if trains else None
    if curve is None:
        raise ValueError(f"the sheet describes no {role} lobe: give table, law or durations in [lobe.{role}]")
    angle = np.arange(0.0, 2 * pi - 1e-9, step)
    about = angle - pi
    from_table = curve.source == "table"
    return LobeResult(
        role=role,
        valves=tuple(train.name for train in trains),
        source=curve.source,
        angle=angle,
        lift=curve.lift(about),
        velocity=curve.velocity(about),
        acceleration=curve.acceleration(about),
        jerk=curve.jerk(about),
        peaks=_with_doubt(trains[0].lobe, curve),
        noise=curve.noise if from_table else np.nan,
        runout=curve.runout if from_table else np.nan,
        zero_offset=curve.zero_offset if from_table else np.nan,
        residual_angle=np.mod(curve.table_angle + pi, 2 * pi),
        residuals=curve.residuals,
        cam_speed=np.nan if setup.engine.redline is None else 0.5 * setup.engine.redline.value,
    )


def _peaks(curve: LiftCurve) -> dict[str, float]:
    grid = curve.fine_grid[0]
    velocity, acceleration = curve.velocity(grid), curve.acceleration(grid)
    return {
        "lift": curve.max_lift,
        "velocity": float(velocity.max()),
        "fall": float(velocity.min()),
        "acceleration": float(acceleration.max()),
        "nose": float(acceleration.min()),
        "jerk": float(np.max(np.abs(curve.jerk(grid)))),
    }


def _with_doubt(lobe: Lobe, curve: LiftCurve) -> dict[str, tuple[float, float]]:
    """Peaks with their standard uncertainty: none for a law, of the readings' noise, or of the card."""
    peaks = _peaks(curve)
    if curve.source == "law":
        return {name: (value, 0.0) for name, value in peaks.items()}
    if curve.source == "card":
        card = card_flanks(lobe)
        assert card is not None
        doubts = {
            name: peak_doubt(likely, share, abs(peaks[name])) * abs(peaks[name])
            for name, likely, share in (
                ("velocity", card.opening.steepest, card.opening.steepest_doubt),
                ("fall", card.closing.steepest, card.closing.steepest_doubt),
                ("acceleration", card.opening.flank_peak, card.opening.flank_peak_doubt),
                ("nose", card.opening.nose_peak, card.opening.nose_peak_doubt),
            )
        }
        doubts["lift"] = np.nan if lobe.lift is None else lobe.lift.uncertainty
        return {name: (value, doubts.get(name, np.nan)) for name, value in peaks.items()}
    assert lobe.table is not None
    angles = np.array(lobe.table.cam_angles)
    fitted = curve.lift(angles - curve.center) + curve.zero_offset
    random = np.random.default_rng(0)
    again = []
    for _ in range(_REFITS):
        try:
            refit = lift_curve_from_table(angles, fitted + random.normal(0.0, curve.noise, angles.size))
        except ValueError:
            continue
        again.append(_peaks(refit))
    return {
        name: (
            value,
            float(
                np.hypot(
                    np.std([each[name] for each in again]), 0.0 if name == "lift" else _FLATTENED * value
                )
            )
            if len(again) > 2
            else np.nan,
        )
        for name, value in peaks.items()
    }
