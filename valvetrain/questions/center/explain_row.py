"""How offsets and end clearances with the plan's shims, and when warm, come about."""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from math import nan
from typing import Any

from valvetrain.answers.explanation import Explanation, Plain
from valvetrain.mechanics.cam.thermal_growth import EXPANSION
from valvetrain.mechanics.row.shaft import Bay, Stand, bays, placed
from valvetrain.parts.row import ShaftRow
from valvetrain.setup.setup import Setup

__all__ = ["ROW"]

_GROWN = (
    "own derivation: free growth is expansion times length times rise; coefficients: Callister, Materials "
    "Science and Engineering, Table B.6"
)
_GROWN_NOTE = (
    "Stands and stems grow with the head, rockers, shims, spacers and collars with the shaft, each from "
    "where the head holds the shaft. eh, es: strains of head and shaft; P: growth of the bay's play, of "
    "which half is in front of the rocker."
)


@dataclass(frozen=True)
class _Slot:
    """A rocker in its bay: walls, what is solid in it and in front of the rocker [m]."""

    row: ShaftRow
    bay: Bay
    front: Stand
    rear: Stand
    number: int

    @property
    def solid(self) -> float:
        """All hubs, shims and spacers of the bay."""
        return self.bay.hubs + sum(self.bay.solid(slot) for slot in range(len(self.bay.slots)))

    @property
    def ahead(self) -> float:
        """Hubs, shims and spacers in front of the rocker."""
        hubs = sum(rocker.hub_width for rocker in self.bay.rockers[: self.number])
        return hubs + sum(self.bay.solid(slot) for slot in range(self.number + 1))

    @property
    def room(self) -> float:
        """Between the walls."""
        return self.rear.position - self.rear.width / 2 - self.face

    @property
    def face(self) -> float:
        """Where the bay begins."""
        return self.front.position + self.front.width / 2


def _slot(rows: tuple[ShaftRow, ...], valve: str) -> _Slot | None:
    """Find a valve's rocker among the shafts."""
    for row in rows:
        walls = [part for part in row.parts if isinstance(part, Stand)]
        for bay in bays(row.parts):
            for number, rocker in enumerate(bay.rockers):
                if rocker.valve == valve:
                    return _Slot(row, bay, walls[bay.front], walls[bay.rear], number)
    return None


def _pair(setup: Setup, result: Any, index: int) -> tuple[_Slot, _Slot] | None:
    """Return a rocker's place in the shafts before and after the plan; None where no shaft is described."""
    if result.shafts is None:
        return None
    found = [_slot(rows, setup.valves[index]) for rows in (result.shafts.before, result.shafts.after)]
    return None if found[0] is None or found[1] is None else (found[0], found[1])


def _front(setup: Setup, result: Any, index: int) -> float:
    """By how much what stands in front of the rocker grows with the plan."""
    pair = _pair(setup, result, index)
    if pair is None:
        return float(sum(result.front_added[index]) - sum(result.front_removed[index]))
    before, after = pair
    return after.face + after.ahead - before.face - before.ahead


def _play(setup: Setup, result: Any, index: int) -> float:
    """By how much the play of the rocker's bay grows with the plan."""
    pair = _pair(setup, result, index)
    if pair is None:
        rear = sum(result.rear_added[index]) - sum(result.rear_removed[index])
        return float(-_front(setup, result, index) - rear)
    before, after = pair
    return after.room - after.solid - before.room + before.solid


def _share(setup: Setup, result: Any, index: int) -> float:
    """Share of the bay's play that is in front of the rocker."""
    pair = _pair(setup, result, index)
    return 0.5 if pair is None else pair[0].bay.shares()[pair[0].number]


def _free(setup: Setup, result: Any, index: int) -> float:
    """By how much the rocker's own free play grows with the plan: not at all where springs take it up."""
    pair = _pair(setup, result, index)
    if pair is None or not pair[0].bay.springs:
        return _play(setup, result, index)
    plays = [
        next(one.end_clearance for one in placed(slot.row.parts).rockers if one.valve == setup.valves[index])
        for slot in pair
    ]
    return plays[1] - plays[0]


_PLAN = "the plan of `center`"
_F = Plain("center", "what the plan adds in front of the rocker (minus: takes away)", "length", _front, _PLAN)
_P = Plain("center", "what the plan adds to the play of its bay (minus: takes up)", "length", _play, _PLAN)
_K = Plain(
    "center", "share of the bay's play in front of the rocker", "fraction", _share, "half, or by springs"
)


def _warm(setup: Setup, results: Mapping[str, Any], index: int, own: Explanation) -> Explanation:
    """Growth of one rocker from the numbers of its bay."""
    growth, shafts = results["center"].growth, results["center"].shafts
    slot = None if growth is None or shafts is None else _slot(shafts.before, setup.valves[index])
    if slot is None or slot.bay.springs:
        return replace(own, symbols=_COLD, steps=(), note=f"{_NO_BAY} {_GROWN_NOTE}")
    text = slot.row.text
    if text.head_material is None or text.shaft_material is None:
        return replace(own, symbols=_COLD, steps=(), note=f"{_NO_BAY} {_GROWN_NOTE}")
    walls = {part.name: part for part in slot.row.parts if isinstance(part, Stand)}
    datum = walls[text.fixed_at or next(iter(walls))].position
    rocker = slot.bay.rockers[slot.number]
    # A wall that is a stand goes with the head, a collar with the shaft.
    with_head = [" stand " in f" {wall.name} " for wall in (slot.front, slot.rear)]
    e1, e2 = ("eh" if own_stand else "es" for own_stand in with_head)

    def told(
        meaning: str, value: float, dimension: str = "length", where: str = "setup.toml [[row]]"
    ) -> Plain:
        return Plain("center", meaning, dimension, lambda setup, result, index: value, where)

    table = "Callister, Table B.6"
    symbols: dict[str, str | Plain] = {
        "ah": told(
            f"expansion of the head, {text.head_material}", EXPANSION[text.head_material], "expansion", table
        ),
        "as_": told(
            f"expansion of the shaft, {text.shaft_material}",
            EXPANSION[text.shaft_material],
            "expansion",
            table,
        ),
        "th": told("rise of the head", text.head_rise.value if text.head_rise else nan, "rise"),
        "ts": told("rise of the shaft", text.shaft_rise.value if text.shaft_rise else nan, "rise"),
        "X1": told(f"{slot.front.name} from where the head holds the shaft", slot.front.position - datum),
        "W1": told(f"width of {slot.front.name}", slot.front.width),
        "X2": told(f"{slot.rear.name} from where the head holds the shaft", slot.rear.position - datum),
        "W2": told(f"width of {slot.rear.name}", slot.rear.width),
        "M": told("hubs, shims and spacers of the bay", slot.solid),
    }
    steps: tuple[tuple[str, str], ...] = (
        ("eh", "ah*th"),
        ("es", "as_*ts"),
        ("P", f"{e2}*(X2 - W2/2) - {e1}*(X1 + W1/2) - es*M"),
    )
    if own.name == "clearance_growth":
        return replace(own, symbols=symbols, steps=(*steps, (own.name, "P")))
    symbols |= {
        "A": told("hubs, shims and spacers of the bay in front of the rocker", slot.ahead),
        "p": told("middle of the pad from the hub's front face", rocker.pad_position),
        "Z": told("valve stem from where the head holds the shaft", rocker.stem - datum),
    }
    last = f"{e1}*(X1 + W1/2) + es*(A + p) + P/2 - eh*Z"
    return replace(own, symbols=symbols, steps=(*steps, (own.name, last)))


_COLD = {"o": "center:offset_before", "e": "center:end_clearance_before"}
_NO_BAY = "Springs, or a row of which materials or temperatures are not told: followed part by part."


def _growth(name: str, doc: str) -> Explanation:
    """Explain what warming up does."""
    own = Explanation(name, "center", doc, _COLD, (), _GROWN, _GROWN_NOTE, in_si=True)
    return replace(own, at=lambda setup, results, index: _warm(setup, results, index, own))


ROW = (
    Explanation(
        "offset_after",
        "center",
        "offset with the shims of the plan",
        {"o": "center:offset_before", "F": _F, "P": _P, "k": _K},
        (("offset_after", "o + F + k*P"),),
        "own derivation: a rocker in the middle of its play, or held by its springs",
        "What is added in front moves the rocker to the rear; a change of the play moves it by its share.",
        "offset",
    ),
    Explanation(
        "end_clearance",
        "center",
        "end clearance with the shims of the plan",
        {
            "e": "center:end_clearance_before",
            "P": replace(_P, meaning="what the plan adds to its free play (minus: takes up)", pick=_free),
        },
        (("end_clearance", "e + P"),),
        "definition",
        "",
        "end_clearance",
    ),
    _growth("offset_growth", "what the offset moves from cold to hot"),
    _growth("clearance_growth", "what the end clearance grows from cold to hot"),
    Explanation(
        "end_clearance_hot",
        "center",
        "end clearance when warm",
        {"e": "center:end_clearance_before", "g": "center:clearance_growth"},
        (("end_clearance_hot", "e + g"),),
        _GROWN,
        "End clearance as it stands plus its growth.",
        "hot_end_clearance",
    ),
)
