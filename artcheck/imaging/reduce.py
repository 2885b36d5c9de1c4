"""Pictures made smaller by area averages, the large part of the way by halving.

Averages over 2 x 2 pixels run at the speed of memory; those over any other size cost ten times as
much a pixel. Every halving rounds to whole codes, so small pictures go down at once.
"""

from __future__ import annotations

import cv2
import numpy as np
from numpy.typing import NDArray

Bytes = NDArray[np.uint8]

LARGE_PX = 4_000_000
"""Pixels from which halving is worth its rounding: under it any average takes 10 ms at most."""


def reduced(picture: Bytes, size: tuple[int, int]) -> Bytes:
    """Area averages of (H, W) or (H, W, C) uint8 at ``size``, (width, height)."""
    while may_halve(picture.shape, size):
        picture = halved(picture)
    if picture.shape[1::-1] == size:
        return picture
    return np.asarray(cv2.resize(picture, size, interpolation=cv2.INTER_AREA), np.uint8)


def may_halve(shape: tuple[int, ...], size: tuple[int, int]) -> bool:
    """Whether a picture of this shape may be halved on its way to ``size``, (width, height).

    Not where it goes down by an odd whole number: averages there hold whole blocks of pixels, and
    of an enlarged picture each its own.
    """
    height, width = shape[:2]
    if height * width < LARGE_PX or width < 2 * size[0] or height < 2 * size[1]:
        return False
    factor = width // size[0]
    return (width, height) != (factor * size[0], factor * size[1]) or factor % 2 == 0


def halved(picture: Bytes) -> Bytes:
    """Averages over 2 x 2 pixels of (H, W) or (H, W, C) uint8.

    An odd last row or column is left out where there are others.
    """
    height, width = picture.shape[:2]
    even = picture[: max(height // 2 * 2, 1), : max(width // 2 * 2, 1)]
    size = max(width // 2, 1), max(height // 2, 1)
    return np.asarray(cv2.resize(even, size, interpolation=cv2.INTER_AREA), np.uint8)
