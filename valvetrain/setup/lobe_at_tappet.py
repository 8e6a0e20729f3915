"""Lift tables read at a valve, turned into tappet lift through the rocker of that very valve.

What such a table holds is asked for, never assumed: at which valve it was read, whether it is gross or net
lift, and with which lash. A net table saw nothing of the lobe below its lash: its rows on the base circle say
only that the tappet had not yet taken up the lash.
"""

import dataclasses
import math
from collections.abc import Sequence

import numpy as np

from valvetrain.mechanics.arrays import FloatArray
from valvetrain.mechanics.cam.card import RAMP_SHARE
from valvetrain.mechanics.rocker.linkage import closed_position, planar_length, tappet_lift_at_pad_drop
from valvetrain.parts.lobe import LiftTable, Lobe
from valvetrain.parts.measured import Measured
from valvetrain.parts.train import Train
from valvetrain.setup.faults import Fault

__all__ = ["with_lobes_at_tappet"]


def with_lobes_at_tappet(trains: Sequence[Train], faults: list[Fault]) -> list[Train]:
    """Return the trains with every table in tappet lift; what a table at the valve lacks goes to `faults`."""
    found: dict[tuple[str, LiftTable], LiftTable | None] = {}
    turned = []
    for train in trains:
        table = train.lobe.table
        if table is None or table.at_tappet:
            turned.append(train)
            continue
        key = (train.role, table)
        if key not in found:
            found[key] = _at_tappet(train, trains, faults)
        own = found[key]
        lobe = dataclasses.replace(train.lobe, table=own)
        turned.append(dataclasses.replace(train, lobe=lobe))
    return turned


def _at_tappet(train: Train, trains: Sequence[Train], faults: list[Fault]) -> LiftTable | None:
    """Turn one table; None, and a fault, where the sheet leaves open what it is."""
    lobe, table = train.lobe, train.lobe.table
    assert table is not None
    where = f"setup.toml [lobe.{train.role}]"
    missing = _missing(lobe)
    if missing:
        faults.append(
            Fault(where, f"{table.source} is read at the valve, and {missing[0]} is not given", missing[1])
        )
        return None
    read = next((each for each in trains if each.name == str(lobe.read_at_valve).upper()), None)
    if read is None or read.role != train.role:
        names = ", ".join(each.name for each in trains if each.role == train.role)
        faults.append(
            Fault(
                where,
                f"read_at_valve is {lobe.read_at_valve!r}, not one of the {train.role} valves",
                f"Write one of {names}.",
            )
        )
        return None
    lash = lobe.table_lash.value if lobe.table_lash is not None and lobe.table_lift == "net" else 0.0
    lifts = np.array(table.lifts)
    tappet, slope = _tappet_lift(read, np.maximum(lifts, 0.0) + lash, lash)
    if not np.all(np.isfinite(tappet)):
        faults.append(
            Fault(
                where,
                f"the rocker of {read.name} is not known well enough to turn {table.source} into tappet lift",
                "Give its dimensions in [shaft], [rocker], [pushrod] and [tappet], or nominal_ratio; or read "
                "the table at the tappet.",
            )
        )
        return None
    if lash > 0.0:
        return _net(table, tappet, slope, lash)
    # Below zero the dial's noise is carried through as it is.
    tappet = np.where(lifts < 0, lifts * slope, tappet)
    return dataclasses.replace(
        table,
        lifts=tuple(tappet.tolist()),
        lift_uncertainty=table.lift_uncertainty * slope,
        at_tappet=True,
    )


def _missing(lobe: Lobe) -> tuple[str, str] | None:
    """Return what a table at the valve lacks and how to mend it."""
    if lobe.read_at_valve is None:
        return "at which valve", 'Write read_at_valve = "1I" or another: its rocker counts.'
    if lobe.table_lift is None:
        return (
            "whether it is gross or net lift",
            'Write table_lift = "gross" (read without lash) or "net", with table_lash.',
        )
    if lobe.table_lift == "net" and lobe.table_lash is None:
        return "the lash it was read with", "Write table_lash."
    return None


def _net(table: LiftTable, tappet: FloatArray, slope: float, lash: float) -> LiftTable:
    """Turn a table read with lash: its rows hidden by the lash are left out, but for the sure base circle."""
    lifts, angles = np.array(table.lifts), np.array(table.cam_angles)
    seen = lifts > max(4 * table.lift_uncertainty, 0.002 * float(lifts.max()))
    weight = np.where(seen, lifts, 0.0)
    nose = float(np.angle(np.sum(weight * np.exp(1j * angles))))
    away = np.abs(np.mod(angles - nose + math.pi, 2 * math.pi) - math.pi)
    base = ~seen & (away > (1 + RAMP_SHARE) * float(away[seen].max()))
    kept = seen | base
    hidden = lash * slope
    return dataclasses.replace(
        table,
        cam_angles=tuple(angles[kept].tolist()),
        lifts=tuple(np.where(base, 0.0, tappet)[kept].tolist()),
        lift_uncertainty=table.lift_uncertainty * slope,
        at_tappet=True,
        seen_from=hidden,
    )


def _tappet_lift(train: Train, drop: FloatArray, lash: float) -> tuple[FloatArray, float]:
    """Tappet lift at pad drops [m] of one rocker with that lash, and its slope at the start."""
    shaft, rocker, pushrod, tappet = train.shaft, train.rocker, train.pushrod, train.tappet
    height = _value(shaft.height)
    if shaft.reference_stem_height is not None:
        height -= _value(train.valve.stem_height) - shaft.reference_stem_height.value
    closed = closed_position(
        setback=_value(shaft.setback),
        height=height,
        pad_arm=_value(rocker.pad_arm),
        pad_radius=_value(rocker.pad_radius),
        socket_arm=_value(rocker.socket_arm),
        arm_angle=_value(rocker.arm_angle),
        lash=lash,
        pushrod_planar_length=planar_length(length=_value(pushrod.length), splay=_value(pushrod.splay, 0.0)),
        tappet_setback=_value(tappet.setback),
        tappet_angle=_value(tappet.angle),
    )
    small = 1e-5
    lift = tappet_lift_at_pad_drop(closed, np.append(drop, small))
    if np.any(np.isnan(lift)):
        lift = np.append(drop, small) / _value(rocker.nominal_ratio)
    return lift[:-1], float(lift[-1]) / small


def _value(measured: Measured | None, unknown: float = math.nan) -> float:
    return unknown if measured is None else measured.value
