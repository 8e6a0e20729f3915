"""How the numbers of the height stack come about."""

from valvetrain.studies.explanation import noted

__all__ = ["EXPLANATIONS"]

_SUM_OF_THE_KNOWN_C = "Sum of the known changes, each with its sign."
_STACK = (
    "derived: the stack from cam to shaft moves the adjuster one for one, from shaft to tip "
    "through the rocker's turn"
)

EXPLANATIONS = (
    noted(
        "heights",
        "exposure_change",
        "thread showing now less before",
        "adjuster.exposure less adjuster.exposure_before.",
        "definition",
    ),
    noted(
        "heights",
        "known_reach",
        "what the known lines of the ledger change between tappet and shaft",
        _SUM_OF_THE_KNOWN_C,
        _STACK,
    ),
    noted(
        "heights",
        "known_rise",
        "what the known lines change between tip and shaft",
        _SUM_OF_THE_KNOWN_C,
        _STACK,
    ),
    noted(
        "heights",
        "known_exposure_change",
        "what the known lines explain of the thread's change",
        "The linkage solved with the known changes, the lash kept.",
        _STACK,
    ),
    noted(
        "heights",
        "unknown_reach",
        "what is left, if all of it lies between cam and shaft",
        "The change between cam and shaft that explains the rest of the thread's change.",
        _STACK,
    ),
    noted(
        "heights",
        "unknown_rise",
        "what is left, if all of it lies between shaft and tip",
        "The change between shaft and tip that explains the rest of the thread's change.",
        _STACK,
    ),
    noted(
        "heights",
        "own_part",
        "the valve's own part of what is left",
        "Unknown reach less the mean of the set that agrees.",
        "definition",
    ),
    noted(
        "heights",
        "pushrod_change",
        "longer pushrod that brings the thread back (minus: shorter)",
        "The linkage solved for the length that shows the thread of before, the lash kept.",
        _STACK,
    ),
    noted(
        "heights",
        "stand_shim_change",
        "stand shim that brings the thread back (minus: less)",
        "The linkage solved for the shaft height that shows the thread of before, the lash kept.",
        _STACK,
    ),
)
