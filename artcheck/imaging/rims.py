"""Ink on the rim of a shape, freed from the background that is mixed into it."""

from __future__ import annotations

import cv2
import numpy as np
from numpy.typing import NDArray

Bytes = NDArray[np.uint8]


def ink_part(rgb: Bytes, coverage: Bytes, behind: tuple[int, int, int] | None) -> Bytes:
    """Each pixel's ink times its coverage.

    Parameters
    ----------
    rgb
        (h, w, 3) uint8, sRGB.
    coverage
        (h, w) uint8, share of each pixel that ink covers, 0-255.
    behind
        The background that partly covered pixels still hold their share of, as removed paper and
        an earlier matte are; None where ``rgb`` is the ink's own colour.

    Returns
    -------
    (h, w, 3) uint8
        0 where nothing prints; off by a code at most.
    """
    share = cv2.merge([coverage] * 3)
    if behind is None:
        return np.asarray(cv2.multiply(rgb, share, scale=1 / 255), np.uint8)
    ground = np.full(rgb.shape, behind, np.uint8)
    shown = cv2.multiply(ground, cv2.bitwise_not(share), scale=1 / 255)
    part = np.asarray(cv2.subtract(rgb, shown), np.uint8)
    part[coverage == 0] = 0
    return part
