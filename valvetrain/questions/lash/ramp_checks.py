"""Verdicts on the lash against the cam's ramps, and on what is left of it hot."""

import math

from valvetrain.answers.verdict import Check, judged
from valvetrain.questions.lash.setting import LashSetting
from valvetrain.setup.setup import Setup
from valvetrain.setup.units import shown

__all__ = ["ramp_checks"]


def ramp_checks(setup: Setup, result: LashSetting, system: str) -> list[Check]:
    """Judge the ramps left at every valve, and the hot lash where its growth is known.

    Where the sheet holds no ramp at all (cam-card lobes without `ramp_height`) nothing is judged of it.
    """
    checks: list[Check] = []
    if any(source not in ("", "card") for source in result.ramp_from):
        ramps_known = not any(math.isnan(each) for each in result.opening_ramp.value)
        checks += judged(
            setup,
            "ramp_left",
            result.ramp_left,
            needs=("lash.lash",) if ramps_known else ("lash.lash", "lobe.ramp_height"),
            cure=tuple(_closer(result, index, system) for index in range(len(result.valves))),
            system=system,
        )
    if any(not math.isnan(each) for each in result.growth.value):
        opened = tuple(
            "Set more lash cold: hot, the valve would be held off its seat." for _ in result.valves
        )
        checks += judged(setup, "hot_lash", result.hot_lash, needs=("lash.lash",), cure=opened, system=system)
    return checks


def _closer(result: LashSetting, index: int, system: str) -> str:
    """Say which lash would keep both ends on the ramps."""
    greatest, least = float(result.greatest_lash.value[index]), float(result.least_lash.value[index])
    if math.isnan(greatest):
        return (
            "No lash keeps both ends on the ramps that the lobe shows. Read its table more finely near both "
            "ends, or give ramp_height from the cam maker; if it has no more ramp, take the cam maker's lash."
        )
    state = "hot" if result.runs_hot[index] else "running"
    window = f"{shown(least, 'length', system)} to {shown(greatest, 'length', system)}"
    return (
        f"Both ends stay on the ramps with a {state} lash of {window}; beyond it the valve is opened and "
        "seated by the flank, with noise and wear. Hold that against the cam maker's lash before you change "
        "it."
    )
