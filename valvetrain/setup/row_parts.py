"""The words of a `[[row]]` turned into the parts on a shaft, before any measurement is looked at."""

from collections.abc import Mapping
from dataclasses import dataclass

from valvetrain.mechanics.row.shaft import Part, Rocker, Shim, Spacer, Spring, Stand
from valvetrain.parts.measured import Measured
from valvetrain.parts.row import RowText
from valvetrain.parts.spec import Spec
from valvetrain.parts.train import Train
from valvetrain.setup.faults import Fault, SheetError, nearest
from valvetrain.setup.values import measured

__all__ = ["Item", "row_items"]

_LENGTH = Spec("length of a part", "length", low=0.0, high=0.5, instrument="micrometer")
_WALLS = ("stand", "collar", "end")
_PARTS = (*_WALLS, "shim", "spacer", "cut spacer", "spring", "wave washer")


@dataclass(frozen=True)
class Item:
    """One part of a row: itself, the standard uncertainty of its length [m], and how it is called."""

    part: Part
    spread: float
    kind: str


def row_items(
    text: RowText,
    where: str,
    trains: Mapping[str, Train],
    *,
    named: bool,
    system: str,
    instruments: dict[str, tuple[str, float]],
) -> list[Item]:
    """Write out a row's pattern.

    Args:
        text: the row as written.
        where: how the row is called in faults.
        trains: of the valves whose rockers are on this shaft, front to rear.
        named: whether walls carry the shaft's name.
        system, instruments: as for `values.measured`.

    Raises:
        SheetError: words that are not known, valves that are not there or stand twice, widths left out.
    """
    words = _placed(text, where, trains)
    faults: list[Fault] = []
    without = [name for name, train in trains.items() if train.rocker.hub_width is None]
    if without:
        who = f"rocker {without[0]} has" if len(without) == 1 else f"rockers {', '.join(without)} have"
        mend = "Write hub_width, the width of the hub along the shaft, into [rocker]."
        faults.append(Fault(where, f"{who} no hub_width, which a row needs", mend))
    items: list[Item] = []
    counts = dict.fromkeys(_WALLS, 0)
    for word in words:
        try:
            if word in trains:
                if word not in without:
                    items += _rocker(trains[word])
                continue
            kind, value = _parsed(word, where, system=system, instruments=instruments)
            if kind == "shim" and value is not None and value.value == 0:
                continue
            name = kind
            if kind in _WALLS:
                counts[kind] += 1
                name = f"{text.shaft} {kind} {counts[kind]}" if named else f"{kind} {counts[kind]}"
            items.append(_item(kind, name, value, text))
        except ValueError as error:
            fault = Fault(where, str(error), "Correct the row, or add what is missing.")
            if fault not in faults:
                faults.append(fault)
    if faults:
        raise SheetError(faults)
    return _shims_of_the_table(items, trains)


def _placed(text: RowText, where: str, trains: Mapping[str, Train]) -> list[str]:
    """Repeat the pattern until every rocker of the shaft is placed; I and E become valve names."""
    waiting: dict[str, list[str]] = {}
    for name in trains:
        waiting.setdefault(name.lstrip("0123456789"), []).append(name)
    # On a head with four valves a plain I or E stands for 1I1, 1I2, ... in turn as well.
    for role in "IE":
        waiting.setdefault(role, [name for name in trains if role in name])
    known = set(trains)
    used: list[str] = []
    out: list[str] = []

    def place(word: str) -> None:
        plain = word.strip()
        if plain.upper() in waiting:
            left = [name for name in waiting[plain.upper()] if name not in used]
            if not left:
                raise ValueError(
                    f"the row needs one more '{plain}' than its shaft has valves ({', '.join(trains)})"
                )
            plain = left[0]
        elif plain.upper() in known:
            plain = plain.upper()
        elif plain[:1].isdigit():
            raise ValueError(f"'{plain}' is not a valve of this shaft; it carries {', '.join(trains)}")
        if plain in known:
            if plain in used:
                raise ValueError(f"the rocker of {plain} stands twice")
            used.append(plain)
        out.append(plain)

    try:
        for word in text.front:
            place(word)
        behind = sum(word.strip().upper() in waiting or word.strip().upper() in known for word in text.rear)
        while text.each and len(used) + behind < len(trains):
            before = len(used)
            for word in text.each:
                place(word)
            if len(used) == before:
                raise ValueError("the pattern 'each' holds no rocker: write I and E where they stand")
        for word in text.rear:
            place(word)
    except ValueError as error:
        raise SheetError([Fault(where, str(error), "Correct front, each or rear.")]) from error
    missing = [name for name in trains if name not in used]
    if missing:
        raise SheetError(
            [
                Fault(
                    where,
                    f"the rocker of {', '.join(missing)} stands nowhere in the row",
                    "Add it, or name the shaft it is on in the valves table, column shaft.",
                )
            ]
        )
    return out


def _parsed(
    word: str, where: str, *, system: str, instruments: dict[str, tuple[str, float]]
) -> tuple[str, Measured | None]:
    """Split a word such as "shim 0.030" into its kind and its length."""
    kind = next((each for each in sorted(_PARTS, key=len, reverse=True) if word.lower().startswith(each)), "")
    if not kind:
        raise ValueError(f"'{word}' is not known. {nearest(word.split(' ')[0], (*_PARTS, 'I', 'E'))}")
    rest = word[len(kind) :].strip()
    if not rest:
        return kind, None
    return kind, measured(rest, _LENGTH, f"{where} {word}", system=system, instruments=instruments)


def _rocker(train: Train) -> list[Item]:
    """Make the rocker of a valve; its stem is put under the pad until offsets are looked at."""
    hub, pad = train.rocker.hub_width, train.rocker.pad_position
    assert hub is not None
    at = 0.5 * hub.value if pad is None else pad.value
    if at > hub.value:
        raise ValueError(f"rocker {train.name}: its pad_position is beyond its hub_width")
    return [Item(Rocker(train.name, hub.value, at, 0.0), hub.uncertainty, train.name)]


def _item(kind: str, name: str, value: Measured | None, text: RowText) -> Item:
    """Make one part that is not a rocker."""
    if kind in _WALLS:
        written = {"stand": text.stand_width, "collar": text.collar_width, "end": None}[kind]
        width = value or written
        if width is None and kind != "end":
            raise ValueError(f"'{kind}' has no width: give {kind}_width, or write '{kind} 0.750'")
        shift = text.stand_shift.value if kind == "stand" and text.stand_shift else 0.0
        size = 0.0 if width is None or kind == "end" else width.value
        return Item(Stand(name, 0.0, size, shift), 0.0 if width is None else width.uncertainty, name)
    if kind in ("spring", "wave washer"):
        free = text.spring_free_length
        return Item(_spring(text), free.uncertainty if free else 0.0, kind)
    if value is None:
        raise ValueError(f"'{kind}' has no length: write '{kind} 0.030'")
    if kind == "shim":
        return Item(Shim(value.value), value.uncertainty, kind)
    if kind == "spacer":
        return Item(Spacer(value.value), value.uncertainty, kind)
    least = text.spacer_least.value if text.spacer_least else 0.0
    most = text.spacer_most.value if text.spacer_most else float("inf")
    if not least <= most:
        raise ValueError("spacer_least is above spacer_most")
    return Item(Spacer(value.value, True, least, most), value.uncertainty, kind)


def _spring(text: RowText) -> Spring:
    """Make the row's spring."""
    free, solid = text.spring_free_length, text.spring_solid_length
    if free is None or solid is None:
        raise ValueError("a spring on the shaft needs spring_free_length and spring_solid_length")
    least = text.spring_least_length.value if text.spring_least_length else solid.value
    most = text.spring_most_length.value if text.spring_most_length else free.value
    if not solid.value <= least <= most <= free.value:
        raise ValueError(
            "the spring's lengths are out of order: solid, least, most and free must not fall in this order"
        )
    return Spring(free.value, solid.value, least, most)


def _shims_of_the_table(items: list[Item], trains: Mapping[str, Train]) -> list[Item]:
    """Put the shims that the valves table names beside a rocker in place of the pattern's own there."""
    places = [k for k, item in enumerate(items) if isinstance(item.part, Rocker)]
    gone: set[int] = set()
    added: dict[int, list[Item]] = {}
    for k in places:
        station = trains[items[k].kind].station
        for shims, step in ((station.front_shims, -1), (station.rear_shims, 1)):
            if not shims:
                continue
            at = k + step
            while 0 <= at < len(items) and isinstance(items[at].part, Shim):
                gone.add(at)
                at += step
            own = [Item(Shim(each.value), each.uncertainty, "shim") for each in shims if each.value > 0]
            added.setdefault(k if step < 0 else k + 1, []).extend(own)
    out: list[Item] = []
    for k, item in enumerate(items):
        out += added.get(k, [])
        if k not in gone:
            out.append(item)
    return out
