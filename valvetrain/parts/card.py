"""A cam card's figures turned into what a profile is made of: tappet lifts, and cam angles there."""

import math
from dataclasses import dataclass

from valvetrain.parts.lobe import CardDuration, CardEvents, Lobe

__all__ = ["CardFigures", "card_figures", "card_lobe_lift"]


@dataclass(frozen=True)
class CardFigures:
    """Figures at the tappet, by rising lift.

    Attributes:
        lifts: checking lifts [m].
        opening, closing: cam angles of the events at each [cam rad]: on the events' own scale where `placed`,
            or half the duration before and after the lobe center. On the events' scale 0 is where "opens" is
            counted from: top dead center before the intake stroke, bottom dead center before the exhaust's.
        placed: True where the card gives opening and closing angles.
        opening_doubt, closing_doubt: their standard uncertainties [cam rad].
        duration_doubt: standard uncertainty of closing less opening [cam rad].
        source: where they stand in the sheet.
    """

    lifts: tuple[float, ...]
    opening: tuple[float, ...]
    closing: tuple[float, ...]
    placed: bool
    opening_doubt: tuple[float, ...]
    closing_doubt: tuple[float, ...]
    duration_doubt: tuple[float, ...]
    source: str

    @property
    def durations(self) -> tuple[float, ...]:
        """Closing less opening [cam rad]."""
        return tuple(after - before for before, after in zip(self.opening, self.closing, strict=True))


def card_figures(lobe: Lobe) -> CardFigures | None:
    """Return the card's figures at the tappet; None where the sheet gives none.

    Two or more pairs of events give a lobe whose flanks may differ; with fewer, events count as the durations
    that they make, and the lobe is symmetric.

    Raises:
        ValueError: a figure that is not complete, or ambiguous: one at the valve without `lash` and
            `card_ratio`.
    """
    if not lobe.durations and not lobe.events:
        return None
    rows: list[tuple[float, float, float, float, float, float, bool]] = []
    source = ""
    for event in lobe.events:
        if event.opens is None or event.closes is None:
            raise ValueError("every entry of events needs opens and closes")
        source = source or event.opens.source
        # Opens and closes are half a crank turn apart at 0 and 0, for either role.
        rows.append(
            (
                _tappet_lift(lobe, event),
                -0.5 * event.opens.value,
                0.5 * (math.pi + event.closes.value),
                0.5 * event.opens.uncertainty,
                0.5 * event.closes.uncertainty,
                0.5 * math.hypot(event.opens.uncertainty, event.closes.uncertainty),
                True,
            )
        )
    placed = len(rows) >= 2
    for duration in lobe.durations:
        if duration.duration is None:
            raise ValueError("every duration needs checking_lift, checked_at and duration")
        if placed:
            continue  # the events say more
        source = source or duration.duration.source
        half, doubt = 0.25 * duration.duration.value, 0.5 * duration.duration.uncertainty
        side = doubt / math.sqrt(2.0)
        rows.append((_tappet_lift(lobe, duration), -half, half, side, side, doubt, False))
    if not placed:
        rows = [_centered(row) for row in rows]
    rows.sort()
    lifts, opening, closing, *doubts = zip(*(row[:6] for row in rows), strict=True)
    return CardFigures(lifts, opening, closing, placed, doubts[0], doubts[1], doubts[2], source)


def _centered(
    row: tuple[float, float, float, float, float, float, bool],
) -> tuple[float, float, float, float, float, float, bool]:
    """Put a pair of events about its own middle."""
    half = 0.5 * (row[2] - row[1])
    return (row[0], -half, half, *row[3:6], False)


def _tappet_lift(lobe: Lobe, each: CardDuration | CardEvents) -> float:
    """Tappet lift of a figure's checking lift [m]."""
    if each.checking_lift is None or each.checked_at is None:
        raise ValueError("every figure of the card needs checking_lift and checked_at")
    if each.checked_at == "tappet":
        return each.checking_lift.value
    missing = [
        name
        for name, value in (("lash beside it", each.lash), ("card_ratio in [lobe]", lobe.card_ratio))
        if value is None
    ]
    if missing:
        raise ValueError(
            f"a figure at the valve needs {' and '.join(missing)}: with which lash (0 for none) and at which "
            "rocker ratio does the card give it"
        )
    assert each.lash is not None
    assert lobe.card_ratio is not None
    return (each.checking_lift.value + each.lash.value) / lobe.card_ratio.value


def card_lobe_lift(lobe: Lobe) -> float | None:
    """Return the lobe lift [m]: as written, or from the card's valve lift; None where neither is given.

    Raises:
        ValueError: a valve lift on the card without saying gross or net, with which lash, at which ratio.
    """
    if lobe.lift is not None:
        return lobe.lift.value
    if lobe.card_valve_lift is None:
        return None
    if lobe.card_lift_is is None or lobe.card_ratio is None:
        raise ValueError(
            "card_valve_lift needs card_lift_is (gross or net) and card_ratio, the rocker ratio of the card"
        )
    gross = lobe.card_valve_lift.value
    if lobe.card_lift_is == "net":
        if lobe.card_lash is None:
            raise ValueError("a net card_valve_lift needs card_lash, the lash at the valve that it holds for")
        gross += lobe.card_lash.value
    return gross / lobe.card_ratio.value
