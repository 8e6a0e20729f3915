"""Limits in use, each with its basis: what a verdict is given against unless the sheet says otherwise."""

from valvetrain.parts.limits.cam import CAM_LIMITS
from valvetrain.parts.limits.limit import Limit
from valvetrain.parts.limits.rocker import ROCKER_LIMITS
from valvetrain.parts.limits.spring import SPRING_LIMITS
from valvetrain.parts.limits.wear import WEAR_LIMITS

__all__ = ["DEFAULT_LIMITS"]

DEFAULT_LIMITS: dict[str, Limit] = {
    limit.id: limit for limit in ROCKER_LIMITS + SPRING_LIMITS + CAM_LIMITS + WEAR_LIMITS
}
