"""How far does the lash of every valve grow from cold to hot, how is that known, and what is it hot?"""

import math
from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from valvetrain.answers.quantity import Quantity, computed
from valvetrain.mechanics.arrays import FloatArray
from valvetrain.mechanics.cam.thermal_growth import (
    EXPANSION,
    EXPANSION_RELATIVE_UNCERTAINTY,
    Growth,
    Segment,
    growth_from_pair,
    lash_growth,
)
from valvetrain.mechanics.rocker.linkage import pad_drop_and_ratio
from valvetrain.parts.measured import Measured
from valvetrain.parts.thermal import CONSTRUCTIONS, Thermal
from valvetrain.parts.train import Train
from valvetrain.questions.rocker.linkage_inputs import closed_linkage, lash_at_valve
from valvetrain.setup.setup import Column, Setup

__all__ = ["LashGrowth", "base_ratio", "growth_words", "hot_lash", "lash_growth_study"]


@dataclass(frozen=True)
class LashGrowth:
    """Growth of the lash along the stem, cold to hot, at every valve.

    Attributes:
        growth: [m], positive where the lash opens; NaN where nothing is known of it.
        source: per valve "measured pair", "expansion path", "construction" or "".
        parts: per valve (stretch, signed part of the growth [m]) of an expansion path; else empty.
        missing: per valve what an expansion path still lacks, where the sheet begins to describe one.
        roleless: True where a measured pair names no role and so stands for valves of both.
    """

    growth: Column
    source: tuple[str, ...]
    parts: tuple[tuple[tuple[str, float], ...], ...]
    missing: tuple[tuple[str, ...], ...]
    roleless: bool


def lash_growth_study(setup: Setup, columns: Mapping[str, Column]) -> LashGrowth:
    """Work out the growth at every valve; a measured pair comes before a path, a path before a usual range.

    Args:
        setup: the engine.
        columns: of the linkage and the lash, see `setup.linkage_columns`.
    """
    at_pushrod = np.array([train.lash.at == "pushrod" for train in setup.trains])
    found = computed(lambda rows: {"ratio": base_ratio(rows, at_pushrod)}, columns, {"ratio": "ratio"})
    ratio, ratio_doubt = found["ratio"].value, found["ratio"].uncertainty
    value, doubt = np.full(len(setup.trains), np.nan), np.zeros(len(setup.trains))
    sources, parts, missing, where = [], [], [], []
    for index, train in enumerate(setup.trains):
        lever = float(ratio[index])
        lacks: tuple[str, ...] = ()
        source, growth = "measured pair", _pair(train, lever)
        if growth is None:
            source = "expansion path"
            growth, lacks = _path(train, lever, float(np.nan_to_num(ratio_doubt[index])))
        if growth is None:
            source, growth = "construction", _usual(train.thermal)
        if growth is not None:
            value[index], doubt[index] = growth.value, growth.uncertainty
        sources.append(source if growth is not None else "")
        parts.append(growth.contributions if growth is not None else ())
        missing.append(lacks if source != "measured pair" else ())
        where.append("" if growth is None else f"[hot] or [thermal], {source}")
    growth_column = Column(value, doubt, tuple(where))
    return LashGrowth(growth_column, tuple(sources), tuple(parts), tuple(missing), _roleless(setup, sources))


def base_ratio(rows: Mapping[str, FloatArray], at_pushrod: FloatArray) -> FloatArray:
    """Rocker ratio on the base circle from sheet keys, [k, n]; nominal where the linkage is not known."""
    closed = closed_linkage(rows, lash_at_valve(rows, at_pushrod))
    ratio = pad_drop_and_ratio(closed, np.zeros((1,)))[1][..., 0]
    return np.where(np.isnan(ratio), rows["rocker.nominal_ratio"], ratio)


def hot_lash(setup: Setup, growth: LashGrowth, lash: Quantity) -> Quantity:
    """Lash along the stem with the engine hot; NaN where its growth, or the state as set, is not known.

    Args:
        setup: the engine.
        growth: of its lashes.
        lash: as set, along the stem.
    """
    states = np.array([train.lash.state or "" for train in setup.trains])
    grown = np.where(states == "hot", 0.0, np.where(states == "cold", growth.growth.value, np.nan))
    doubt = np.where(states == "hot", 0.0, growth.growth.uncertainty)
    return Quantity(
        "length",
        lash.value + grown,
        np.where(np.isnan(grown), np.nan, np.hypot(lash.uncertainty, doubt)),
        {**lash.contributions, "growth": doubt},
    )


def growth_words(growth: LashGrowth) -> list[str]:
    """Say what is lacking for the lash to be known cold and hot, and which pair counts for both roles."""
    words = []
    if np.isnan(growth.growth.value).all():
        lacks = sorted({key for each in growth.missing for key in each})
        text = (
            f"its path still lacks {', '.join(lacks)}"
            if lacks
            else "give a measured pair (cold_lash and hot_lash in [hot]), the expansion path, or the "
            "construction in [thermal]"
        )
        words.append(f"Cold and hot: not known how far the lash grows; {text}.")
    if growth.roleless:
        words.append(
            "The measured pair in [hot] names no role and counts for both: an exhaust valve grows otherwise "
            "than an intake valve. Measure one of each, as [hot.intake] and [hot.exhaust]."
        )
    return words


def _roleless(setup: Setup, sources: list[str]) -> bool:
    """Whether one pair of lashes, measured at some valve, counts for both roles."""
    paired = [
        (train.role, train.hot.cold_lash)
        for train, source in zip(setup.trains, sources, strict=True)
        if source == "measured pair"
    ]
    of_each = {role: {pair for own, pair in paired if own == role} for role in ("intake", "exhaust")}
    return bool(of_each["intake"] & of_each["exhaust"])


def _pair(train: Train, ratio: float) -> Growth | None:
    """Growth from a measured pair; at the pushrod it counts `ratio` times at the valve."""
    cold, hot = train.hot.cold_lash, train.hot.hot_lash
    if cold is None or hot is None:
        return None
    factor = ratio if train.lash.at == "pushrod" else 1.0
    if math.isnan(factor):
        return None
    return growth_from_pair(
        factor * cold.value, factor * hot.value, factor * cold.uncertainty, factor * hot.uncertainty
    )


def _usual(thermal: Thermal) -> Growth | None:
    """Growth in use by construction, as a rectangular distribution over its range."""
    if thermal.construction is None:
        return None
    low, high = CONSTRUCTIONS[thermal.construction]
    return Growth(0.5 * (low + high), (high - low) / math.sqrt(12.0))


def _path(train: Train, ratio: float, ratio_doubt: float) -> tuple[Growth | None, tuple[str, ...]]:
    """Growth along the path, or what the sheet lacks for it; nothing lacks where none of it is given."""
    thermal = train.thermal
    lengths: dict[str, Measured | None] = {
        "thermal.cam_to_deck": thermal.cam_to_deck,
        "thermal.deck_to_stand": thermal.deck_to_stand,
        "thermal.seat_to_stand": thermal.seat_to_stand,
        "thermal.stand_height": thermal.stand_height,
        "thermal.seat_to_tip": thermal.seat_to_tip,
        "thermal.tappet_height": thermal.tappet_height,
        "pushrod.length": train.pushrod.length,
        "lobe.base_radius": train.lobe.base_radius,
    }
    given: dict[str, Measured | None] = {
        "thermal.cold_temperature": thermal.cold_temperature,
        **{
            f"thermal.{zone}_temperature": getattr(thermal, f"{zone}_temperature")
            for zone in ("block", "head", "stand", "valve")
        },
    }
    own = [
        key for key, each in {**lengths, **given}.items() if key.startswith("thermal.") and each is not None
    ]
    materials = ("block", "head", "stand", "cam", "tappet", "pushrod", "valve")
    unknown = [
        f"thermal.{part}_material"
        for part in materials
        if getattr(thermal, f"{part}_material") is None and getattr(thermal, f"{part}_expansion") is None
    ]
    lacks = [key for key, each in {**lengths, **given}.items() if each is None] + unknown
    if lacks or math.isnan(ratio):
        return None, tuple(lacks) if own else ()
    cold = thermal.cold_temperature
    assert cold is not None

    def segment(name: str, key: str, part: str, zone: str) -> Segment:
        length, heat = lengths[key], given[f"thermal.{zone}_temperature"]
        assert length is not None
        assert heat is not None
        expansion, doubt = _expansion(thermal, part)
        rise = heat.value - cold.value
        material = getattr(thermal, f"{part}_material") or part
        return Segment(
            name,
            material,
            length.value,
            expansion,
            rise,
            length.uncertainty,
            doubt,
            heat.uncertainty,
            zone,
        )

    growth = lash_growth(
        shaft_above_seat=(
            segment("head, seat to stand", "thermal.seat_to_stand", "head", "head"),
            segment("stand", "thermal.stand_height", "stand", "stand"),
        ),
        valve=(segment("valve", "thermal.seat_to_tip", "valve", "valve"),),
        shaft_above_cam=(
            segment("block", "thermal.cam_to_deck", "block", "block"),
            segment("head, deck to stand", "thermal.deck_to_stand", "head", "head"),
            segment("stand over the cam", "thermal.stand_height", "stand", "stand"),
        ),
        tappet_and_pushrod=(
            segment("cam, to its base circle", "lobe.base_radius", "cam", "block"),
            segment("tappet", "thermal.tappet_height", "tappet", "block"),
            segment("pushrod", "pushrod.length", "pushrod", "stand"),
        ),
        ratio=ratio,
        ratio_uncertainty=ratio_doubt,
    )
    return growth, ()


def _expansion(thermal: Thermal, part: str) -> tuple[float, float]:
    """Return the coefficient of a part and its standard uncertainty [1/K]."""
    own: Measured | None = getattr(thermal, f"{part}_expansion")
    if own is not None:
        return own.value, own.uncertainty
    value = EXPANSION[getattr(thermal, f"{part}_material")]
    return value, EXPANSION_RELATIVE_UNCERTAINTY * value
