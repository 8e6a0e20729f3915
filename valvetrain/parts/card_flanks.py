"""The flanks that a cam card leaves likely, with what the sheet says of the ramps."""

from dataclasses import dataclass

from valvetrain.mechanics.cam.card import FLANK_WORDS, card_order
from valvetrain.mechanics.cam.flank_shapes import Ramp
from valvetrain.mechanics.cam.likely_flank import LikelyFlank, likely_flank
from valvetrain.parts.card import CardFigures, card_figures, card_lobe_lift
from valvetrain.parts.lobe import Lobe
from valvetrain.parts.measured import Measured

__all__ = ["CardFlanks", "card_flanks"]


@dataclass(frozen=True)
class CardFlanks:
    """Both flanks of a lobe that is known from its card.

    Attributes:
        figures: the card's, at the tappet.
        lobe_lift: [m].
        opening, closing: what is likely of each, its angles outward from the nose.
        nose: angle of full lift on the scale of the card's figures [cam rad].
        alike: True where opening and closing are the same by what is known.
    """

    figures: CardFigures
    lobe_lift: float
    opening: LikelyFlank
    closing: LikelyFlank
    nose: float
    alike: bool


def card_flanks(lobe: Lobe) -> CardFlanks | None:
    """Return the likely flanks of a lobe's card; None where the sheet gives no card.

    Full lift is taken midway between the events of the highest checking lift.

    Raises:
        ValueError: figures that are not complete, or that no flank as cams have them comes near.
    """
    figures = card_figures(lobe)
    if figures is None:
        return None
    lift = card_lobe_lift(lobe)
    if lift is None:
        raise ValueError("a cam card needs the lobe lift, or its valve lift, beside its figures")
    _refused(figures, lift)
    nose = 0.5 * (figures.opening[-1] + figures.closing[-1])
    opening_ramp = _ramp(lobe.ramp_height, lobe.ramp_angle)
    closing_ramp = _ramp(
        lobe.closing_ramp_height or lobe.ramp_height, lobe.closing_ramp_angle or lobe.ramp_angle
    )
    # The doubt of a card's duration is shared evenly by the flanks that make it.
    half = tuple(0.5 * doubt for doubt in figures.duration_doubt)
    before = tuple(nose - angle for angle in figures.opening)
    after = tuple(angle - nose for angle in figures.closing)
    alike = not figures.placed and opening_ramp == closing_ramp
    first = _flank(
        figures.lifts, before, figures.opening_doubt if figures.placed else half, lift, opening_ramp
    )
    second = first
    if not alike:
        doubt = figures.closing_doubt if figures.placed else half
        second = _flank(figures.lifts, after, doubt, lift, closing_ramp)
    return CardFlanks(figures, lift, first, second, nose, alike)


def _refused(figures: CardFigures, lift: float) -> None:
    """Raise ValueError for figures that no lobe has."""
    if not figures.placed:
        card_order(figures.lifts, figures.durations, lift, "duration")
        return
    nose = 0.5 * (figures.opening[-1] + figures.closing[-1])
    card_order(figures.lifts, [nose - each for each in figures.opening], lift, FLANK_WORDS[0])
    card_order(figures.lifts, [each - nose for each in figures.closing], lift, FLANK_WORDS[1])


def _flank(
    lifts: tuple[float, ...], angles: tuple[float, ...], doubts: tuple[float, ...], lift: float, ramp: Ramp
) -> LikelyFlank:
    """Return one flank, or say that there is none."""
    found = likely_flank(lifts, angles, doubts, lift, ramp)
    if found is None:
        known = ramp == Ramp()
        raise ValueError(
            "no flank as cams have them comes near the card's figures: check its lifts, its angles and the "
            "lobe lift" + ("" if known else ", and whether ramp_height and ramp_angle are the card's own")
        )
    return found


def _ramp(height: Measured | None, length: Measured | None) -> Ramp:
    """What the sheet says of a ramp."""
    return Ramp(
        *((None, 0.0) if height is None else (height.value, height.uncertainty)),
        *((None, 0.0) if length is None else (length.value, length.uncertainty)),
    )
