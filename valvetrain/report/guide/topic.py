"""What the guide says of one measurement, and the cautions that stand under several."""

from dataclasses import dataclass

__all__ = ["HOT", "SPRINGS", "TURNING", "Topic", "keys_in"]

TURNING = (
    "turn the engine by hand, ignition and fuel off, and keep fingers clear. The engine maker's manual comes "
    "first."
)
SPRINGS = (
    "a compressed valve spring can injure. Use a proper spring compressor and eye protection; follow the "
    "maker's manual and licensed practice."
)
HOT = (
    "a warm engine burns and its fan may start: stop it, take the key out, wear gloves. The engine maker's "
    "manual comes first."
)


@dataclass(frozen=True)
class Topic:
    """One measurement, or several that are taken together.

    Attributes:
        name: by which it is asked for.
        title: what it is.
        keys: the sheet's keys that it explains, as "section.key".
        how: the steps, in order.
        slips: what usually goes wrong.
        cautions: where the work can hurt someone.
        drawing: name of its drawing, empty where words are enough.
        instead: what to do without the instrument.
        columns: columns of tables that it explains, besides keys.
        table: lines of a small example table.
    """

    name: str
    title: str
    keys: tuple[str, ...]
    how: tuple[str, ...]
    slips: tuple[str, ...] = ()
    cautions: tuple[str, ...] = ()
    drawing: str = ""
    instead: str = ""
    columns: tuple[str, ...] = ()
    table: tuple[str, ...] = ()


def keys_in(section: str, names: str) -> tuple[str, ...]:
    """Return the keys of one section, their names parted by spaces."""
    return tuple(f"{section}.{name}" for name in names.split())
