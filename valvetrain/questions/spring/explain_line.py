"""How a spring's line of load over height comes about: from tests, catalog figures or its wire."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np

from valvetrain.answers.explanation import Plain
from valvetrain.parts.spring import CoilSpring, LoadTest, SpringTester
from valvetrain.questions.spring.curves import corrected, kind_of
from valvetrain.questions.spring.wire import shear_modulus
from valvetrain.setup.setup import Setup

__all__ = ["Told", "modulus", "spring_line"]

_TEST_SOURCE = "straight line by least squares through the load tests"


@dataclass(frozen=True)
class Told:
    """Steps to a spring's coefficients: load a at height x, rate b, bend c (or none).

    Attributes:
        symbols, steps: as in `Explanation`.
        bent: whether load = a - b u + c u^2, u the height above x, and not a straight line.
        read_off: the spring has no such coefficients; its load is read off a curve.
        publication: where they come from.
        note: what else matters.
    """

    symbols: Mapping[str, str | Plain]
    steps: tuple[tuple[str, str], ...]
    publication: str
    note: str
    bent: bool = False
    read_off: bool = False


def spring_line(setup: Setup, result: Any, section: str, index: int, mark: str = "") -> Told:
    """Explain the coefficients of one spring of a valve; `mark` goes behind each symbol."""
    spring: CoilSpring = getattr(setup.trains[index], section)
    if section == "spring" and any(setup.tested_springs) and spring.tests is None:
        return _untested(setup, index, mark)
    if spring.tests is not None:
        if (
            kind_of(spring, spring.tests) == "progressive"
            and len({each.value for each in spring.tests.heights}) >= 3
        ):
            return _progressive(result, section, index, mark, spring.tests)
        return _tested(spring.tests, setup.spring_tester, mark)
    if spring.kind == "conical" and section in result.curves.tables:
        note = (
            "A conical spring has no one rate: coil after coil lies down, and its load is read off a curve."
        )
        source = "own derivation: coils of growing radius closing one after the other, elementary torsion"
        cone: dict[str, str | Plain] = {
            f"d{mark}": f"{section}.wire_diameter",
            f"D{mark}": f"{section}.coil_diameter",
            f"s{mark}": f"{section}.small_coil_diameter",
            f"N{mark}": f"{section}.active_coils",
            f"G{mark}": modulus(section),
            f"y{mark}": f"{section}.free_length",
            f"S{mark}": f"{section}.solid_height",
        }
        return Told(cone, (), source, note, read_off=True)
    return _catalog(spring, section, mark)


def _untested(setup: Setup, index: int, mark: str) -> Told:
    """Springs were tested, but this valve's own is not known."""

    def nothing(setup: Setup, result: Any, index: int) -> float:
        return float("nan")

    where = "no load test is placed on this valve"
    symbols = {
        f"a{mark}": Plain("spring", "load at the middle height tested", "force", nothing, where),
        f"x{mark}": Plain("spring", "middle height tested", "length", nothing, where),
        f"b{mark}": Plain("spring", "rate", "stiffness", nothing, where),
    }
    return Told(symbols, (), _TEST_SOURCE, "A valve never borrows another's spring.")


def _tested(test: LoadTest, tester: SpringTester, mark: str) -> Told:
    """Straight line through the readings."""
    heights, loads, _ = corrected(test, tester)
    name = f" of spring {test.spring}" if test.spring else ""
    symbols: dict[str, str | Plain] = {}
    for number, (height, load) in enumerate(zip(heights, loads, strict=True), 1):
        symbols[f"h{mark}{number}"] = _given(f"height of reading {number}{name}", "length", height, test)
        symbols[f"f{mark}{number}"] = _given(f"load of reading {number}{name}", "force", load, test)
    numbers = range(1, len(heights) + 1)

    def total(each: str) -> str:
        return " + ".join(each.format(number) for number in numbers)

    steps = (
        (f"x{mark}", f"({total(f'h{mark}{{}}')})/{len(heights)}"),
        (f"a{mark}", f"({total(f'f{mark}{{}}')})/{len(heights)}"),
        (
            f"b{mark}",
            f"-({total(f'(h{mark}{{0}} - x{mark})*(f{mark}{{0}} - a{mark})')})"
            f"/({total(f'(h{mark}{{0}} - x{mark})^2')})",
        ),
    )
    known = (tester.zero, tester.scale, tester.height_zero, tester.retainer_thickness)
    note = "Readings are less the tester's known errors." if any(each is not None for each in known) else ""
    return Told(symbols, steps, _TEST_SOURCE, note)


def _given(meaning: str, dimension: str, value: float, test: LoadTest) -> Plain:
    return Plain("spring", meaning, dimension, lambda setup, result, index: float(value), test.source)


def _progressive(result: Any, section: str, index: int, mark: str, test: LoadTest) -> Told:
    """Parabola through the readings: its coefficients as the fit gives them."""
    texts = {
        "load": ("a", "load at the middle height tested", "force"),
        "rate": ("b", "rate there", "stiffness"),
        "load_height": ("x", "middle height tested", "length"),
    }
    symbols: dict[str, str | Plain] = {
        f"{symbol}{mark}": Plain("spring", meaning, dimension, _coefficient(f"{section}.{key}"), test.source)
        for key, (symbol, meaning, dimension) in texts.items()
    }
    bend = float(result.inputs[f"{section}.bend"].value[index])
    if bend == 0.0:
        return Told(symbols, (), "parabola by least squares through the load tests", "It came out straight.")

    def drop(setup: Setup, result: Any, index: int) -> float:
        # A rate per length has no unit of its own here: how far the rate falls to nothing says the same.
        rows = result.inputs
        return float(0.5 * rows[f"{section}.rate"].value[index] / rows[f"{section}.bend"].value[index])

    words = "rise of the height at which the parabola's rate is nought"
    symbols[f"v{mark}"] = Plain("spring", words, "length", drop, test.source)
    note = "A progressive spring: c is the bend that brings the rate b to nought at v above x."
    steps = ((f"c{mark}", f"b{mark}/(2*v{mark})"),)
    return Told(symbols, steps, "parabola by least squares through the load tests", note, bent=True)


def _coefficient(key: str) -> Any:
    return lambda setup, result, index: float(result.inputs[key].value[index])


def _catalog(spring: CoilSpring, section: str, mark: str) -> Told:
    """Catalog loads, or a rate with a catalog load or the free length."""
    a, b, x = f"a{mark}", f"b{mark}", f"x{mark}"
    two = (spring.catalog_height, spring.catalog_open_height, spring.catalog_load, spring.catalog_open_load)
    if spring.rate is None and all(two):
        symbols: dict[str, str | Plain] = {
            x: f"{section}.catalog_height",
            a: f"{section}.catalog_load",
            f"y{mark}": f"{section}.catalog_open_height",
            f"g{mark}": f"{section}.catalog_open_load",
        }
        slope = ((b, f"(g{mark} - {a})/({x} - y{mark})"),)
        return Told(symbols, slope, "straight line through the catalog's two loads", "")
    steps: tuple[tuple[str, str], ...] = ()
    symbols = {b: f"{section}.rate"}
    publication, note = "rate of the catalog", ""
    if spring.rate is None and spring.wire_diameter is not None:
        symbols, steps = _wire(section, mark)
        publication = "rate of the wire: Shigley, Mechanical Engineering Design, chapter 10 (memory)"
    if spring.catalog_height and spring.catalog_load:
        symbols |= {a: f"{section}.catalog_load", x: f"{section}.catalog_height"}
        return Told(symbols, steps, f"{publication}, from the catalog's load", note)
    symbols[x] = f"{section}.free_length"
    return Told(symbols, (*steps, (a, "0")), f"{publication}, from the free length", note)


def _wire(section: str, mark: str) -> tuple[dict[str, str | Plain], tuple[tuple[str, str], ...]]:
    """Rate from the wire."""
    symbols: dict[str, str | Plain] = {
        f"d{mark}": f"{section}.wire_diameter",
        f"D{mark}": f"{section}.coil_diameter",
        f"N{mark}": f"{section}.active_coils",
        f"G{mark}": modulus(section),
    }
    return symbols, ((f"b{mark}", f"G{mark}*d{mark}^4/(8*D{mark}^3*N{mark})"),)


def modulus(section: str) -> Plain:
    """Shear modulus of a spring's wire, as written or that of its material."""

    def pick(setup: Setup, result: Any, index: int) -> float:
        found = shear_modulus(getattr(setup.trains[index], section))
        return np.nan if found is None else found.value

    def stands(setup: Setup, index: int) -> str:
        spring: CoilSpring = getattr(setup.trains[index], section)
        found = shear_modulus(spring)
        if found is None:
            return f"not in the sheet, {section}.material"
        published = "Shigley, Mechanical Engineering Design (memory)"
        return found.source if spring.shear_modulus else f"{found.source}: {published}"

    return Plain("spring", "shear modulus of the wire", "pressure", pick, stands)
