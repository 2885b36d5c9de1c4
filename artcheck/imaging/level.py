"""Where a picture is level: pixels that agree with their neighbours, and whether flat areas do."""

from __future__ import annotations

import cv2
import numpy as np
from numpy.typing import NDArray

Bytes = NDArray[np.uint8]

LEVEL_CODES = 12
"""Spread of 3 x 3 pixels, in codes, under which they are one surface and not an edge."""

ON_EDGE_PX, NEAR_EDGE_PX = 2, 6
"""Distances from an edge between which flatness is judged: past the anti-aliased rim, within the
8-pixel block of a JPEG file."""

NOISY_SHARE, NOISY_LEAST_PX = 0.06, 100
"""Share of those surroundings that are not level, from which art counts as noisy: renderings reach
0.02 (0.05 at 220 px), JPEG files of quality 90 start at 0.066; fewer pixels tell nothing."""


def spread(rgb: Bytes, visible: Bytes, size: int) -> Bytes:
    """Widest channel's range over ``size`` x ``size`` visible pixels.

    Returns (h, w) uint8, for an even size that of the window whose last row and column the pixel
    is; 255 where the pixel itself is not visible.
    """
    square = np.ones((size, size), np.uint8)
    if visible.all():
        highest, lowest = cv2.dilate(rgb, square), cv2.erode(rgb, square)
    else:
        seen = cv2.cvtColor(visible * np.uint8(255), cv2.COLOR_GRAY2BGR)
        highest = cv2.dilate(cv2.bitwise_and(rgb, seen), square)
        lowest = cv2.erode(cv2.bitwise_or(rgb, cv2.bitwise_not(seen)), square)
    red, green, blue = cv2.split(cv2.subtract(highest, lowest))
    widest = np.asarray(cv2.max(cv2.max(red, green), blue), np.uint8)
    widest[visible == 0] = 255
    return widest


def beside(edges: Bytes) -> NDArray[np.bool_]:
    """(h, w) what lies beside edges, but not on them; ``edges`` (h, w) uint8 is not 0 there."""
    near = cv2.dilate(edges, np.ones((2 * NEAR_EDGE_PX + 1,) * 2, np.uint8))
    on = cv2.dilate(edges, np.ones((2 * ON_EDGE_PX + 1,) * 2, np.uint8))
    return np.asarray(np.asarray(near) > np.asarray(on), np.bool_)


def is_noisy(rgb: Bytes, inked: Bytes) -> bool:
    """Whether flat areas beside edges are not exactly level.

    Beside edges, because JPEG leaves the middle of large areas exactly level, too.
    """
    around = spread(rgb, inked, 3)
    edges = np.asarray(cv2.inRange(around, LEVEL_CODES + 1, 254), np.uint8)
    counts = np.bincount(around[beside(edges) & (inked > 0)], minlength=256)[: LEVEL_CODES + 1]
    judged = int(counts.sum())
    return judged >= NOISY_LEAST_PX and bool(counts[2:].sum() > NOISY_SHARE * judged)
