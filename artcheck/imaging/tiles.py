"""Sums over the tiles of a picture, a row of tiles at a time."""

from __future__ import annotations

from collections.abc import Sequence

import cv2
import numpy as np
from numpy.typing import NDArray


def sums_along(values: NDArray[np.uint8], spans: Sequence[tuple[int, int]]) -> list[int]:
    """Sum of (h, w) uint8 between the columns of each span, first and beyond the last."""
    columns = np.asarray(cv2.reduce(values, 0, cv2.REDUCE_SUM, dtype=cv2.CV_32S))[0]
    running = np.concatenate([[0], np.cumsum(columns, dtype=np.int64)])
    return [int(running[end] - running[start]) for start, end in spans]
