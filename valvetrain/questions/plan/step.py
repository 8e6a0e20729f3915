"""A step of the plan: what is done, with which parts, and what the sheet then says."""

from collections.abc import Mapping
from dataclasses import dataclass

from valvetrain.answers.output import output
from valvetrain.parts.measured import Measured
from valvetrain.setup.units import display_unit, from_si

__all__ = ["PartUsed", "Step", "lengths_cell", "value_cell"]


@dataclass(frozen=True)
class PartUsed:
    """Parts of one kind that a step takes (count above 0) or gives back (below)."""

    item: str = output(None, 'what it is: "stand shim", "rocker shim", "spring shim", "spring", "pushrod"')
    thickness: float = output("length", "its thickness or length; NaN where it has none")
    count: int = output(None, "how many are taken; below 0: given back")


@dataclass(frozen=True)
class Step:
    """One step."""

    kind: str = output(
        None,
        '"valve work", "stand shims", "rocker shims", "spring shims", "springs", "pushrods", "cam" or "lash"',
    )
    valves: tuple[str, ...] = output(None, "at which valves")
    shaft: str = output(None, "on which shaft; empty where it is not a shaft's")
    do: str = output(None, "what is done, the action first")
    why: str = output(None, "what it puts right")
    parts: tuple[PartUsed, ...] = output(None, "which parts it takes")
    edits: Mapping[str, str | None] = output(None, "sheet key -> what stands there afterward", key="")


def value_cell(value: float, uncertainty: float, dimension: str, system: str) -> str:
    """Write a value as the sheet would have it, with its standard uncertainty and unit."""
    unit = display_unit(dimension, system)
    number = float(from_si(value, dimension, system))
    doubt = float(from_si(uncertainty, dimension, system, difference=True))
    text = f"{number:.6f}".rstrip("0").rstrip(".") or "0"
    return f"{text} +/- {doubt:.2g} {unit}".strip() if doubt > 0 else f"{text} {unit}".strip()


def lengths_cell(lengths: tuple[float, ...] | tuple[Measured, ...], system: str) -> str:
    """Write several lengths as one cell of a table has them: `0.030 + 0.010`; 0 where there is none."""
    plain = [each.value if isinstance(each, Measured) else each for each in lengths]
    written = [f"{float(from_si(each, 'length', system)):.5f}".rstrip("0").rstrip(".") for each in plain]
    return " + ".join(written) or "0"
