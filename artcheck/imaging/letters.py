"""Rows of letter-like pieces: similar heights, side by side, closely spaced."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from artcheck.imaging.medians import median

LEAST_HEIGHT_PX = 4
"""Lower pieces carry no shape of a letter."""

MOST_PIECES = 1500
"""Pieces considered: beyond it the art is texture, not text."""

ASPECTS = (0.08, 2.2)
"""Width over height of letters, from a sans-serif I to a wide W (looked at in common faces)."""

FILLS = (0.12, 0.98)
"""Part of its box that a letter fills, from a light O to a bold I."""

HEIGHT_RATIO = 2.2
"""Heights in one row: lower-case x to capital or ascender."""

GAP_IN_HEIGHTS = 1.1
"""Space between letters and words of one row, in heights of the taller."""

BASELINE_STEP = 0.35
"""Steps of the baseline from letter to letter, in heights: lettering on a curve still passes."""

LEAST_LETTERS = 4
"""Fewer pieces in line are dots or an ornament."""

CAPITAL_QUANTILE = 0.8
"""Capitals and ascenders are the tallest pieces of a row; one taller ornament must not count."""


@dataclass(frozen=True, slots=True)
class Row:
    """A row of letters: height of its capitals in pixels, its box, and whether it is left open."""

    height_px: float
    box: tuple[int, int, int, int]
    reversed: bool = False


def letter_rows(boxes: NDArray[np.int64], areas: NDArray[np.int64]) -> list[Row]:
    """Rows among pieces with these boxes (N, 4) and areas (N,)."""
    like = _letter_like(boxes, areas)
    if not LEAST_LETTERS <= like.sum() <= MOST_PIECES:
        return []
    chosen = boxes[like]
    return [
        _row(chosen[members])
        for members in _linked(_beside(chosen))
        if members.size >= LEAST_LETTERS and _one_height(chosen[members])
    ]


def _letter_like(boxes: NDArray[np.int64], areas: NDArray[np.int64]) -> NDArray[np.bool_]:
    height, width = boxes[:, 2] - boxes[:, 0], boxes[:, 3] - boxes[:, 1]
    aspect = width / np.maximum(height, 1)
    fill = areas / np.maximum(height * width, 1)
    shape = (aspect >= ASPECTS[0]) & (aspect <= ASPECTS[1])
    return np.asarray(
        (height >= LEAST_HEIGHT_PX) & shape & (fill >= FILLS[0]) & (fill <= FILLS[1]), np.bool_
    )


def _beside(boxes: NDArray[np.int64]) -> NDArray[np.bool_]:
    """(N, N) True where two pieces stand side by side in one row."""
    top, left, bottom, right = boxes.T.astype(np.float64)
    height = bottom - top
    tall = np.maximum(height[:, None], height)
    low = np.minimum(height[:, None], height)
    overlap = np.minimum(bottom[:, None], bottom) - np.maximum(top[:, None], top)
    gap = np.maximum(left[:, None], left) - np.minimum(right[:, None], right)
    side = (gap <= GAP_IN_HEIGHTS * tall) & (gap >= -0.3 * low)
    return np.asarray((overlap >= 0.6 * low) & (tall <= HEIGHT_RATIO * low) & side, np.bool_)


def _linked(joined: NDArray[np.bool_]) -> list[NDArray[np.intp]]:
    """Groups of indices joined directly or through others."""
    waiting = set(range(len(joined)))
    groups = []
    while waiting:
        group, edge = set(), {waiting.pop()}
        while edge:
            group |= edge
            near = np.flatnonzero(joined[list(edge)].any(axis=0))
            edge = set(near.tolist()) & waiting
            waiting -= edge
        groups.append(np.array(sorted(group)))
    return groups


def _one_height(boxes: NDArray[np.int64]) -> bool:
    """Text has two or three heights and, locally, one baseline; a heap of shapes has neither."""
    ordered = boxes[np.argsort(boxes[:, 1], kind="stable")].astype(np.float64)
    height = ordered[:, 2] - ordered[:, 0]
    step = np.abs(np.diff(ordered[:, 2])) / np.mean(height)
    return bool(np.std(height) <= 0.3 * np.mean(height) and median(step) <= BASELINE_STEP)


def _row(boxes: NDArray[np.int64]) -> Row:
    height = boxes[:, 2] - boxes[:, 0]
    top, left = boxes[:, :2].min(axis=0)
    bottom, right = boxes[:, 2:].max(axis=0)
    box = (int(top), int(left), int(bottom), int(right))
    return Row(float(np.quantile(height, CAPITAL_QUANTILE)), box)
