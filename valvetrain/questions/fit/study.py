"""The linkage inferred from what a shop can measure, how sure it is, and what it means on the valve tip."""

import dataclasses
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from valvetrain.answers.quantity import Quantity
from valvetrain.mechanics.fit.implausible import reading_warnings
from valvetrain.mechanics.fit.linkage import Mode
from valvetrain.parts.correlation import Correlation
from valvetrain.parts.reading import BenchReading
from valvetrain.questions.fit.fitted_setup import Inferred, fitted_setup, inferred_values
from valvetrain.questions.fit.groups import FittedGroup, fitted_groups
from valvetrain.questions.fit.next_reading import NextReading, next_readings
from valvetrain.questions.fit.outputs import fit_quantities
from valvetrain.questions.fit.priors import PARAMETER_KEYS
from valvetrain.questions.fit.readings import TOLD
from valvetrain.questions.fit.refusals import refuse_unfit
from valvetrain.questions.rocker.study import RockerResult, rocker_study
from valvetrain.setup.faults import Fault, SheetError
from valvetrain.setup.setup import Setup

__all__ = ["Answer", "FitResult", "FittedParameter", "SetAside", "fit_study"]


# An answer less probable than this is not shown on its own; the intervals hold it all the same.
_LEAST_PROBABLE = 0.02


@dataclass(frozen=True)
class FittedParameter:
    """One inferred dimension.

    Attributes:
        key: the sheet key.
        role: where the roles differ, else empty.
        dimension: as in `valvetrain.setup.units`.
        value, uncertainty: inferred [SI].
        measured: True where it, or a reading of it, stands in the sheet or the table.
        assumed, assumed_spread: the typical range taken for granted [SI]; basis: in words.
        learned: share of what was open with the known dimensions that the readings closed, 0 to 1.
    """

    key: str
    role: str
    dimension: str
    value: float
    uncertainty: float
    measured: bool
    assumed: float
    assumed_spread: float
    basis: str
    learned: float


@dataclass(frozen=True)
class SetAside:
    """A reading that does not fit the rest.

    Attributes:
        source: where it stands; what: which reading.
        dimension: of value and predicted [SI].
        standardized: how many standard uncertainties it is off.
        slip: the likely cause, empty where nothing common explains it.
    """

    source: str
    what: str
    dimension: str
    value: float
    predicted: float
    standardized: float
    slip: str


@dataclass(frozen=True)
class Answer:
    """One answer that explains the readings.

    Attributes:
        weight: its probability, 0 to 1.
        inferred, correlation: what it puts into the sheet.
        setup, rocker: the setup with that in it, and its rocker study with the stand's plan.
        shim: change of stand shim for the least sweep at every valve, if this answer is the right one.
    """

    weight: float
    inferred: tuple[Inferred, ...]
    correlation: Correlation
    setup: Setup
    rocker: RockerResult
    shim: Quantity


@dataclass(frozen=True)
class FitResult:
    """What was inferred.

    Attributes:
        parameters: the inferred dimensions.
        set_aside: readings that do not fit, the worst first.
        together: combinations that the readings cannot separate, in words.
        ambiguity: what a second answer means and which reading decides, in words; empty where there is none.
        warnings: about the readings as a whole.
        gross_lift ... stand_shim_change_for_least_sweep: at every valve, see `RockerResult`; value and
            uncertainty of the posterior, with its 95 % interval. height: shaft above that valve's tip.
        next: what to measure next, the most useful first.
        answers: each answer that explains the readings, the most probable first.
        groups: the fits themselves.
        readings: number of readings used.
    """

    valves: tuple[str, ...]
    roles: tuple[str, ...]
    parameters: tuple[FittedParameter, ...]
    set_aside: tuple[SetAside, ...]
    together: tuple[str, ...]
    ambiguity: str
    warnings: tuple[str, ...]
    gross_lift: Quantity
    net_lift: Quantity
    mean_ratio: Quantity
    sweep_width: Quantity
    sweep_share: Quantity
    sweep_middle: Quantity
    chamfer_distance: Quantity
    height: Quantity
    stand_shim_change_for_least_sweep: Quantity
    next: tuple[NextReading, ...]
    answers: tuple[Answer, ...]
    groups: tuple[FittedGroup, ...]
    readings: int


def fit_study(
    setup: Setup, bench: Sequence[BenchReading], table: str, system: str, by_role: bool = False
) -> FitResult:
    """Infer the linkage.

    Args:
        setup: the sheet; what it gives of the linkage counts as measured.
        bench: the table of readings; `table`: its name, for messages.
        system: units of the words.
        by_role: fit intake and exhaust rockers as two castings.

    Raises:
        SheetError: what stands in the way, in shop words.
    """
    refuse_unfit(setup, table, bench)
    try:
        groups = fitted_groups(setup, bench, by_role)
    except ValueError as error:
        raise SheetError(
            [Fault(table, str(error), "Check units, valve names and which reading is which.")]
        ) from error
    quantities = fit_quantities(setup, groups)
    return FitResult(
        valves=setup.valves,
        roles=setup.roles,
        parameters=tuple(each for group in groups for each in _parameters(group)),
        set_aside=tuple(each for group in groups for each in _set_aside(setup, group)),
        together=tuple(dict.fromkeys(one.sentence for group in groups for one in group.fit.weak)),
        ambiguity=" ".join(filter(None, (_ambiguity(group) for group in groups))),
        warnings=tuple(each for group in groups for each in _warnings(setup, group)),
        next=next_readings(setup, groups, quantities),
        answers=_answers(setup, groups),
        groups=groups,
        readings=sum(int(group.fit.used[np.array(group.gathered.label) != TOLD].sum()) for group in groups),
        **quantities,
    )


def _likely(group: FittedGroup) -> tuple[Mode, ...]:
    """The answers worth a shop's trouble."""
    return tuple(mode for mode in group.fit.modes if mode.weight >= _LEAST_PROBABLE)


def _answers(setup: Setup, groups: Sequence[FittedGroup]) -> tuple[Answer, ...]:
    """Each answer alone: what it puts into the sheet and what that means."""
    found = []
    for number in range(max(len(_likely(group)) for group in groups)):
        alone = []
        weight = 1.0
        for group in groups:
            mode = group.fit.modes[min(number, len(group.fit.modes) - 1)]
            weight = min(weight, mode.weight)
            fit = dataclasses.replace(group.fit, modes=(dataclasses.replace(mode, weight=1.0),))
            alone.append(dataclasses.replace(group, fit=fit))
        inferred, correlation = inferred_values(setup, alone)
        new = fitted_setup(setup, inferred, correlation)
        shim = fit_quantities(setup, alone)["stand_shim_change_for_least_sweep"]
        found.append(Answer(weight, inferred, correlation, new, rocker_study(new), shim))
    return tuple(found)


def _parameters(group: FittedGroup) -> list[FittedParameter]:
    found = []
    read = {row.dimension for row in group.gathered.bench if row is not None}
    basis = {one.parameter: one for one in group.assumptions}
    for name, key in PARAMETER_KEYS.items():
        assumption = basis[name]
        uncertainty = float(group.fit.uncertainty(name)[0])
        open_now = (uncertainty / assumption.deviation) ** 2
        found.append(
            FittedParameter(
                key=key,
                role=group.role,
                dimension="angle" if name.endswith("angle") else "length",
                value=float(group.fit.value(name)[0]),
                uncertainty=uncertainty,
                measured=key in group.known or key in read,
                assumed=assumption.mean,
                assumed_spread=assumption.deviation,
                basis=assumption.basis,
                learned=float(np.clip(1.0 - open_now, 0.0, 1.0)),
            )
        )
    return found


def _set_aside(setup: Setup, group: FittedGroup) -> list[SetAside]:
    found = []
    readings = group.gathered.readings
    for flag in group.fit.flagged:
        row, kind = group.gathered.bench[flag.index], readings.kind[flag.index]
        label = group.gathered.label[flag.index]
        key = row.dimension if row is not None and row.dimension else label
        if label == TOLD:
            key = readings.parameter[flag.index]
        what = key if row is None else f"{row.kind.replace('_', ' ')} {row.dimension} {row.valve}".strip()
        dimension = "ratio" if kind == "mean_ratio" else "length"
        if kind == "dimension" and readings.parameter[flag.index].endswith("angle"):
            dimension = "angle"
        found.append(
            SetAside(
                source=row.source if row is not None else label if label == TOLD else "the sheet",
                what=" ".join(what.split()),
                dimension=dimension,
                value=float(readings.value[flag.index]),
                predicted=flag.predicted,
                standardized=flag.standardized,
                slip=flag.slip or "",
            )
        )
    return found


def _ambiguity(group: FittedGroup) -> str:
    """Say what a second answer means and what decides."""
    modes = _likely(group)
    if len(modes) < 2:
        return ""
    whose = f" of the {group.role} rockers" if group.role else ""
    return (
        f"Two answers fit the readings{whose}, {modes[0].weight:.0%} and {modes[1].weight:.0%} probable: "
        "the pad crosses the tip one way or the other as the valve opens, and the stand shim goes the other "
        "way with it. Ink bands cannot tell them apart. A mark made with the valve closed (reading "
        "closed_mark) decides: it shows at which end of the band the pad starts."
    )


def _warnings(setup: Setup, group: FittedGroup) -> list[str]:
    found = []
    for valve, sentence in reading_warnings(group.gathered.readings):
        name = f"{setup.valves[group.members[valve]]}: " if valve >= 0 else ""
        found.append(f"{name}{sentence}")
    return found
