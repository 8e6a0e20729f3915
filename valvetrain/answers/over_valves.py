"""Quantities that are taken over several valves: which errors these share, and what is left of the others."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace

import numpy as np

from valvetrain.answers.quantity import Quantity, computed, together
from valvetrain.mechanics.arrays import FloatArray
from valvetrain.setup.setup import Column

__all__ = ["over_valves", "summed"]


def summed(
    total: Quantity, terms: Sequence[tuple[Quantity, FloatArray]], inputs: Mapping[str, Column]
) -> Quantity:
    """Give a weighted sum over valves the uncertainty of its terms.

    What stands at one place in the sheet was measured once: its error is that of every valve. What was
    measured at each valve has each its own.

    Args:
        total: the sum, for its dimension and values, shape [m].
        terms: quantities at every valve, and the weight of each valve in each sum, shape [m, n].
        inputs: sheet key -> column; keys without a dot are no measurements of the sheet, and each valve's
        own.
    """
    parts: dict[str, FloatArray] = {}
    keys = dict.fromkeys(key for quantity, _ in terms for key in quantity.contributions)
    for key in keys:
        moves: FloatArray = np.zeros(np.shape(terms[0][1]))
        for quantity, weights in terms:
            if key in quantity.contributions:
                with np.errstate(invalid="ignore"):
                    moves = moves + np.where(weights == 0.0, 0.0, weights * quantity.contributions[key])
        sources = inputs[key].source if "." in key and key in inputs else ("",) * moves.shape[1]
        own = np.array([place if not one else sources.index(one) for place, one in enumerate(sources)])
        groups = np.stack([moves[:, own == one].sum(axis=-1) for one in dict.fromkeys(own.tolist())], axis=-1)
        parts[key] = np.copysign(np.sqrt((groups**2).sum(axis=-1)), moves.sum(axis=-1))
    correlation = terms[0][0].correlation
    doubt = np.hypot.reduce([*parts.values(), np.zeros(total.value.shape)], axis=0)
    if correlation is not None:
        doubt = together(doubt, parts, correlation)
    doubt = np.where(np.isnan(total.value), np.nan, doubt)
    return Quantity(total.dimension, total.value, doubt, parts, correlation=correlation)


def over_valves(
    function: Callable[[FloatArray], FloatArray], quantity: Quantity, sources: Sequence[str]
) -> Quantity:
    """Carry the doubt of one quantity of every valve through a function of all of them.

    Args:
        function: takes values [k, n] and returns values [k, n], rows independent.
        quantity: at every valve; its errors are its own at each.
        sources: where the measurement behind each stands: at one place, measured once.
    """
    known = np.isfinite(quantity.value) & np.isfinite(quantity.uncertainty)
    names = [source or f"valve {place}" for place, source in enumerate(sources)]
    inputs = {
        name: Column(np.zeros(1), np.array([quantity.uncertainty[names.index(name)]]), (name,))
        for name, told in zip(names, known, strict=True)
        if told
    }

    def moved(rows: Mapping[str, FloatArray]) -> dict[str, FloatArray]:
        count = len(next(iter(rows.values()))) if rows else 1
        away = [rows[name][:, 0] if name in rows else np.zeros(count) for name in names]
        return {"found": function(quantity.value + np.stack(away, axis=-1))}

    if not inputs:
        return Quantity(quantity.dimension, function(quantity.value[np.newaxis])[0], quantity.uncertainty, {})
    found = computed(moved, inputs, {"found": quantity.dimension})["found"]
    with np.errstate(invalid="ignore", divide="ignore"):
        share = np.where(quantity.uncertainty > 0.0, found.uncertainty / quantity.uncertainty, 0.0)
    parts = {key: np.where(known, share * part, 0.0) for key, part in quantity.contributions.items()}
    return replace(found, contributions=parts, correlation=quantity.correlation)
