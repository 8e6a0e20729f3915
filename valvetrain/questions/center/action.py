"""What to do with one rocker along the shaft, in a few words."""

from collections.abc import Sequence

from valvetrain.questions.center.study import CenteringResult
from valvetrain.setup.units import brief

__all__ = ["center_action"]


def center_action(result: CenteringResult, index: int, system: str) -> tuple[str, str]:
    """Return (the action, what it comes to); empty where nothing is to be moved.

    A shim that goes from one side to the other is one movement.
    """
    if not result.moved[index]:
        return "", ""
    before, after = result.offset_before.value[index], result.offset_after.value[index]
    then = f"{brief(abs(before), 'length', system)} -> {brief(abs(after), 'length', system)} off stem"
    front_in, front_out = list(result.front_added[index]), list(result.front_removed[index])
    rear_in, rear_out = list(result.rear_added[index]), list(result.rear_removed[index])
    backward = _common(front_out, rear_in)
    forward = _common(rear_out, front_in)
    steps = []
    if backward:
        steps.append(f"move {_sum(backward, system)} of shim from front to behind")
    if forward:
        steps.append(f"move {_sum(forward, system)} of shim from behind to front")
    for shims, words in (
        (front_out, "take out {} in front"),
        (rear_out, "take out {} behind"),
        (front_in, "put in {} in front"),
        (rear_in, "put in {} behind"),
    ):
        if shims:
            steps.append(words.format(_sum(shims, system)))
    if not steps:
        way = "rear" if after > before else "front"
        steps.append(f"move it {brief(abs(after - before), 'length', system)} to the {way}")
    return ", ".join(steps), then


def _common(out: list[float], put: list[float]) -> list[float]:
    """Take from both lists the shims that come out on one side and go in on the other."""
    found = []
    for shim in list(out):
        same = next((each for each in put if abs(each - shim) < 1e-6), None)
        if same is not None:
            out.remove(shim)
            put.remove(same)
            found.append(shim)
    return found


def _sum(shims: Sequence[float], system: str) -> str:
    return " + ".join(brief(each, "length", system) for each in shims)
