"""Which measurement the doubt of a computed quantity comes from: its uncertainty budget."""

import dataclasses
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

import numpy as np

from valvetrain.answers.quantity import Quantity, correlated_parts

__all__ = ["Share", "named_quantities", "shares", "worst_place"]


@dataclass(frozen=True)
class Share:
    """One measurement's part of a quantity's uncertainty.

    Attributes:
        key: sheet key, or what else it is called.
        part: how far one standard uncertainty of it moves the quantity [SI], signed.
        share: of the first-order variance; with correlated values it may be below 0, the sum is 1.
    """

    key: str
    part: float
    share: float


def shares(quantity: Quantity, place: int) -> tuple[Share, ...]:
    """Budget of a quantity at one place, the largest share first; empty where it has no doubt."""
    together = correlated_parts(quantity)
    products = {
        key: float(part[place]) * float(together[key][place])
        for key, part in quantity.contributions.items()
        if len(part) > place and np.isfinite(part[place]) and part[place] != 0.0
    }
    variance = sum(products.values())
    if not variance > 0.0:
        return ()
    found = [
        Share(key, float(quantity.contributions[key][place]), product / variance)
        for key, product in products.items()
    ]
    return tuple(sorted(found, key=lambda one: -abs(one.share)))


def worst_place(quantity: Quantity) -> int | None:
    """Where the quantity is least sure; None where it is known nowhere, or without doubt."""
    known = np.where(np.isfinite(quantity.uncertainty), quantity.uncertainty, 0.0)
    return int(np.argmax(known)) if known.size and known.max() > 0.0 else None


def named_quantities(result: Any, prefix: str = "") -> Iterator[tuple[str, Quantity]]:
    """Every quantity of a study's result, and of the results inside it, by name."""
    for field in dataclasses.fields(result):
        one = getattr(result, field.name)
        if isinstance(one, Quantity):
            yield f"{prefix}{field.name}", one
        elif dataclasses.is_dataclass(one) and not isinstance(one, type) and not prefix:
            yield from named_quantities(one, f"{field.name}.")
