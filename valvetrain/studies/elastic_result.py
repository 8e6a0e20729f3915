"""What an elastic sweep of a sheet's trains says."""

from dataclasses import dataclass

from valvetrain.mechanics.arrays import FloatArray
from valvetrain.mechanics.elastic_measures import ElasticMeasures
from valvetrain.studies.train_stiffness import TrainStiffness

__all__ = ["LIMITS", "ElasticLimit", "ElasticResult", "ElasticRole", "Judgments", "Motion"]

LIMITS = {
    "lobe": "tappet leaves the lobe",
    "pushrod": "pushrod leaves its cup",
    "tip": "pad leaves the tip",
    "bounce": "valve bounces off its seat",
}
"""What begins at a limit, in shop words."""


@dataclass(frozen=True)
class Judgments:
    """What counts as what, and the damping: see the sheet's [control]; [m], [m], [-], [-]."""

    least_gap: float
    least_bounce: float
    ramp_share: float
    damping_ratio: float


@dataclass(frozen=True)
class ElasticLimit:
    """Where one loss of control begins.

    Attributes:
        speed: of the crankshaft [rad/s]; the end of the sweep where it does not begin in it.
        uncertainty: standard uncertainty [rad/s].
        within: whether it begins within the sweep.
    """

    speed: float
    uncertainty: float
    within: bool


@dataclass(frozen=True)
class Motion:
    """One cycle at one speed: crank speed [rad/s], cam angle from full lift [rad], lifts [m]."""

    crank_speed: float
    angle: FloatArray
    rigid_lift: FloatArray
    valve_lift: FloatArray


@dataclass(frozen=True)
class ElasticRole:
    """The sweep of one role's weakest valve.

    Attributes:
        role, valve: whose it is; valve empty where the rigid limit is not known.
        reason: why there is no sweep; empty where there is one.
        stiffness: of the train.
        limits: key of `LIMITS` -> where it begins; empty without a sweep.
        parting_margin, bounce_margin: room from the redline and its standard uncertainty [-]; NaN if unknown.
        doubt_from: the input with the greatest part in the uncertainty of the lowest limit.
        measures: each of shape [speeds]; None without a sweep.
        steady: whether the last two cycles agree to 0.1 mm, [speeds]; above the limits the motion is
            chaotic, and single numbers there mean little.
        motion: the sweep with only the speed nearest to the lowest limit, or to its end; None without.
    """

    role: str
    valve: str
    reason: str
    stiffness: TrainStiffness | None
    limits: dict[str, ElasticLimit]
    parting_margin: tuple[float, float]
    bounce_margin: tuple[float, float]
    doubt_from: str
    measures: ElasticMeasures | None
    steady: FloatArray
    motion: Motion | None


@dataclass(frozen=True)
class ElasticResult:
    """The elastic sweep.

    Attributes:
        redline: [rad/s]; NaN where the sheet gives none.
        crank_speed: speeds of the sweep [rad/s], shape [speeds].
        roles: one entry a role.
        judgments: what was judged.
    """

    redline: float
    crank_speed: FloatArray
    roles: tuple[ElasticRole, ...]
    judgments: Judgments
