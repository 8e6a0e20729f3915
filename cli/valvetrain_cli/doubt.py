"""How sure results are: Monte Carlo while a study runs, and the uncertainty budget of its result."""

import math
from collections.abc import Iterator
from contextlib import contextmanager
from typing import TYPE_CHECKING, Any

from valvetrain_cli.progress import bar, working

if TYPE_CHECKING:
    from valvetrain.setup.setup import Setup

__all__ = ["budget_document", "drawn", "draws_for", "print_budget", "print_draws"]

_LISTED = 4  # measurements a quantity
_FITTED = 2000  # draws: an uncertainty is then itself good to 2 %


@contextmanager
def drawn(samples: int | None, seed: int) -> Iterator[None]:
    """Take uncertainties from `samples` draws inside the block; a progress bar shows on a terminal."""
    if samples is None:
        with working("computing"):
            yield
        return
    from valvetrain.answers.simulation import simulating

    with (
        bar("Monte Carlo") as tell,
        simulating(samples, seed, lambda done, wanted: tell(done / wanted if wanted else 1.0)),
    ):
        yield


def draws_for(setup: "Setup", samples: int | None) -> int | None:
    """Return how many draws to take: those asked for, or enough for a fitted sheet, or none.

    What a fit leaves unsure is wide, and a sweep bends near its least: to first order its width would look
    surer than it is.
    """
    return _FITTED if samples is None and setup.correlation is not None else samples


def print_draws(samples: int | None, seed: int) -> None:
    """Say where the uncertainties come from."""
    if samples is None:
        return
    from rich.text import Text

    from valvetrain_cli.tables import console

    console().print(Text(f"Uncertainties from {samples} draws of every measurement (seed {seed})."))


def print_budget(result: Any, system: str) -> None:
    """Print which measurements the doubt of each quantity comes from, at its least sure valve."""
    from rich.table import Table

    from valvetrain.answers.budget_shares import named_quantities, shares, worst_place
    from valvetrain.setup.units import shown_spread
    from valvetrain_cli.tables import console

    table = Table(
        title="Where the doubt comes from: shares of the variance, at the least sure valve (+- with k = 2)",
        title_justify="left",
        title_style="bold",
        header_style="bold",
    )
    table.add_column("quantity", overflow="fold")
    table.add_column("at")
    table.add_column("+-", justify="right")
    table.add_column("from", overflow="fold")
    for name, quantity in named_quantities(result):
        place = worst_place(quantity)
        if place is None:
            continue
        parts = shares(quantity, place)
        listed = [f"{one.key} {one.share:.0%}" for one in parts[:_LISTED] if abs(one.share) >= 0.005]
        table.add_row(
            name.replace("_", " ").replace(".", ": "),
            _place(result, quantity, place),
            shown_spread(2 * float(quantity.uncertainty[place]), quantity.dimension, system),
            ", ".join(listed),
        )
    console().print(table)


def _place(result: Any, quantity: Any, place: int) -> str:
    valves = getattr(result, "valves", ())
    return str(valves[place]) if len(valves) == len(quantity.value) else str(place + 1)


def budget_document(result: Any, system: str) -> dict[str, Any]:
    """Return the budget of every quantity, at every valve."""
    from valvetrain.answers.budget_shares import named_quantities, shares
    from valvetrain.setup.units import display_unit, from_si

    found: dict[str, Any] = {}
    for name, quantity in named_quantities(result):
        rows = []
        for place, doubt in enumerate(quantity.uncertainty):
            if not math.isfinite(doubt) or doubt == 0.0:
                continue
            rows.append(
                {
                    "at": _place(result, quantity, place),
                    "u": from_si(float(doubt), quantity.dimension, system, difference=True),
                    "unit": display_unit(quantity.dimension, system),
                    "parts": [
                        {
                            "key": one.key,
                            "part": from_si(one.part, quantity.dimension, system, difference=True),
                            "share": one.share,
                        }
                        for one in shares(quantity, place)
                    ],
                }
            )
        if rows:
            found[name] = rows
    return found
