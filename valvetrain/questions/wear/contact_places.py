"""Where in the lift the pad's line lies worst on the tip: the position that a reported least is found at."""

from dataclasses import dataclass

import numpy as np

from valvetrain.mechanics.arrays import FloatArray
from valvetrain.mechanics.contact.tip_footprint import contact_on_tip

__all__ = ["ContactPlaces", "contact_places"]


@dataclass(frozen=True)
class ContactPlaces:
    """Shares of net lift, shape [valves]; NaN where unknown.

    Attributes:
        share: at which the least of the line is on the tip; centered_share: the same for a centered pad.
        edge: at which an end of the line is nearest to the edge, or farthest over it.
        eccentricity: at which the middle of what bears is farthest from the stem's axis.
        limit: at which the offset is limited; limit_side: +1 to the rear, -1 to the front.
    """

    share: FloatArray
    centered_share: FloatArray
    edge: FloatArray
    eccentricity: FloatArray
    limit: FloatArray
    limit_side: FloatArray


def contact_places(
    contact: FloatArray,
    offset: FloatArray,
    width: FloatArray,
    radius: FloatArray,
    skew: FloatArray,
    limit: FloatArray,
    least_share: float,
) -> ContactPlaces:
    """Find the places.

    Args:
        contact: where the pad bears [m], shape [valves, positions], evenly through the net lift.
        offset, width, radius, skew: as for `contact_on_tip`, shape [valves].
        limit: largest offset that keeps `least_share` of the centered line on the tip [m], [valves].
    """
    shares = np.linspace(0.0, 1.0, contact.shape[-1])

    def least(values: FloatArray) -> FloatArray:
        known = np.asarray(~np.isnan(values).all(axis=-1))
        filled = np.where(np.isnan(values), np.inf, values)
        return np.where(known, shares[filled.argmin(axis=-1)], np.nan)

    with np.errstate(invalid="ignore"):
        now = contact_on_tip(contact, offset, width, radius, skew)
        centered = contact_on_tip(contact, 0.0, width, radius, skew)
        left = [
            contact_on_tip(contact, side * limit, width, radius, skew).share - least_share * centered.share
            for side in (1.0, -1.0)
        ]
    lowest = [np.min(one, axis=-1) for one in left]
    rear = lowest[0] <= lowest[1]
    return ContactPlaces(
        share=least(now.share),
        centered_share=least(centered.share),
        edge=least(now.edge_distance),
        eccentricity=least(-now.eccentricity),
        limit=np.where(rear, least(left[0]), least(left[1])),
        limit_side=np.where(np.isnan(lowest[0]), np.nan, np.where(rear, 1.0, -1.0)),
    )
