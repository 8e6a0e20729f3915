"""The setup with what a fit inferred put in: every study then works on it, correlations included."""

import dataclasses
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from valvetrain.mechanics.arrays import FloatArray
from valvetrain.mechanics.fit.model import linkage_outputs, output_slopes
from valvetrain.parts.correlation import Correlation
from valvetrain.parts.measured import Measured
from valvetrain.questions.fit.groups import FittedGroup
from valvetrain.questions.fit.priors import PARAMETER_KEYS
from valvetrain.setup.linkage_columns import lobe_lift
from valvetrain.setup.setup import Setup

__all__ = ["INFERRED_KEYS", "Inferred", "fitted_setup", "heights_by_valve", "inferred_values"]

INFERRED_KEYS = (*PARAMETER_KEYS.values(), "pushrod.length")
"""Sheet keys that a fit infers."""


@dataclass(frozen=True)
class Inferred:
    """What a fit puts into the sheet for one group of valves.

    Attributes:
        members: indices of the valves.
        value, uncertainty: key -> [SI], shape [members]; the same at every valve but for the shaft's height
            where stem heights are not known.
    """

    members: tuple[int, ...]
    value: Mapping[str, FloatArray]
    uncertainty: Mapping[str, FloatArray]


def heights_by_valve(setup: Setup) -> bool:
    """Whether the shaft's height is written at every valve, for want of stem heights and their reference."""
    stems, reference = setup.column("valve", "stem_height"), setup.column("shaft", "reference_stem_height")
    return bool(np.any(np.isnan(stems.value)) or np.any(np.isnan(reference.value)))


def inferred_values(setup: Setup, groups: Sequence[FittedGroup]) -> tuple[tuple[Inferred, ...], Correlation]:
    """Return the inferred values, and their correlation: the mean over the valves of each valve's own."""
    lift = lobe_lift(setup).value
    by_valve = heights_by_valve(setup)
    found, matrices = [], []
    for group in groups:
        members = list(group.members)
        splay = np.nan_to_num(setup.column("pushrod", "splay").value[members])

        def keys(columns: Mapping[str, FloatArray], members: Any = members, splay: Any = splay) -> Any:
            outputs = linkage_outputs(columns, lift[members])
            every = {
                key: np.broadcast_to(columns[name], outputs["height"].shape)
                for name, key in PARAMETER_KEYS.items()
            }
            if by_valve:
                every["shaft.height"] = outputs["height"]
            every["pushrod.length"] = np.hypot(outputs["pushrod_planar_length"], splay)
            return every

        table = output_slopes(keys, group.fit.layout, group.fit.mean)
        slopes = np.stack([table[key][1] for key in INFERRED_KEYS])  # [keys, valves, parameters]
        covariance = np.einsum("avp,pq,bvq->vab", slopes, group.fit.covariance, slopes)
        spread = np.sqrt(np.maximum(np.einsum("vaa->va", covariance), 0.0))
        safe = np.where(spread > 0.0, spread, 1.0)
        matrices += list(covariance / safe[:, :, np.newaxis] / safe[:, np.newaxis, :])
        value = {key: table[key][0] for key in INFERRED_KEYS}
        uncertainty = {key: spread[:, index] for index, key in enumerate(INFERRED_KEYS)}
        # One pushrod serves all: the adjusters take up what the valves differ by.
        value["pushrod.length"] = np.full(len(members), float(np.mean(value["pushrod.length"])))
        if not by_valve:
            value["shaft.height"] = np.full(len(members), float(group.fit.value("height")[0]))
        found.append(Inferred(group.members, value, uncertainty))
    matrix = np.mean(matrices, axis=0)
    np.fill_diagonal(matrix, 1.0)
    rows = tuple(tuple(map(float, row)) for row in 0.5 * (matrix + matrix.T))
    return tuple(found), Correlation(INFERRED_KEYS, rows, "the fit")


def fitted_setup(setup: Setup, inferred: Sequence[Inferred], correlation: Correlation) -> Setup:
    """Return the setup with the inferred values in every train."""
    trains = list(setup.trains)
    by_valve = heights_by_valve(setup)
    for group in inferred:
        for place, index in enumerate(group.members):
            parts: dict[str, dict[str, Measured | None]] = {}
            for key in INFERRED_KEYS:
                section, name = key.split(".")
                parts.setdefault(section, {})[name] = Measured(
                    float(group.value[key][place]),
                    float(group.uncertainty[key][place]),
                    "inferred by the fit",
                    stated=True,
                )
            if by_valve:
                parts["shaft"]["reference_stem_height"] = None
            train = trains[index]
            changed: dict[str, Any] = {
                section: dataclasses.replace(getattr(train, section), **values)
                for section, values in parts.items()
            }
            trains[index] = dataclasses.replace(train, **changed)
    return dataclasses.replace(setup, trains=tuple(trains), correlation=correlation)
