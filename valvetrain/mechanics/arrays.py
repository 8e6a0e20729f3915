"""The array type of the ground floor."""

import numpy as np
from numpy.typing import ArrayLike, NDArray

__all__ = ["ArrayLike", "BoolArray", "FloatArray"]

FloatArray = NDArray[np.float64]
BoolArray = NDArray[np.bool_]
