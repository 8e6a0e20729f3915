"""The linkage inferred from what a shop can measure, how sure it is, and what it means on the valve tip."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from valvetrain.answers.output import output
from valvetrain.answers.quantity import Quantity
from valvetrain.mechanics.fit.implausible import reading_warnings
from valvetrain.parts.reading import BenchReading
from valvetrain.questions.fit.fitted_setup import inferred_values
from valvetrain.questions.fit.groups import JointFit, joint_fit
from valvetrain.questions.fit.next_reading import NextReading, next_readings
from valvetrain.questions.fit.outputs import fit_draws, fit_quantities
from valvetrain.questions.fit.priors import PARAMETER_KEYS
from valvetrain.questions.fit.readings import measured_dimensions
from valvetrain.questions.fit.refusals import refuse_unfit
from valvetrain.questions.fit.shafts import FittedShaft, fitted_shafts
from valvetrain.setup.faults import Fault, SheetError
from valvetrain.setup.setup import Setup
from valvetrain.setup.units import shown

__all__ = ["FitResult", "FittedParameter", "SetAside", "fit_study"]


@dataclass(frozen=True)
class FittedParameter:
    """One inferred dimension.

    Attributes:
        key: the sheet key.
        called: the shaft, role or both that it is of, where there are several; else empty.
        dimension: as in `valvetrain.setup.units`.
        value, uncertainty: inferred [SI].
        measured: True where it, or a reading of it, stands in the sheet or the table.
        assumed, assumed_spread: the typical range taken for granted [SI]; basis: in words.
        learned: share of what was open with the known dimensions that the readings closed, 0 to 1.
    """

    key: str
    called: str
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
class FitResult:
    """What was inferred.

    Attributes:
        parameters: the inferred dimensions.
        set_aside: readings that do not fit, the worst first.
        together: combinations that the readings cannot separate, in words.
        shafts: where each shaft stands, its stand shim, and each answer that explains its readings.
        warnings: about the readings as a whole.
        gross_lift ... stand_shim_change_for_least_sweep: at every valve: value and uncertainty of the
            posterior, with its 95 % interval.
        next: what to measure next: shaft by shaft, the most useful first.
        joint: the fit itself.
        readings: number of readings used.
    """

    valves: tuple[str, ...]
    roles: tuple[str, ...]
    parameters: tuple[FittedParameter, ...]
    set_aside: tuple[SetAside, ...]
    together: tuple[str, ...]
    shafts: tuple[FittedShaft, ...]
    warnings: tuple[str, ...]
    next: tuple[NextReading, ...]
    joint: JointFit
    readings: int
    gross_lift: Quantity = output("length", "valve lift at no lash")
    net_lift: Quantity = output("length", "valve lift with the lash in")
    mean_ratio: Quantity = output("ratio", "gross lift over lobe lift")
    sweep_width: Quantity = output("length", "range of the contact across the tip")
    sweep_share: Quantity = output("fraction", "sweep width as a share of gross lift")
    sweep_middle: Quantity = output(
        "length", "middle of the sweep from the stem's axis, plus away from the shaft"
    )
    chamfer_distance: Quantity = output(
        "length", "least distance of the contact from the tip's chamfer", heading="to chamfer"
    )
    height: Quantity = output("length", "shaft axis above this valve's tip")
    stand_shim_change_for_least_sweep: Quantity = output("length", "change of stand shim for the least sweep")


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
    refuse_unfit(setup, bench)
    try:
        joint = joint_fit(setup, bench, by_role)
    except ValueError as error:
        raise SheetError(
            [Fault(table, str(error), "Check units, valve names and which reading is which.")]
        ) from error
    drawn = fit_draws(setup, joint.fit)
    quantities = fit_quantities(setup, joint, drawn)
    return FitResult(
        valves=setup.valves,
        roles=setup.roles,
        parameters=tuple(_parameters(setup, joint, bench)),
        set_aside=tuple(_set_aside(joint)),
        together=tuple(dict.fromkeys(one.sentence for one in joint.fit.weak)),
        shafts=fitted_shafts(setup, joint, drawn),
        warnings=tuple(_warnings(setup, joint)),
        next=next_readings(setup, joint, quantities),
        joint=joint,
        readings=int(joint.fit.used.sum()),
        **quantities,
    )


def _parameters(setup: Setup, joint: JointFit, bench: Sequence[BenchReading]) -> list[FittedParameter]:
    found = []
    fit, shared = joint.fit, joint.shared
    inferred, _ = inferred_values(setup, joint)
    known = measured_dimensions(setup, shared, bench)
    basis = {(one.parameter, one.instance): one for one in joint.assumptions}
    for name, key in PARAMETER_KEYS.items():
        which = inferred.of[key]
        for number in range(int(which.max()) + 1):
            valve = int(np.flatnonzero(which == number)[0])
            base = int(shared.of[name][valve])
            assumption = basis[name, base]
            learned = 1.0 - (float(fit.uncertainty(name)[base]) / assumption.deviation) ** 2
            value, doubt = float(inferred.value[key][valve]), float(inferred.uncertainty[key][valve])
            if name == "height":
                value, doubt = float(fit.value(name)[base]), float(fit.uncertainty(name)[base])
            found.append(
                FittedParameter(
                    key=key,
                    called=inferred.called[key][number],
                    dimension="angle" if name.endswith("angle") else "length",
                    value=value,
                    uncertainty=doubt,
                    measured=key in known and bool(np.any(np.isfinite(known[key].value[which == number]))),
                    assumed=assumption.mean,
                    assumed_spread=assumption.deviation,
                    basis=assumption.basis,
                    learned=float(np.clip(learned, 0.0, 1.0)),
                )
            )
    return found


def _set_aside(joint: JointFit) -> list[SetAside]:
    found = []
    readings = joint.gathered.readings
    for flag in joint.fit.flagged:
        row, kind = joint.gathered.bench[flag.index], readings.kind[flag.index]
        label = joint.gathered.label[flag.index]
        what = label
        if row is not None:
            what = f"{row.kind.replace('_', ' ')} {row.dimension} {row.valve or row.shaft}"
        dimension = "ratio" if kind == "mean_ratio" else "length"
        if kind == "dimension" and readings.parameter[flag.index].endswith("angle"):
            dimension = "angle"
        found.append(
            SetAside(
                source=row.source if row is not None else "the sheet",
                what=" ".join(what.split()),
                dimension=dimension,
                value=float(readings.value[flag.index]),
                predicted=flag.predicted,
                standardized=flag.standardized,
                slip=flag.slip or "",
            )
        )
    return found


def _warnings(setup: Setup, joint: JointFit) -> list[str]:
    found = []
    for valve, sentence in reading_warnings(joint.gathered.readings):
        name = f"{setup.valves[valve]}: " if valve >= 0 else ""
        found.append(f"{name}{sentence}")
    words = {"ink": "marks of ink", "indicator": "dial readings"}
    for instrument, ratio in joint.fit.scatter.items():
        taken = shown(setup.instruments[instrument][1], "length", setup.units)
        found.append(
            f"the {words[instrument]} scatter {ratio:.1f} times as much as the {taken} taken for "
            f"{instrument}, and were taken so: write [instruments] {instrument}, if you know it"
        )
    return found
