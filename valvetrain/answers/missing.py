"""What a drawing needs and the sheet does not give, in shop words."""

from collections.abc import Iterable

import numpy as np

from valvetrain.setup.linkage_columns import lobe_lift
from valvetrain.setup.setup import Setup

__all__ = ["missing_words"]


def missing_words(setup: Setup, index: int, keys: Iterable[str]) -> list[str]:
    """Return the names of those sheet keys ("section.key") that are not known at the valve of that index.

    The lobe lift counts as known where its table gives it; a valve's stem height is only missing where the
    shaft's height was measured at another valve.
    """
    words = []
    for key in keys:
        section, name = key.split(".")
        if key == "valve.stem_height" and setup.trains[index].shaft.reference_stem_height is None:
            continue
        column = lobe_lift(setup) if key == "lobe.lift" else setup.column(section, name)
        if np.isnan(column.value[index]):
            words.append(f"{section} {name}" if section in ("shaft", "lobe") else name.replace("_", " "))
    return words
