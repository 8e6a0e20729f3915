"""How the numbers of the oil to the rockers come about."""

from valvetrain.studies.explanation import noted

__all__ = ["EXPLANATIONS"]

_FLOW = (
    "flows balanced at every joint (derived); pipes, orifices and thin gaps: White, Fluid Mechanics, "
    "chapter 6 (memory)"
)

EXPLANATIONS = (
    noted(
        "oil",
        "rocker_pressure",
        "oil pressure at the rocker",
        "Pressures at all joints solved together, so that what flows in flows out.",
        _FLOW,
    ),
    noted(
        "oil",
        "rocker_flow",
        "oil that leaves at the rocker",
        "Flow through the rocker's gap at that pressure.",
        _FLOW,
    ),
    noted(
        "oil",
        "rocker_share",
        "oil at the rocker against the mean of all",
        "Flow over the mean of all rockers.",
        "definition",
        "rocker_oil_share",
    ),
)
