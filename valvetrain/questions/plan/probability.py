"""How probable it is that verdicts are right: the probability of conformity of JCGM 106:2012."""

import math
from collections.abc import Iterable

from valvetrain.answers.verdict import Check

__all__ = ["conformity", "log_conformity"]

_LEAST = 1e-12


def conformity(check: Check) -> float:
    """Return the probability that what is judged lies within its limit, 0 to 1; NaN where it is not measured.

    JCGM 106:2012, 7.2 and 7.5: a normal distribution about the value with its standard uncertainty
    (published; the clauses from memory).
    """
    if math.isnan(check.value):
        return math.nan
    if not check.uncertainty > 0.0:
        return float(check.low <= check.value <= check.high)
    return _below(check.high, check) - _below(check.low, check)


def _below(limit: float, check: Check) -> float:
    if math.isinf(limit):
        return float(limit > 0)
    return 0.5 * math.erfc((check.value - limit) / (check.uncertainty * math.sqrt(2.0)))


def log_conformity(checks: Iterable[Check]) -> float:
    """Return the logarithm of the probability that all are right, as if they were independent."""
    known = [conformity(check) for check in checks if not math.isnan(check.value)]
    return sum(math.log(max(each, _LEAST)) for each in known)
