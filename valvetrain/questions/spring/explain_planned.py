"""How the heights of the springs stand to each other once the plan is carried out."""

from typing import Any

import numpy as np

from valvetrain.answers.explanation import Explanation, Plain
from valvetrain.setup.setup import Setup

__all__ = ["PLANNED"]


def _middle(setup: Setup, result: Any, index: int) -> float:
    """Median of the planned heights of a valve's role."""
    heights = result.installed_height_after.value[np.array(setup.roles) == setup.roles[index]]
    return float(np.nanmedian(heights)) if not np.isnan(heights).all() else np.nan


PLANNED = (
    Explanation(
        "installed_height_deviation_after",
        "spring",
        "installed height against the middle of its role, with springs and shims as planned",
        {
            "H": "spring:installed_height_after",
            "M": Plain("spring", "median of the planned heights of this role", "length", _middle),
        },
        (("installed_height_deviation_after", "H - M"),),
        "definition",
        "Judged where the springs are on no valve yet; else the heights as they are.",
    ),
)
