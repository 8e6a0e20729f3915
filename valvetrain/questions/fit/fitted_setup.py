"""The setup with what a fit inferred put in: every study then works on it, correlations included."""

import dataclasses
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from valvetrain.mechanics.arrays import FloatArray
from valvetrain.mechanics.fit.model import linkage_outputs, output_slopes
from valvetrain.parts.correlation import Correlation
from valvetrain.parts.measured import Measured
from valvetrain.questions.fit.groups import JointFit
from valvetrain.questions.fit.priors import PARAMETER_KEYS
from valvetrain.setup.fitted_sheet import NewValue
from valvetrain.setup.linkage_columns import lobe_lift
from valvetrain.setup.schema import ROLES
from valvetrain.setup.setup import Setup

__all__ = [
    "INFERRED_KEYS",
    "Inferred",
    "fitted_setup",
    "heights_by_valve",
    "inferred_values",
    "new_values",
]

INFERRED_KEYS = (*PARAMETER_KEYS.values(), "pushrod.length")
"""Sheet keys that a fit infers."""

_ALIKE = 0.05  # of an uncertainty
_WHOSE = {"setback": "setback_of_shaft", "tappet_setback": "tappet_setback_of_shaft"}
"""Parameter -> the part of it that differs from one written value to the next."""


@dataclass(frozen=True)
class Inferred:
    """What a fit puts into the sheet.

    Attributes:
        value, uncertainty: key -> [SI], shape [n]: the casting's, the shaft's or the bank's, or each valve's
            own for the shaft's height where stem heights are not known.
        of: key -> which of its values each valve has, shape [n].
        called: key -> what each of these is called: a role, a shaft, both, or empty.
    """

    value: Mapping[str, FloatArray]
    uncertainty: Mapping[str, FloatArray]
    of: Mapping[str, NDArray[np.intp]]
    called: Mapping[str, tuple[str, ...]]


def heights_by_valve(setup: Setup) -> bool:
    """Whether the shaft's height is written at every valve, for want of stem heights and their reference."""
    stems, reference = setup.column("valve", "stem_height"), setup.column("shaft", "reference_stem_height")
    return bool(np.any(np.isnan(stems.value)) or np.any(np.isnan(reference.value)))


def inferred_values(setup: Setup, joint: JointFit) -> tuple[Inferred, Correlation]:
    """Return the inferred values, and their correlation: the mean over the valves of each valve's own.

    One value serves all valves of a casting, shaft or bank; its uncertainty is that at each of these valves,
    whose own part is not written down.
    """
    lift = lobe_lift(setup).value
    splay = np.nan_to_num(setup.column("pushrod", "splay").value)

    def keys(columns: Mapping[str, FloatArray]) -> dict[str, FloatArray]:
        outputs = linkage_outputs(columns, lift)
        every = {
            key: np.broadcast_to(columns[name], outputs["height"].shape)
            for name, key in PARAMETER_KEYS.items()
        }
        every["shaft.height"] = outputs["height"]
        every["pushrod.length"] = np.hypot(outputs["pushrod_planar_length"], splay)
        return every

    fit, shared = joint.fit, joint.shared
    table = output_slopes(keys, fit.layout, fit.mean)
    slopes = np.stack([table[key][1] for key in INFERRED_KEYS])  # [keys, valves, parameters]
    covariance = np.einsum("avp,pq,bvq->vab", slopes, fit.covariance, slopes)
    spread = np.sqrt(np.maximum(np.einsum("vaa->va", covariance), 0.0))
    safe = np.where(spread > 0.0, spread, 1.0)
    matrix = np.mean(covariance / safe[:, :, np.newaxis] / safe[:, np.newaxis, :], axis=0)
    np.fill_diagonal(matrix, 1.0)
    of = {key: shared.of[_WHOSE.get(name, name)] for name, key in PARAMETER_KEYS.items()}
    called = {key: shared.called[_WHOSE.get(name, name)] for name, key in PARAMETER_KEYS.items()}
    of["pushrod.length"], called["pushrod.length"] = (
        shared.of["pushrod_length"],
        shared.called["pushrod_length"],
    )
    value, uncertainty = {}, {}
    for place, key in enumerate(INFERRED_KEYS):
        # One pushrod serves a bank: the adjusters take up what its valves differ by.
        own, its = table[key][0], spread[:, place]
        if key == "shaft.height" and heights_by_valve(setup):
            value[key], uncertainty[key] = own, its
            continue
        if key == "shaft.height":
            own = fit.mean[fit.layout.place("height")][of[key]]
        value[key], uncertainty[key] = _mean(own, of[key]), np.sqrt(_mean(its**2, of[key]))
    rows = tuple(tuple(map(float, row)) for row in 0.5 * (matrix + matrix.T))
    return Inferred(value, uncertainty, of, called), Correlation(INFERRED_KEYS, rows, "the fit")


def _mean(values: FloatArray, which: NDArray[np.intp]) -> FloatArray:
    """At each valve the mean over those that share its value."""
    return np.asarray((np.bincount(which, weights=values) / np.bincount(which))[which])


def new_values(setup: Setup, inferred: Inferred) -> tuple[NewValue, ...]:
    """What a sheet holds of it: in the section, in those of its roles or shafts, or else at every valve."""
    found = []
    names = {train.shaft.name for train in setup.trains}
    for key in INFERRED_KEYS:
        which, called = inferred.of[key], inferred.called[key]
        places = {
            name: setup.valves[int(np.flatnonzero(which == place)[0])] for place, name in enumerate(called)
        }
        alike = np.ptp(inferred.value[key]) < _ALIKE * np.min(inferred.uncertainty[key])
        told = all(name == "" or name in ROLES or name in names for name in called)
        if alike:  # shafts or banks that do not differ
            places = {"": setup.valves[0]}
        elif not told or len(places) < len(called):
            places = {}
        if key == "shaft.height" and heights_by_valve(setup):
            places = {}
        pairs = zip(inferred.value[key], inferred.uncertainty[key], strict=True)
        at = {
            valve: (float(value), float(doubt))
            for valve, (value, doubt) in zip(setup.valves, pairs, strict=True)
        }
        found.append(NewValue(key, "angle" if key.endswith("angle") else "length", at, places))
    return tuple(found)


def fitted_setup(setup: Setup, inferred: Inferred, correlation: Correlation) -> Setup:
    """Return the setup with the inferred values in every train."""
    trains = []
    by_valve = heights_by_valve(setup)
    for index, train in enumerate(setup.trains):
        parts: dict[str, dict[str, Measured | None]] = {}
        for key in INFERRED_KEYS:
            section, name = key.split(".")
            parts.setdefault(section, {})[name] = Measured(
                float(inferred.value[key][index]),
                float(inferred.uncertainty[key][index]),
                "inferred by the fit",
                stated=True,
            )
        if by_valve:
            parts["shaft"]["reference_stem_height"] = None
        changed: dict[str, Any] = {
            section: dataclasses.replace(getattr(train, section), **values)
            for section, values in parts.items()
        }
        trains.append(dataclasses.replace(train, **changed))
    return dataclasses.replace(setup, trains=tuple(trains), correlation=correlation)
