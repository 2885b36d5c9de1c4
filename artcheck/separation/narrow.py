"""Where a shape is narrower than a disc, and which of those places are lines and not corners."""

from __future__ import annotations

from math import floor

import cv2
import numpy as np
from numpy.typing import NDArray

from artcheck.domain.base import Box
from artcheck.imaging.components import Pieces, pieces_and_holes
from artcheck.imaging.discs import disc

Mask = NDArray[np.bool_]
Crop = tuple[slice, slice]

LINE_AREA = 4.0
"""Area, in squares of the limit's half, from which what no disc reaches is a line and no corner: a
corner of 30 degrees leaves 2.4 such squares, a right angle 0.2 (geometry of the disc)."""

ROUND_PX = 0.3
"""Added to whole radii: a disc of pixel centres alone has points for poles."""


def unreached(mask: Mask, wide_px: float, *, beyond: bool = False) -> Mask:
    """Pixels that no disc within the mask covers; the largest of odd width within the limit.

    ``beyond`` says whether the mask goes on beyond the picture's edge.
    """
    radius = radius_of(wide_px)
    if radius < 1 or not mask.any():
        return np.zeros(mask.shape, np.bool_)
    kernel = disc(radius + ROUND_PX)
    edge = cv2.copyMakeBorder(
        mask.view(np.uint8), *(radius,) * 4, cv2.BORDER_CONSTANT, value=(int(beyond),)
    )
    reached = np.asarray(cv2.morphologyEx(edge, cv2.MORPH_OPEN, kernel), np.uint8)
    left: Mask = mask & (reached[radius:-radius, radius:-radius] == 0)
    return left


def lines_of(left: Mask, wide_px: float) -> Pieces:
    """Of what no disc as wide as the limit reaches: the lines, corners left out."""
    pieces, _ = pieces_and_holes(left.view(np.uint8))
    return pieces[pieces.areas >= LINE_AREA * (wide_px / 2) ** 2]


def radius_of(wide_px: float) -> int:
    """Of the disc of odd width within a width."""
    return floor((wide_px - 1) / 2)


def middle_of(mask: Mask, *, beyond: bool = False) -> Mask:
    """Pixels farther from the mask's edge than their neighbours, or as far."""
    inside = np.pad(mask.view(np.uint8), 1, constant_values=int(beyond))
    depth = cv2.distanceTransform(inside, cv2.DIST_L2, 5)[1:-1, 1:-1]
    highest = cv2.dilate(depth, np.ones((3, 3), np.uint8))
    return mask & (depth >= highest - 1e-3)


def piece_in(mask: Mask, area: int) -> Mask:
    """The connected piece of a crop that fills it; of just this area where there is one."""
    _, numbers, stats, _ = cv2.connectedComponentsWithStats(mask.view(np.uint8), connectivity=8)
    if len(stats) == 1:
        return np.zeros(mask.shape, np.bool_)
    extent = stats[1:, cv2.CC_STAT_WIDTH].astype(np.int64) + stats[1:, cv2.CC_STAT_HEIGHT]
    extent[stats[1:, cv2.CC_STAT_AREA] == area] += sum(mask.shape)
    return np.asarray(numbers == 1 + int(extent.argmax()))


def piece_of(left: Mask, box: Box, crop: Crop, area: int) -> Mask:
    """(h, w) of a crop: the piece with this box and area."""
    row, col = crop[0].start, crop[1].start
    inner = np.s_[box[0] - row : box[2] - row, box[1] - col : box[3] - col]
    piece = np.zeros(left.shape, np.bool_)
    piece[inner] = piece_in(np.ascontiguousarray(left[inner]), area)
    return piece


def as_box(box: NDArray[np.int64]) -> Box:
    """Plain numbers of a box."""
    row0, col0, row1, col1 = (int(edge) for edge in box)
    return row0, col0, row1, col1


def around(shape: tuple[int, ...], box: Box, margin: int) -> Crop:
    """A box with a margin, as far as the picture goes."""
    return (
        slice(max(box[0] - margin, 0), min(box[2] + margin, shape[0])),
        slice(max(box[1] - margin, 0), min(box[3] + margin, shape[1])),
    )
