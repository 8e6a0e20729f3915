"""What the height stack implies, in sentences; it judges nothing by itself."""

import math

from valvetrain.questions.heights.study import HeightsResult, Total
from valvetrain.setup.units import shown, shown_spread

__all__ = ["ledger_sentences"]

# Chi-square per degree of freedom above which the valves do not share one change (our judgment).
_TOO_SCATTERED = 4.0


def ledger_sentences(result: HeightsResult, system: str) -> list[str]:
    """Say what the unknown total is and what it means for stand shims and pushrods."""
    total = result.total
    if math.isnan(total.value):
        return [
            "No valve has both `exposure` and `exposure_before` in [adjuster] or the table of valves: "
            "measure the thread showing under each rocker now, and give what showed before the work."
        ]
    amount = shown(abs(total.value), "length", system, total.uncertainty)
    spread = shown_spread(2 * total.uncertainty, "length", system)
    shorter = total.value < 0
    items = ", ".join(item.replace("_", " ") for item in result.ledger.unknown_items)
    where = (
        f" It is the sum of: {items}." if items else " No line of the ledger is left unknown: look for one."
    )
    sentences = []
    if abs(total.value) <= 2 * total.uncertainty:
        sentences.append(
            f"The known changes explain the adjusters: nothing beyond +-{spread} is left unknown."
        )
    else:
        sentences.append(
            f"Unknown: the stack from cam to shaft became {amount} {'shorter' if shorter else 'taller'} "
            f"(+-{spread}).{where}"
        )
        sentences.append(_bringing_back(total, system))
    if total.apart:
        sentences.append(
            f"{', '.join(total.apart)} stand apart from the rest and are left out of it: look there for "
            "seat, valve length, base circle or tappet. Check every valve; one measured and the rest "
            "assumed is the commonest mistake."
        )
    if total.scatter > _TOO_SCATTERED:
        sentences.append("The valves do not agree on one change: judge each by its own row.")
    return sentences


def _bringing_back(total: Total, system: str) -> str:
    """Say which pushrods or stand shims bring the thread back to what showed before."""
    rod, shim = total.pushrod_change, total.stand_shim_change
    return (
        "The same thread as before shows again with pushrods "
        f"{shown(abs(rod), 'length', system)} {'longer' if rod > 0 else 'shorter'}, which leave the "
        f"pattern on the tip alone, or with {shown(abs(shim), 'length', system)} "
        f"{'more' if shim > 0 else 'less'} under the stands, which moves it (see `rocker`)."
    )
