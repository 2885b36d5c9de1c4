"""Connected pieces of a mask and the holes in them, from their outlines.

Outlines cost a tenth of labelling every pixel, in time and in memory.
"""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray


@dataclass(frozen=True, slots=True)
class Pieces:
    """Connected pieces, in no particular order but always the same.

    Attributes
    ----------
    boxes
        (N, 4) int64: row0, col0, row1, col1, half-open.
    areas
        (N,) int64, pixels.
    """

    boxes: NDArray[np.int64]
    areas: NDArray[np.int64]

    def __getitem__(self, chosen: NDArray[np.bool_] | NDArray[np.intp]) -> Pieces:
        return Pieces(self.boxes[chosen], self.areas[chosen])


NONE = Pieces(np.zeros((0, 4), np.int64), np.zeros(0, np.int64))


def pieces_and_holes(mask: NDArray[np.uint8]) -> tuple[Pieces, Pieces]:
    """Pieces of the nonzero pixels of a (H, W) mask, and the zero areas wholly inside pieces.

    Pixels that touch at a corner belong to one piece; holes are parted there. An outline runs
    through the piece's own outermost pixels; by Pick's theorem (G. Pick 1899) the pixels in and
    on a lattice polygon of area A with B points on it number A + B / 2 + 1, and those strictly
    inside A - B / 2 + 1.
    """
    outlines, tree = cv2.findContours(mask, cv2.RETR_CCOMP, cv2.CHAIN_APPROX_SIMPLE)
    if not outlines:
        return NONE, NONE
    parents = np.asarray(tree, np.intp).reshape(-1, 4)[:, 3]
    points = np.concatenate([outline.reshape(-1, 2) for outline in outlines]).astype(np.int64)
    starts = np.cumsum([0, *(len(outline) for outline in outlines[:-1])])
    area, border = _polygons(points, starts)
    low = np.minimum.reduceat(points, starts)[:, ::-1]
    high = np.maximum.reduceat(points, starts)[:, ::-1] + 1
    is_hole = parents >= 0
    pixels = area + np.where(is_hole, -border, border) // 2 + 1
    np.subtract.at(pixels, parents[is_hole], pixels[is_hole])
    around = np.concatenate([low, high], axis=1)
    inside = around[is_hole] + np.array([1, 1, -1, -1])
    return Pieces(around[~is_hole], pixels[~is_hole]), Pieces(inside, pixels[is_hole])


def outer_boxes(mask: NDArray[np.uint8]) -> NDArray[np.int64]:
    """(N, 4) row0, col0, row1, col1, half-open, of pieces that lie in no other's hole."""
    outlines, _ = cv2.findContours(mask, cv2.RETR_EXTERNAL, cv2.CHAIN_APPROX_SIMPLE)
    if not outlines:
        return NONE.boxes
    points = np.concatenate(outlines).reshape(-1, 2)[:, ::-1].astype(np.int64)
    starts = np.cumsum([0, *(len(outline) for outline in outlines[:-1])])
    low, high = (bound.reduceat(points, starts) for bound in (np.minimum, np.maximum))
    return np.concatenate([low, high + 1], axis=1)


def _polygons(
    points: NDArray[np.int64], starts: NDArray[np.int64]
) -> tuple[NDArray[np.int64], NDArray[np.int64]]:
    """Area and number of lattice points on the border of each closed polygon."""
    following = np.concatenate([points[1:], points[:1]])
    ends = np.concatenate([starts[1:], [len(points)]]) - 1
    following[ends] = points[starts]
    cross = points[:, 0] * following[:, 1] - points[:, 1] * following[:, 0]
    steps = np.abs(following - points).max(axis=1)
    area = np.abs(np.add.reduceat(cross, starts))
    border = np.add.reduceat(steps, starts)
    # Twice the area and the border have the same parity, so the halves below are whole together.
    return (area + border % 2) // 2, border
