"""Limits in use, each with its basis: what a verdict is given against unless the sheet says otherwise."""

from valvetrain.parts.cam_limits import CAM_LIMITS
from valvetrain.parts.limit import Limit
from valvetrain.parts.rocker_limits import ROCKER_LIMITS
from valvetrain.parts.spring_limits import SPRING_LIMITS
from valvetrain.parts.wear_limits import WEAR_LIMITS

__all__ = ["DEFAULT_LIMITS"]

DEFAULT_LIMITS: dict[str, Limit] = {
    limit.id: limit for limit in ROCKER_LIMITS + SPRING_LIMITS + CAM_LIMITS + WEAR_LIMITS
}
