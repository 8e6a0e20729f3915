"""Lengths asked for beside a question: one, a list, or a range such as 0.012:0.024:0.002."""

from valvetrain.answers.question import Refused

__all__ = ["one_length", "several_lengths"]

MOST = 200


def one_length(written: str, name: str, system: str, low: float, high: float) -> float:
    """Read one length [m] that is not below `low` or above `high` [m].

    Raises:
        Refused: it is no length, or none within these.
    """
    from valvetrain.parts.spec import Spec
    from valvetrain.setup.values import measured

    try:
        spec = Spec(name, "length", low=low, high=high)
        return measured(written, spec, name, system=system, instruments={}).value
    except ValueError as error:
        raise Refused(f"{name}: {error}.") from None


def several_lengths(written: str, name: str, system: str, low: float, high: float) -> tuple[float, ...]:
    """Read `A`, `A,B,...` or `FIRST:LAST:STEP` [m].

    Raises:
        Refused: it is none of these, or a range that does not rise or has more than 200 steps.
    """
    parts = written.split(":")
    if len(parts) == 1:
        return tuple(one_length(each, name, system, low, high) for each in written.split(","))
    if len(parts) != 3:
        raise Refused(
            f"{name}: '{written}' is not a range; write FIRST:LAST:STEP, such as 0.012:0.024:0.002."
        )
    first, last = (one_length(each, name, system, low, high) for each in parts[:2])
    step = one_length(parts[2], f"{name} step", system, 0.0, high)
    if not (step > 0 and last >= first):
        raise Refused(f"{name}: '{written}' does not rise; write FIRST:LAST:STEP with a step above 0.")
    count = int((last - first) / step * (1 + 1e-9) + 1e-9) + 1
    if count > MOST:
        raise Refused(f"{name}: '{written}' has {count} steps; {MOST} is the most. Take a larger step.")
    return tuple(first + step * index for index in range(count))
