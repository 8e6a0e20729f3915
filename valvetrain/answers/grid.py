"""Verdicts of every question at every valve as lines of text that fit a width."""

from collections.abc import Iterator, Mapping, Sequence

__all__ = ["CELLS", "grid", "legend"]

CELLS = {"ok": "ok", "out": "OUT", "unsure": "?", "unmeasured": "-", "": "."}
"""How a verdict stands in the grid; a dot where a question has none."""
_MEANT = (("out", "OUT: outside"), ("unsure", "?: unsure"), ("unmeasured", "-: not measured"))


def grid(rows: Mapping[str, Sequence[str]], valves: Sequence[str], width: int) -> Iterator[str]:
    """Lay out questions down and valves across; where that is too wide, valves down and questions across.

    Args:
        rows: question -> its worst verdict at each valve; "" where it has none.
        valves: their names.
        width: columns of the terminal.
    """
    if not rows:
        return
    name = max(len(question) for question in rows) + 1
    cell = max(3, *(len(valve) for valve in valves)) + 1
    if name + cell * len(valves) <= width:
        yield " " * name + "".join(f"{valve:>{cell}}" for valve in valves)
        for question, own in rows.items():
            yield f"{question:<{name}}" + "".join(f"{CELLS[each]:>{cell}}" for each in own)
        return
    for block in _blocks(list(rows), width - cell):
        yield " " * cell + "".join(f" {question}" for question in block)
        for place, valve in enumerate(valves):
            line = "".join(f" {CELLS[rows[each][place]]:>{len(each)}}" for each in block)
            yield f"{valve:<{cell}}{line}"


def legend(rows: Mapping[str, Sequence[str]]) -> str:
    """Say what the signs in a grid mean, those that stand in it; empty where all is right."""
    there = {each for own in rows.values() for each in own}
    return "; ".join(words for verdict, words in _MEANT if verdict in there)


def _blocks(names: Sequence[str], room: int) -> Iterator[list[str]]:
    """Part names into blocks whose headings fit beside each other."""
    block: list[str] = []
    for name in names:
        if block and sum(len(each) + 1 for each in [*block, name]) > room:
            yield block
            block = []
        block.append(name)
    if block:
        yield block
