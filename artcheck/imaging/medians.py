"""The median, without what numpy's brings along."""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import ArrayLike


def median(values: ArrayLike, axis: int | None = None) -> Any:
    """What `numpy.median` gives for numbers none of which is NaN.

    Of floats that function imports masked arrays, which nothing here uses and which take a small
    file's check a twentieth of its time.
    """
    along = 0 if axis is None else axis
    array = np.ravel(values) if axis is None else np.asarray(values)
    size = array.shape[along]
    middle = (size - 1) // 2, size // 2
    parted = np.partition(array, middle, axis=along)
    return parted.take(range(middle[0], middle[1] + 1), axis=along).mean(axis=along)
