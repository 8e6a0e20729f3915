"""Verdicts on valve control: the rigid limit and the elastic ones against the redline."""

import math
from typing import TYPE_CHECKING

import numpy as np

from valvetrain.answers.verdict import Check, decided, judged
from valvetrain.questions.control.study import ControlResult
from valvetrain.questions.control.train_masses import MASS_SIZES
from valvetrain.setup.setup import Setup
from valvetrain.setup.units import shown, shown_spread

if TYPE_CHECKING:  # the elastic model is seldom asked for, and `check` never does
    from valvetrain.questions.control.elastic_result import ElasticLimit, ElasticResult

__all__ = ["control_checks", "elastic_checks"]

_NO_REDLINE = "Write the engine's redline ([engine] redline); the control speed itself does not need it."
_OTHERS = (
    "lobe.lift",
    "lash.lash",
    "rocker.pad_arm",
    "rocker.nominal_ratio",
    "spring.rate",
    "spring.installed_height",
)
_LINKAGE = (
    "rocker.pad_arm",
    "rocker.pad_radius",
    "rocker.socket_arm",
    "rocker.arm_angle",
    "pushrod.length",
    "shaft.setback",
    "shaft.height",
    "tappet.setback",
    "tappet.angle",
)


def control_checks(setup: Setup, result: ControlResult, system: str) -> list[Check]:
    """Judge the rigid control limit at every valve; nothing where the sheet says nothing of it."""
    if not result.asked:
        return []
    cure = tuple(_cure(result, index, system) for index in range(len(result.valves)))
    checks = judged(setup, "control_margin", result.control_margin, needs=(), cure=cure, system=system)
    told = {"unmeasured": _missing, "unsure": _unsure}
    return [
        _with_advice(check, told[check.verdict](setup, result, index, check.advice, system))
        if check.verdict in told
        else check
        for index, check in enumerate(checks)
    ]


def elastic_checks(setup: Setup, result: "ElasticResult", system: str) -> list[Check]:
    """Judge the elastic limits of each role's weakest valve, a verdict a role."""
    checks = []
    for row in result.roles:
        for limit_id, onset in (
            ("elastic_control_margin", row.parting),
            ("bounce_margin", row.limits.get("bounce")),
        ):
            limit = setup.limits[limit_id]
            value, spread = _margin(onset, result.redline)
            verdict = _bounded(onset, value, spread, limit.low, limit.high)
            advice = ""
            if verdict == "unmeasured":
                advice = row.reason or _NO_REDLINE
            elif verdict != "ok" and onset is not None:
                advice = _elastic_cure(onset, result.redline, verdict, system)
            checks.append(
                Check(
                    limit_id,
                    row.valve or None,
                    f"{limit.doc} ({row.role})",
                    limit.dimension,
                    value,
                    spread,
                    limit.low,
                    limit.high,
                    verdict,
                    limit.basis,
                    advice,
                )
            )
    return checks


def _margin(onset: "ElasticLimit | None", redline: float) -> tuple[float, float]:
    """Room from the redline to an onset, and its standard uncertainty [-]; NaN where not known."""
    if onset is None:
        return math.nan, math.nan
    return onset.speed / redline - 1.0, onset.uncertainty / redline


def _bounded(onset: "ElasticLimit | None", value: float, spread: float, low: float, high: float) -> str:
    """Return the verdict; of an onset only known to lie beyond a bound, what the bound is good for."""
    if onset is None or not onset.bound:
        return decided(value, spread, low, high)
    at_bound = decided(value, 0.0, low, high)
    proved = {"above": "ok", "below": "out"}[onset.bound]
    return at_bound if at_bound in (proved, "unmeasured") else "unsure"


def _elastic_cure(onset: "ElasticLimit", redline: float, verdict: str, system: str) -> str:
    """Say what to do about an onset that is too near to the redline, or not known surely enough."""
    line, at = shown(redline, "rotation", system), shown(onset.speed, "rotation", system)
    safe = shown(max(onset.surely, 0.0), "rotation", system)
    if onset.bound == "above" and onset.speed < redline:
        return (
            f"It is only known to begin above {at}: let the sweep reach past the redline of {line} (--to) or "
            "make its inputs surer."
        )
    doubt = f" Most of the doubt comes from {onset.doubt_from.replace('_', ' ')}" if onset.doubt_from else ""
    if verdict == "unsure" and onset.speed >= redline and doubt:
        spread = shown_spread(2.0 * onset.uncertainty, "rotation", system)
        return (
            f"It begins at {at}, known to +-{spread}.{doubt}: know that more surely. Until then stay below "
            f"{safe}."
        )
    first = "Stiffen the train, take" if onset.stiffer_helps else "Take"
    return (
        f"{first} mass off the valve side, or raise the spring load within its limits; else "
        f"stay below {safe} (redline {line}).{doubt and doubt + '.'}"
    )


def _with_advice(check: Check, advice: str) -> Check:
    fields = dict(vars(check))
    fields["advice"] = advice
    return Check(**fields)


def _unsure(setup: Setup, result: ControlResult, index: int, advice: str, system: str) -> str:
    """Say to which speed it is sure meanwhile, whether or not the value itself lies inside."""
    surer = advice.split(" If it holds: ")[0]
    return f"{surer} Until then: {_cure(result, index, system)}"


def _missing(setup: Setup, result: ControlResult, index: int, advice: str, system: str) -> str:
    """Say what to weigh or measure before there is an answer."""
    if math.isnan(result.redline):
        return _NO_REDLINE
    said = []
    for key in result.missing[index]:
        sizes = MASS_SIZES[key]
        absent = [size for size in sizes if np.isnan(setup.column(*size.split(".")).value[index])]
        said.append(f"{key} (or {', '.join(absent)})" if absent and len(absent) < 5 else key)
    others = [key for key in _OTHERS if _absent(setup, key, index)]
    if not result.lobe_from[index]:
        others.append("the lobe (lift table, cam card or law)")
    weigh = f"Weigh {'; '.join(said)}." if said else ""
    also = f"Measure {' and '.join(others)}." if others else ""
    if said or others:
        return " ".join(each for each in (weigh, also) if each)
    if result.springs.seat_load.value[index] <= 0:
        return (
            "The spring as measured does not press on the closed valve: check its tests and installed height."
        )
    linkage = [key for key in _LINKAGE if np.isnan(setup.column(*key.split(".")).value[index])]
    if linkage:
        return f"Measure {' and '.join(linkage)}; or give rocker.nominal_ratio."
    return "The linkage as measured does not close: look at what `valvetrain rocker` says of it."


def _absent(setup: Setup, key: str, index: int) -> bool:
    """Whether a key is not known at a valve, other keys that stand for it taken into account."""
    train = setup.trains[index]
    if key == "lobe.lift":
        return train.lobe.lift is None and train.lobe.measured_lift is None and train.lobe.table is None
    if key == "rocker.nominal_ratio":
        return train.rocker.nominal_ratio is None and (
            train.rocker.arm_angle is None or train.pushrod.length is None
        )
    if key == "spring.rate":
        return train.spring.rate is None and train.spring.tests is None and train.spring.wire_diameter is None
    return bool(np.isnan(setup.column(*key.split(".")).value[index]))


def _cure(result: ControlResult, index: int, system: str) -> str:
    """Say what would hold the train to the redline, and at which cost."""
    limit = float(result.limit_speed.value[index])
    spare = float(result.seat_load_spare.value[index])
    if math.isnan(spare):
        return ""
    needed = shown(float(result.seat_load_needed.value[index]), "force", system)
    more = -spare * float(result.nose_load_by_seat_load.value[index] / (0.1 * result.seat_load.value[index]))
    safe = shown(limit - 2 * float(result.limit_speed.uncertainty[index]), "rotation", system)
    gain = shown(float(result.gain_by_valve_side.value[index]), "rotation", system)
    tenth = shown(0.1 * float(result.valve_side_mass.value[index]), "mass", system)
    return (
        f"Stay below {safe}, or: a seat load of {needed} holds it (adds {shown(more, 'force', system)} at "
        f"the nose of the lobe; check coil bind and the lobe's load); {tenth} less on the valve side gains "
        f"{gain}."
    )
