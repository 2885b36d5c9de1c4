"""Connected pieces of a mask: boxes, areas, and rows of letter-like pieces."""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray


@dataclass(frozen=True, slots=True)
class Components:
    """Connected pieces, in the order of their first pixel.

    Attributes
    ----------
    boxes
        (N, 4) int64: row0, col0, row1, col1, half-open.
    areas
        (N,) int64, pixels.
    labels
        (H, W) int32, 0 outside every piece, n + 1 in piece n.
    """

    boxes: NDArray[np.int64]
    areas: NDArray[np.int64]
    labels: NDArray[np.int32]


def components(mask: NDArray[np.uint8], *, diagonal: bool = True) -> Components:
    """Connected pieces of the nonzero pixels of a (H, W) mask.

    ``diagonal`` counts pixels that touch at a corner as connected.
    """
    _, labels, stats, _ = cv2.connectedComponentsWithStats(
        mask, connectivity=8 if diagonal else 4, ltype=cv2.CV_32S
    )
    found = np.asarray(stats, np.int64)[1:]
    left, top, width, height, area = found.T
    boxes = np.stack([top, left, top + height, left + width], axis=1)
    return Components(boxes, area, np.asarray(labels, np.int32))
