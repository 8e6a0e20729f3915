"""What the question of valve control needs beside the masses: stiffness, damping, friction, judgments."""

from dataclasses import dataclass

from valvetrain.parts.measured import Measured
from valvetrain.parts.spec import quantity

__all__ = ["Control"]


@dataclass(frozen=True, kw_only=True)
class Control:
    """Stiffness of the train, from a reading with two springs or from sizes, and what is judged."""

    light_spring_lift: Measured | None = quantity(
        "length",
        "valve lift read with a light checking spring fitted, at the lash that is set",
        low=0.001,
        high=0.03,
        instrument="indicator",
    )
    real_spring_lift: Measured | None = quantity(
        "length", "the same with the real spring fitted", low=0.001, high=0.03, instrument="indicator"
    )
    light_spring_load: Measured | None = quantity(
        "force",
        "load of the light checking spring at that lift",
        low=0.0,
        high=500.0,
        instrument="spring_tester",
    )
    train_stiffness: Measured | None = quantity(
        "stiffness", "stiffness of the whole train as felt at the valve tip", low=1e5, high=1e9
    )
    shaft_bore: Measured | None = quantity(
        "length", "oil bore of the rocker shaft; 0 for a solid one", low=0.0, high=0.05, instrument="caliper"
    )
    shaft_span: Measured | None = quantity(
        "length", "between the stands on both sides of a rocker", low=0.01, high=0.5, instrument="caliper"
    )
    lobe_stiffness: Measured | None = quantity(
        "stiffness",
        "tappet on lobe with the camshaft between its bearings, at the tappet; 60 kN/mm if left out",
        low=1e6,
        high=1e9,
    )
    seat_stiffness: Measured | None = quantity(
        "stiffness", "valve head on its seat; 60 kN/mm if left out", low=1e6, high=1e9
    )
    damping_ratio: Measured | None = quantity(
        "ratio", "damping of each contact, as a share of critical; 0.10 if left out", low=0.005, high=0.9
    )
    spring_share: Measured | None = quantity(
        "ratio",
        "share of the spring's mass that moves with the valve; one third if left out",
        low=0.2,
        high=0.5,
    )
    least_gap: Measured | None = quantity(
        "length",
        "gap from which parts count as separated; 0.038 mm (0.0015 in) if left out",
        low=0.0,
        high=0.001,
        instrument="exact",
    )
    least_bounce: Measured | None = quantity(
        "length",
        "lift after landing from which it counts as a bounce; 0.10 mm (0.004 in) if left out",
        low=0.0,
        high=0.002,
        instrument="exact",
    )
    ramp_share: Measured | None = quantity(
        "fraction",
        "share of full lift below which a gap does not count, while the lash is taken up; 10 % if left out",
        low=0.0,
        high=0.5,
        instrument="exact",
    )
    tip_friction: Measured | None = quantity(
        "ratio", "friction of the pad on the tip; 0.10 if left out, none for a roller", low=0.0, high=0.6
    )
    shaft_friction: Measured | None = quantity(
        "ratio", "friction of the rocker on its shaft; 0.10 if left out", low=0.0, high=0.6
    )
    guide_drag: Measured | None = quantity(
        "force", "steady drag of guide and seal on the stem; none if left out", low=0.0, high=200.0
    )
