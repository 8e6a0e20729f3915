"""What an elastic sweep of a sheet's trains says."""

from dataclasses import dataclass

from valvetrain.mechanics.arrays import FloatArray
from valvetrain.mechanics.dynamics.elastic_measures import ElasticMeasures
from valvetrain.questions.control.train_stiffness import TrainStiffness

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
        speed: of the crankshaft [rad/s]; where `bound` is not empty, what it lies above or below.
        uncertainty: standard uncertainty [rad/s]; NaN of a bound.
        bound: empty, "above" (not every run of the unsure inputs loses control up to the highest speed; the
            lowest speed at which one does, or else the highest speed) or "below" (from the lowest speed on).
        doubt_from: the input with the greatest part in the uncertainty; empty of a bound.
        stiffer_helps: whether stiffer rockers and stands surely raise it (two standard errors of the effect).
    """

    speed: float
    uncertainty: float
    bound: str
    doubt_from: str = ""
    stiffer_helps: bool = False

    @property
    def surely(self) -> float:
        """Speed up to which it surely does not begin [rad/s]: two uncertainties below, or the bound."""
        return {"": self.speed - 2.0 * self.uncertainty, "above": self.speed, "below": 0.0}[self.bound]


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
        parting: the first of the three contacts to part, run by run; None without a sweep.
        lowest: key of the limit that surely holds to the least speed; empty without a sweep.
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
    parting: ElasticLimit | None
    lowest: str
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
