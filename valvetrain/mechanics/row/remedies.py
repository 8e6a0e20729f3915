"""What would help where bays of a shaft have no plan: shims to buy, then metal to take off."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from valvetrain.mechanics.row.model import LinearBay
from valvetrain.mechanics.row.program import Program

__all__ = ["SECONDS", "Remedy", "group_name", "neighbors", "remedies_for"]

SECONDS = 1.0
"""Time allowed for each objective of a program."""


@dataclass(frozen=True)
class Remedy:
    """What would make a plan possible.

    Attributes:
        bay: where; "all" for the drawer.
        kind: "buy shim" (one of this thickness), "buy more" (of a thickness in stock), "face hub",
            "machine stand", or "none found".
        place: which slot, hub side, or stand side.
        amount: [m] thickness to buy or to take off.
        count: how many.
    """

    bay: str
    kind: str
    place: str
    amount: float
    count: int = 1


def remedies_for(group: list[LinearBay], available: Mapping[float, int | None], most: int) -> list[Remedy]:
    """First one shim of any thickness a slot, the fewest slots; then the least metal taken off."""
    name = group_name(group)
    program = Program(group, available, most, any_thickness=True, seconds=SECONDS)
    bought = program.solved(program.named("switch"), program.changes, program.error_terms())
    if bought is None:
        program = Program(group, available, most, any_thickness=True, machining=True, seconds=SECONDS)
        bought = program.solved(program.named("hub", "stand"), program.named("switch"))
    if bought is None:
        return [Remedy(name, "none found", "bay", 0.0, 0)]
    remedies = []
    for key, amount in bought.loosened.items():
        if key[0] == "any":
            bay = next(b for b in group if b.number == key[2])
            remedies.append(Remedy(name, "buy shim", " to ".join(neighbors(bay, key[3])), amount))
        elif key[0] == "hub":
            remedies.append(Remedy(name, "face hub", f"{key[1]} {key[2]}", amount))
        else:
            wall = next(
                w for b in group for w, n in ((b.front, b.bay.front), (b.rear, b.bay.rear)) if n == key[2]
            )
            remedies.append(Remedy(name, "machine stand", f"{wall.name} {key[3]}", amount))
    return remedies


def neighbors(bay: LinearBay, slot: int) -> tuple[str, str]:
    """The two parts, walls or rockers by name, that a slot of a bay lies between."""
    names = [bay.front.name, *(rocker.valve for rocker in bay.bay.rockers), bay.rear.name]
    return names[slot], names[slot + 1]


def group_name(group: Sequence[LinearBay]) -> str:
    """Bays tied together, called after their outer walls."""
    return f"{group[0].front.name} to {group[-1].rear.name}"
