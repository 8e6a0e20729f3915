"""Faults that only show when the values of a valve are put together."""

import math

from valvetrain.mechanics.rocker.linkage_fault import linkage_fault
from valvetrain.parts.lobe import Lobe
from valvetrain.parts.lobe_curve import lobe_curve
from valvetrain.parts.measured import Measured
from valvetrain.parts.train import Train
from valvetrain.setup.contradictions import contradictions
from valvetrain.setup.engine_faults import engine_faults
from valvetrain.setup.faults import Fault
from valvetrain.setup.pushrod_faults import pushrod_faults
from valvetrain.setup.setup import Setup
from valvetrain.setup.spring_faults import spring_figure_faults
from valvetrain.setup.units import lengths_shown, shown

__all__ = ["faults_of"]


def faults_of(setup: Setup) -> list[Fault]:
    """Return what cannot be: springs longer solid than installed, lobes that are none, links out of reach."""
    faults = engine_faults(setup.engine, setup.units)
    lobes: set[Lobe] = set()
    for train in setup.trains:
        faults += _spring_faults(train, setup.units)
        faults += spring_figure_faults(train, setup.units)
        faults += pushrod_faults(train, setup.units)
        if train.lobe not in lobes:
            lobes.add(train.lobe)
            faults += [fault for fault in _lobe_faults(train, setup.units) if fault not in faults]
    faults += contradictions(setup)
    if not faults:
        for train in setup.trains:
            faults += _linkage_faults(train, setup.units)
    return _merged(faults)


def _spring_faults(train: Train, system: str) -> list[Fault]:
    """Compare the heights of one spring."""
    spring = train.spring
    faults = []
    for shorter, longer, what in (
        (
            spring.solid_height,
            spring.installed_height,
            "solid height {} is not below its installed height {}",
        ),
        (spring.installed_height, spring.free_length, "installed height {} is not below its free length {}"),
        (
            spring.installed_height,
            train.valve.stem_height,
            "installed height {}, up to the retainer, is not below the stem height {}, up to the tip: "
            "columns swapped?",
        ),
    ):
        if shorter and longer and shorter.value >= longer.value:
            faults.append(
                Fault(
                    f"valve {train.name}, spring",
                    what.format(
                        shown(shorter.value, "length", system), shown(longer.value, "length", system)
                    ),
                    f"Check {shorter.source} and {longer.source}.",
                )
            )
    return faults


def _lobe_faults(train: Train, system: str) -> list[Fault]:
    """Build the lobe's lift curve, and hold its top against the lift written beside it."""
    where = f"setup.toml [lobe.{train.role}]"
    try:
        curve = lobe_curve(train.lobe)
    except ValueError as error:
        what = lengths_shown(str(error), system)
        return [Fault(where, what, "Correct the lobe, or leave it out if it is unknown.")]
    if curve is None or train.lobe.table is None:
        return []
    # Wear takes some thousandths of an inch off a lobe; a rocker's ratio takes or adds a third.
    for lift, what, share in (
        (train.lobe.lift, "the lift written", 0.05),
        (train.lobe.measured_lift, f"the lobe lift found at {train.name}", 0.20),
    ):
        if lift is None or abs(curve.max_lift - lift.value) <= share * lift.value:
            continue
        top, other = shown(curve.max_lift, "length", system), shown(lift.value, "length", system)
        ratio = curve.max_lift / lift.value if lift.value else math.inf
        nominal = _value(train.rocker.nominal_ratio)
        mend = "Is one at the valve and the other at the tappet, or is a unit wrong?"
        if abs(ratio - nominal) < 0.1 * nominal:
            mend = (
                f"Their ratio, {ratio:.2f}, is that of the rocker: lifts read at the valve belong in a "
                "column valve_lift, with read_at_valve and table_lift in [lobe]."
            )
        return [Fault(where, f"the table's top, {top}, is not {what}, {other}", mend)]
    return []


def _linkage_faults(train: Train, system: str) -> list[Fault]:
    """Say which link of a fully described rocker cannot reach."""
    shaft, rocker, pushrod, tappet = train.shaft, train.rocker, train.pushrod, train.tappet
    length, splay = _value(pushrod.length), _value(pushrod.splay, 0.0)
    if abs(splay) >= length:
        return [
            Fault(f"valve {train.name}, pushrod", "its splay is not below its length", "Correct one of them.")
        ]
    height = _value(shaft.height)
    if shaft.reference_stem_height is not None:
        height -= _value(train.valve.stem_height) - shaft.reference_stem_height.value
    found = linkage_fault(
        setback=_value(shaft.setback),
        height=height,
        pad_arm=_value(rocker.pad_arm),
        pad_radius=_value(rocker.pad_radius),
        socket_arm=_value(rocker.socket_arm),
        arm_angle=_value(rocker.arm_angle),
        lash=_value(train.lash.lash, 0.0),
        pushrod_planar_length=math.sqrt(length**2 - splay**2),
        tappet_setback=_value(tappet.setback),
        tappet_angle=_value(tappet.angle),
        tappet_lift=_value(train.lobe.lift),
    )
    if found is None:
        return _overdrawn_arm(train, height, system)
    amount = f" ({found.meaning}: {shown(found.length, 'length', system)})" if found.length else ""
    return [
        Fault(
            f"valve {train.name}, {found.link}",
            f"{found.sentence.rstrip('.')}{amount}",
            "Check the lengths, angles and units of [shaft], [rocker], [pushrod] and [tappet].",
        )
    ]


def _overdrawn_arm(train: Train, height: float, system: str) -> list[Fault]:
    """Say where the pad cannot go as far down as the valve lifts, known by a dial or from the ratio sold."""
    rocker = train.rocker
    gross = _value(train.station.gross_lift, _value(rocker.nominal_ratio) * _value(train.lobe.lift))
    net = gross - _value(train.lash.lash, 0.0)
    below = height + net - _value(rocker.pad_radius)
    if not below > _value(rocker.pad_arm):
        return []
    where = "as read" if train.station.gross_lift else "by the nominal ratio"
    lift, drop, arm = (shown(each, "length", system) for each in (net, below, _value(rocker.pad_arm)))
    return [
        Fault(
            f"valve {train.name}, rocker",
            f"The pad arm hangs straight down before full lift: at a net lift of {lift}, {where}, the pad's "
            f"center would be {drop} below the shaft axis, and the pad arm is only {arm}",
            "Check the lengths and units of [shaft] and [rocker].",
        )
    ]


def _merged(faults: list[Fault]) -> list[Fault]:
    """Say once what is wrong alike at several valves."""
    alike: dict[tuple[str, str, str], list[str]] = {}
    merged = []
    for fault in faults:
        valve, comma, part = fault.where.partition(", ")
        if valve.startswith("valve ") and comma:
            alike.setdefault((part, fault.what, fault.mend), []).append(valve.removeprefix("valve "))
        else:
            merged.append(fault)
    for (part, what, mend), valves in alike.items():
        name = "valve" if len(valves) == 1 else "valves"
        merged.append(Fault(f"{name} {', '.join(valves)}, {part}", what, mend))
    return merged


def _value(measured: Measured | None, unknown: float = math.nan) -> float:
    return unknown if measured is None else measured.value
