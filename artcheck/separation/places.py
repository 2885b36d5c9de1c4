"""Changes told by place: what lies close together is one place, and a long list is cut short."""

from __future__ import annotations

from collections.abc import Sequence

import cv2
import numpy as np

from artcheck.domain.base import Box
from artcheck.domain.separation import Change

TOGETHER_IN = 0.125
"""Places nearer to each other than this are looked at together: a small letter's height."""

ALONE = 8
"""Longer side of a place that stands alone, in those distances: an inch; a frame is no letter."""

MOST_PLACES = 30
"""Places told of each kind of change: more are not looked at one by one."""


def changes_of(found: Sequence[tuple[str, Box]], ppi: float) -> tuple[Change, ...]:
    """A change for each kind and place, by kind and down the page; the rest of many is counted."""
    changes: list[Change] = []
    for what in dict.fromkeys(what for what, _ in found):
        boxes = [box for kind, box in found if kind == what]
        places = sorted(_together(boxes, max(ppi * TOGETHER_IN, 1)))
        for box, count in places[:MOST_PLACES]:
            words = what if count == 1 else f"{what} ({count} of them)"
            changes.append(Change(what=words, where=box))
        left = places[MOST_PLACES:]
        if left:
            count = sum(number for _, number in left)
            changes.append(Change(what=f"{what} ({count} more elsewhere)", where=None))
    return tuple(changes)


def _together(boxes: Sequence[Box], cell_px: float) -> list[tuple[Box, int]]:
    """Boxes that are one place, joined, each with how many it holds."""
    joined: dict[int, list[Box]] = {}
    for box, place in zip(boxes, _numbers(boxes, cell_px), strict=True):
        joined.setdefault(place, []).append(box)
    return [(_hull(group), len(group)) for group in joined.values()]


def place_numbers(boxes: Sequence[Box], ppi: float) -> list[int]:
    """A number for each box, the same for those that stand together."""
    return _numbers(boxes, max(ppi * TOGETHER_IN, 1))


def _numbers(boxes: Sequence[Box], cell_px: float) -> list[int]:
    """Boxes that share or adjoin a cell are one place; large ones stand alone."""
    if not boxes:
        return []
    large = [max(row1 - row0, col1 - col0) > ALONE * cell_px for row0, col0, row1, col1 in boxes]
    cells = [[int(edge // cell_px) for edge in box] for box in boxes]
    rows, cols = (max(cell[axis] for cell in cells) + 1 for axis in (2, 3))
    page = np.zeros((rows, cols), np.uint8)
    for (row0, col0, row1, col1), alone in zip(cells, large, strict=True):
        if not alone:
            page[row0 : row1 + 1, col0 : col1 + 1] = 1
    _, numbers = cv2.connectedComponents(page, connectivity=4)
    return [
        -1 - index if alone else int(numbers[cell[0], cell[1]])
        for index, (cell, alone) in enumerate(zip(cells, large, strict=True))
    ]


def _hull(boxes: Sequence[Box]) -> Box:
    low = [min(box[axis] for box in boxes) for axis in (0, 1)]
    high = [max(box[axis] for box in boxes) for axis in (2, 3)]
    return low[0], low[1], high[0], high[1]
