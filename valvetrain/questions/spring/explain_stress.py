"""How stress, fatigue and natural frequency of the outer spring come about."""

from collections.abc import Mapping
from dataclasses import replace
from math import isnan, nan
from typing import Any

from valvetrain.answers.explanation import Explanation, Plain
from valvetrain.mechanics.spring.fatigue import ZIMMERLI
from valvetrain.mechanics.spring.wire_strength import CONSTANT_SETS
from valvetrain.questions.spring.explain_line import modulus, spring_line
from valvetrain.questions.spring.stress import CONSTANT_SET, OTHER_SET
from valvetrain.questions.spring.wire import DENSITY
from valvetrain.setup.setup import Setup

__all__ = ["STRESSES"]

_TORSION = (
    "elementary torsion of a coiled wire; Bergstraesser's factor: Shigley, Mechanical "
    "Engineering Design, chapter 10 (memory)"
)
_SHIGLEY = "Shigley, Mechanical Engineering Design, chapter 10 (memory)"
_SETS = {CONSTANT_SET: f"{_SHIGLEY}, table of A and m", OTHER_SET: "NCEES FE Reference Handbook"}
_WIRE: Mapping[str, str | Plain] = {"d": "spring.wire_diameter", "D": "spring.coil_diameter"}
_K = (("C", "D/d"), ("K", "(4*C + 2)/(4*C - 3)"))
_OF_A_SET = "Of a set this is the outer spring."


def _own_load(name: str) -> str | Plain:
    """Load of the outer spring alone."""

    def pick(setup: Setup, result: Any, index: int) -> float:
        if result.members:
            return float(result.members["spring"][name].value[index])
        chosen = f"{name}_after" if result.judged_as_planned else name
        return float(getattr(result, chosen).value[index])

    words = "closed" if name == "seat_load" else "at full lift"
    return Plain("spring", f"load of the outer spring, {words}", "force", pick)


def _stress(name: str, load: str, doc: str) -> Explanation:
    return Explanation(
        name,
        "spring",
        doc,
        {"F": _own_load(load), **_WIRE},
        (*_K, (name, "K*8*F*D/(pi*d^3)")),
        _TORSION,
        f"C: spring index; K: factor for the wire's curvature. {_OF_A_SET}",
    )


def _constant(which: str, chosen: str, meaning: str) -> Plain:
    """Return a constant of the wire's strength."""

    def pick(setup: Setup, result: Any, index: int) -> float:
        material = setup.trains[index].spring.material
        if material is None:
            return nan
        return float(getattr(CONSTANT_SETS[chosen][material], which))

    def stands(setup: Setup, index: int) -> str:
        material = setup.trains[index].spring.material
        return f"{_SETS[chosen]}: {material} wire" if material else "not in the sheet, spring.material"

    return Plain("spring", meaning, "ratio", pick, stands)


def _strength(name: str, chosen: str, doc: str) -> Explanation:
    return Explanation(
        name,
        "spring",
        doc,
        {
            "d": "spring.wire_diameter",
            "A": _constant("coefficient", chosen, "strength of a wire of 1 mm, in MPa"),
            "m": _constant("exponent", chosen, "how it falls with the diameter"),
        },
        ((name, "1e6*A/(1000*d)^m"),),
        _SETS[chosen],
        "A holds for d in mm and MPa, hence the 1000 and the 1e6.",
        in_si=True,
    )


def _endurance(which: str, meaning: str) -> Plain:
    """Return the endurance strength of the wire's surface."""

    def pick(setup: Setup, result: Any, index: int) -> float:
        return float(getattr(ZIMMERLI[setup.trains[index].spring.surface or "unpeened"], which))

    def stands(setup: Setup, index: int) -> str:
        surface = setup.trains[index].spring.surface
        words = surface or "unpeened, for the sheet says nothing of its surface"
        return f"Zimmerli, through {_SHIGLEY}: {words}"

    return Plain("spring", meaning, "pressure", pick, stands)


_ALTERNATING = _endurance("alternating", "alternating strength for endless life")


def _goodman(name: str, strength: str, doc: str, check: str = "") -> Explanation:
    return Explanation(
        name,
        "spring",
        doc,
        {
            "ta": "spring:stress_alternating",
            "tm": "spring:stress_mean",
            "Su": f"spring:{strength}",
            "Sa": _ALTERNATING,
            "Sm": _endurance("mean", "mean stress of that strength"),
        },
        (("Ss", "0.67*Su"), ("Se", "Sa/(1 - Sm/Ss)"), (name, "1/(ta/Se + tm/Ss)")),
        _SHIGLEY,
        "Ss: strength of the wire in torsion; Se: alternating strength without a mean stress, on the line "
        "through the endurance point and Ss; both stresses are taken to grow together.",
        check,
    )


def _solid(setup: Setup, results: Mapping[str, Any], index: int) -> Explanation:
    """Stress pressed solid, by the line of the outer spring."""
    line = spring_line(setup, results["spring"], "spring", index)
    if line.read_off or line.bent or results["spring"].judged_as_planned:
        return _SOLID
    return replace(
        _SOLID,
        symbols={**line.symbols, "S": "spring.solid_height", **_WIRE, "Su": "spring:tensile_strength"},
        steps=(
            *line.steps,
            ("F", "max(a - b*(S - x), 0)"),
            *_K,
            ("solid_stress", "K*8*F*D/(pi*d^3)/Su"),
        ),
        note=f"F: load with all coils touching. {line.note} {_OF_A_SET}",
    )


def _solid_load(setup: Setup, result: Any, index: int) -> float:
    """Load of the outer spring pressed solid."""
    rows = {key: column.value for key, column in result.inputs.items()}
    return float(result.curves.load_and_rate(rows, "spring", rows["spring.solid_height"])[0][index])


_SOLID = Explanation(
    "solid_stress",
    "spring",
    "stress pressed solid, as a share of the tensile strength",
    {
        "F": Plain("spring", "load with all coils touching, by the spring's curve", "force", _solid_load),
        **_WIRE,
        "Su": "spring:tensile_strength",
    },
    (*_K, ("solid_stress", "K*8*F*D/(pi*d^3)/Su")),
    _TORSION,
    _OF_A_SET,
    "solid_stress",
)


def _frequency(setup: Setup, results: Mapping[str, Any], index: int) -> Explanation:
    """Frequency from the wire; none where the valve's own spring is not known."""
    if not isnan(results["spring"].inputs["spring.rate"].value[index]):
        return _FREQUENCY
    rate = Plain("spring", "rate of this valve's own spring", "stiffness", lambda *_: nan, "not known")
    return replace(
        _FREQUENCY,
        symbols={**_FREQUENCY.symbols, "k": rate},
        steps=(("surge_frequency", f"where(known(k), {_FREQUENCY.steps[0][1]}, k)"),),
        note="A valve whose own spring is not known borrows no other's frequency.",
    )


_FREQUENCY = Explanation(
    "surge_frequency",
    "spring",
    "lowest natural frequency of the spring, both ends held",
    {
        **_WIRE,
        "N": "spring.active_coils",
        "G": modulus("spring"),
        "rho": Plain("spring", "density of spring steel", "density", lambda *_: DENSITY, "common value"),
    },
    (("surge_frequency", "d/(2*pi*N*D^2)*sqrt(G/(2*rho))"),),
    "EN 13906-1 (memory): a rod between held ends",
    f"The mass of the active coils only. {_OF_A_SET}",
    in_si=True,
)

STRESSES = (
    _stress("stress_seat", "seat_load", "shear stress of the wire with the valve closed"),
    _stress("stress_open", "open_load", "shear stress of the wire at full lift"),
    Explanation(
        "stress_mean",
        "spring",
        "mean shear stress",
        {"t1": "spring:stress_seat", "t2": "spring:stress_open"},
        (("stress_mean", "(t1 + t2)/2"),),
        "definition",
    ),
    Explanation(
        "stress_alternating",
        "spring",
        "alternating shear stress",
        {"t1": "spring:stress_seat", "t2": "spring:stress_open"},
        (("stress_alternating", "(t2 - t1)/2"),),
        "definition",
    ),
    _strength("tensile_strength", CONSTANT_SET, "tensile strength of the wire"),
    _strength("tensile_strength_other", OTHER_SET, "the same by the other published constants"),
    _goodman(
        "goodman_safety", "tensile_strength", "safety against fatigue, on the Goodman line", "goodman_safety"
    ),
    _goodman("goodman_safety_other", "tensile_strength_other", "the same by the other published constants"),
    Explanation(
        "sines_safety",
        "spring",
        "safety against fatigue by Sines",
        {"ta": "spring:stress_alternating", "Sa": _ALTERNATING},
        (("sines_safety", "Sa/ta"),),
        _SHIGLEY,
        "The mean stress does not count, as for a shaft in torsion.",
    ),
    replace(_SOLID, at=_solid),
    replace(_FREQUENCY, at=_frequency),
    Explanation(
        "surge_order",
        "spring",
        "harmonic of the cam's turn that meets it at the redline",
        {"f": "spring:surge_frequency", "w": "engine.redline"},
        (("surge_order", "4*pi*f/w"),),
        "definition: the cam turns w/(4 pi) times a second; w in rad/s",
        "",
        "surge_order",
        in_si=True,
    ),
)
