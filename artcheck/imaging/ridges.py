"""The middles of thin strokes: ridges of the distance transform, where their width stays.

The search runs block by block and looks closer only where opening with a square removes something:
an edge of any slant survives that, a stroke narrower than the square does not.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from artcheck.imaging.blocks import Block, blocks
from artcheck.imaging.components import outer_boxes
from artcheck.imaging.places import places

Bytes = NDArray[np.uint8]
Floats = NDArray[np.floating]

OPENING_PX = 9
"""Side of the square; strokes under it are found at this size, the others reduced by two."""

HALO_PX = 16
"""Margin around a block: the widest stroke of a level and the square beyond it."""

LEAST_HALF_PX = OPENING_PX / 4
"""Half-width from which reduced strokes are looked at: thinner ones have shown at the size before,
and the coarse grid makes the tips of points look even."""

PART_MARGIN_PX = 2 * OPENING_PX
"""Kept around what is thin: depths up to the opening, a bridge away, are right there."""

CELL_PX, MOST_BOXES = 32, 60
"""Parts end at cells of this size; more boxes in a block than the second are searched as one."""

HAIR_CODES = 32
"""Coverage (of 255) by which a hairline stands out; fainter ones are dirt or noise."""

MOST_SLOPE = 0.3
"""Change of the half-width a pixel along a ridge, above which it is a taper or a corner's bisector:
the sine of half the tip's angle, 17 degrees."""

LEVEL_STEP = 1.15
"""Half-widths are searched in steps of 15 %: strokes whose width varies less are one."""

LEAST_DEPTH_PX = 0.5
"""Depth of every pixel of the mask."""

LENGTH_IN_WIDTHS = 1.5
"""Length of a stroke's ridge in its widths, at least. The ridge ends half a width before either end
of the stroke: strokes keep their width over 2.5 widths; shorter ones are dots, serifs and tips."""

LEAST_LENGTH_PX = 7.0
"""Shorter ridges are the tips of points, which the pixel grid makes look even."""

EVEN_SHARE, EVEN_PX = 0.75, 1.1
"""Half-widths from this share of a run's, or so many pixels under it, count as the same width.
Along a slant the mask of an even stroke is now one pixel wider, now narrower."""

BRIDGE_PX = 5
"""Where the mask of a slant steps, its ridge breaks by up to twice so many pixels, and a pixel."""


@dataclass(frozen=True, slots=True)
class Run:
    """The middle of a stroke in full-size pixels: (N,) rows, cols and half-widths of its mask.

    They are right to ``grain_px``, the pixels that stood for one where the run was found.
    """

    rows: Floats
    cols: Floats
    half: Floats
    grain_px: int = 1

    def __getitem__(self, chosen: NDArray[np.intp] | NDArray[np.bool_] | slice) -> Run:
        return Run(self.rows[chosen], self.cols[chosen], self.half[chosen], self.grain_px)


@dataclass(slots=True)
class _Ridge:
    """(N,) ridge pixels of a block, their half-widths, and which are on a stroke already.

    ``middle`` (h, w) float32 has the half-widths of what may belong to a stroke's middle, jitter
    considered, and 0 elsewhere; it begins at the block's (row, col) ``corner``.
    """

    rows: NDArray[np.intp]
    cols: NDArray[np.intp]
    half: NDArray[np.float32]
    taken: NDArray[np.bool_]
    corner: tuple[int, int]
    middle: NDArray[np.float32]


def runs(level: Bytes, scale: int, beyond: int, limit: Callable[[], float]) -> Iterator[Run]:
    """Runs of ridge of the strokes that show in a reduced field, in full-size pixels.

    Parameters
    ----------
    level
        (H, W) uint8 coverage, every pixel standing for ``scale`` x ``scale`` of the picture.
    beyond
        Coverage taken for what lies outside the array.
    limit
        Asked again and again: half-width in full-size pixels up to which runs still matter.
    """
    for block in blocks(level.shape, HALO_PX):
        if _is_even(level[block.around], beyond):
            continue
        part = cv2.copyMakeBorder(
            level[block.around], *(HALO_PX,) * 4, cv2.BORDER_CONSTANT, value=beyond
        )
        ridge = _ridge(np.asarray(part, np.uint8), block, 0.5 if scale == 1 else LEAST_HALF_PX)
        if ridge is None:
            continue
        row, col = (span.start - HALO_PX for span in block.around)
        for run in _long_runs(ridge, limit() / scale):
            yield _full_size(run, scale, row, col)


def _is_even(part: Bytes, beyond: int) -> bool:
    """No place of a part can stand out, whether or not it lies at the picture's edge."""
    lowest, highest, _, _ = cv2.minMaxLoc(part)
    return max(highest, beyond) - min(lowest, beyond) < HAIR_CODES


def _full_size(run: Run, scale: int, row: int, col: int) -> Run:
    """From a block at reduced size to full-size pixels (pixel centres are whole numbers)."""
    shift = (scale - 1) / 2
    rows, cols = (run.rows + row) * scale + shift, (run.cols + col) * scale + shift
    return Run(rows, cols, run.half * scale, scale)


def _ridge(block: Bytes, place: Block, least_half: float) -> _Ridge | None:
    """Pixels on the middle of thin strokes: no neighbour is deeper by more than the slope allows.

    None where nothing is thin. ``block`` has a border of `HALO_PX` more than ``place.around``.
    """
    square = np.ones((OPENING_PX, OPENING_PX), np.uint8)
    thin = _at_least(cv2.morphologyEx(block, cv2.MORPH_TOPHAT, square))
    found = []
    for part in _long_parts(thin):
        half = _half_widths(block[part])
        on = _on_ridge(half, thin[part], least_half)
        if on is not None:
            found.append((part, half, on))
    if not found:
        return None
    corner, middle = _middles([(part, half) for part, half, _ in found])
    rows = np.concatenate([on[0] + part[0].start for part, _, on in found])
    cols = np.concatenate([on[1] + part[1].start for part, _, on in found])
    half = np.concatenate([half[on] for _, half, on in found])
    own_rows, own_cols = (
        (v >= span.start + HALO_PX) & (v < span.stop + HALO_PX)
        for v, span in zip((rows, cols), place.inner, strict=True)
    )
    own = own_rows & own_cols
    return _Ridge(rows[own], cols[own], half[own], np.zeros(own.sum(), np.bool_), corner, middle)


def _on_ridge(
    half: NDArray[np.float32], thin: Bytes, least_half: float
) -> tuple[NDArray[np.intp], NDArray[np.intp]] | None:
    """Rows and cols of thin places as deep as what lies around."""
    deeper = cv2.subtract(cv2.dilate(half, np.ones((3, 3), np.uint8)), half)
    flat = cv2.bitwise_and(cv2.inRange(deeper, 0, MOST_SLOPE), thin)
    on = cv2.bitwise_and(flat, cv2.inRange(half, least_half, OPENING_PX))
    rows, cols = places(np.asarray(on, np.uint8))
    return (rows, cols) if rows.size else None


def _middles(
    parts: list[tuple[tuple[slice, slice], NDArray[np.float32]]],
) -> tuple[tuple[int, int], NDArray[np.float32]]:
    """`_middle` of all parts of a block in one array, and where it begins in the block."""
    spans = [span for span, _ in parts]
    row, col = (min(span[axis].start for span in spans) for axis in (0, 1))
    height, width = (max(span[axis].stop for span in spans) for axis in (0, 1))
    middle = np.zeros((height - row, width - col), np.float32)
    for (rows, cols), half in parts:
        # a part's span may end beyond the block's last whole cell
        middle[rows.start - row :, cols.start - col :][: len(half), : half.shape[1]] = _middle(half)
    return (row, col), middle


def _middle(half: NDArray[np.float32]) -> NDArray[np.float32]:
    """Half-widths of the places that are as deep as what lies around, up to `EVEN_PX`; else 0.

    Two pixels around: so much deeper is everything beside a shape's rim, and nothing in a stroke.
    """
    around = cv2.dilate(half, np.ones((5, 5), np.uint8))
    even = cv2.inRange(cv2.subtract(around, half), 0, EVEN_PX)
    return np.asarray(cv2.copyTo(half, even), np.float32)


def _half_widths(block: Bytes) -> NDArray[np.float32]:
    """Distance to the ground from each pixel of the mask.

    Hairlines that cover no pixel by half belong to it when they stand out.
    """
    hair = cv2.morphologyEx(block, cv2.MORPH_TOPHAT, np.ones((3, 3), np.uint8))
    standing = cv2.max(block, cv2.convertScaleAbs(hair, alpha=128 / HAIR_CODES))
    mask = cv2.threshold(standing, 127, 1, cv2.THRESH_BINARY)[1]
    return np.asarray(cv2.distanceTransform(mask, cv2.DIST_L2, 5), np.float32)


def _long_parts(thin: Bytes) -> list[tuple[slice, slice]]:
    """Parts of a block, none overlapping, around everything thin that is long enough for a stroke.

    Each holds `PART_MARGIN_PX` around it, so that depths there are those of the whole block.
    """
    col, row, width, height = cv2.boundingRect(thin)
    if np.hypot(height, width) < LEAST_LENGTH_PX:
        return []
    found = outer_boxes(thin[row : row + height, col : col + width])
    boxes = found + np.array([row, col, row, col])
    boxes = boxes[np.hypot(*(boxes[:, 2:] - boxes[:, :2]).T) >= LEAST_LENGTH_PX]
    if len(boxes) > MOST_BOXES:
        boxes = np.concatenate([boxes[:, :2].min(axis=0), boxes[:, 2:].max(axis=0)])[None]
    low = np.maximum(boxes[:, :2] - PART_MARGIN_PX, 0) // CELL_PX
    cells = np.concatenate([low, -(-(boxes[:, 2:] + PART_MARGIN_PX) // CELL_PX)], axis=1)
    return [
        (slice(row0 * CELL_PX, row1 * CELL_PX), slice(col0 * CELL_PX, col1 * CELL_PX))
        for row0, col0, row1, col1 in _joined(cells, thin.shape)
    ]


def _joined(boxes: NDArray[np.int64], shape: tuple[int, ...]) -> list[list[int]]:
    """Boxes of cells, those that touch made one, until none does."""
    count = -1
    while len(boxes) and len(boxes) != count:
        count = len(boxes)
        grid = np.zeros([-(-side // CELL_PX) for side in shape], np.uint8)
        for row0, col0, row1, col1 in boxes:
            grid[row0:row1, col0:col1] = 1
        boxes = outer_boxes(grid)
    found: list[list[int]] = boxes.tolist()
    return found


def _at_least(thin: cv2.typing.MatLike) -> Bytes:
    """1 where a pixel stands out from what opening leaves."""
    return np.asarray(cv2.threshold(thin, HAIR_CODES - 1, 1, cv2.THRESH_BINARY)[1], np.uint8)


def _long_runs(ridge: _Ridge, most_half: float) -> Iterator[Run]:
    """Connected runs of ridge that are long for their width, thinnest first."""
    most_half = min(most_half, float(ridge.half.max(initial=0.0)) * LEVEL_STEP)
    level = float(ridge.half.min(initial=np.inf))
    while level <= most_half:
        level = max(level * LEVEL_STEP, level + EVEN_PX)
        yield from _runs_under(ridge, level)


def _runs_under(ridge: _Ridge, level: float) -> Iterator[Run]:
    """Runs not deeper than ``level``; their pixels are marked as taken."""
    thinnest = min(EVEN_SHARE * level, level - EVEN_PX)
    near = np.flatnonzero((ridge.half <= level) & (ridge.half >= thinnest) & ~ridge.taken)
    least = max(LENGTH_IN_WIDTHS * 2 * level, LEAST_LENGTH_PX)
    if near.size < least / 2:
        return
    # However deep: a letter's stem stays one where a bar joins it.
    rows, cols = ridge.rows[near], ridge.cols[near]
    row, col = (
        max(int(v.min()) - BRIDGE_PX - 1, first)
        for v, first in zip((rows, cols), ridge.corner, strict=True)
    )
    down, right = (
        slice(start - first, int(v.max()) + BRIDGE_PX + 2 - first)
        for v, start, first in zip((rows, cols), (row, col), ridge.corner, strict=True)
    )
    around = ridge.middle[down, right]
    between = np.asarray(cv2.inRange(around, LEAST_DEPTH_PX, OPENING_PX), np.uint8)
    label = _connected(rows - row, cols - col, between)
    order = np.argsort(label, kind="stable")
    near, label = near[order], label[order]
    starts = np.flatnonzero(np.diff(label, prepend=-1))
    ends = np.append(starts[1:], label.size)
    extent = _extents(ridge.rows[near], ridge.cols[near], starts)
    for n in np.flatnonzero(extent >= least):
        run = near[starts[n] : ends[n]]
        ridge.taken[run] = True
        yield Run(
            ridge.rows[run].astype(np.float64),
            ridge.cols[run].astype(np.float64),
            ridge.half[run].astype(np.float64),
        )


def _connected(rows: NDArray[np.intp], cols: NDArray[np.intp], between: Bytes) -> NDArray[np.intp]:
    """(N,) a label of the connected set that each place belongs to.

    On a slant the middle of a stroke jumps between pixel rows: places a pixel apart count as
    connected, and those a few pixels apart along what may lie ``between`` (h, w).
    """
    square = np.ones((3, 3), np.uint8)
    mask = np.zeros(between.shape, np.uint8)
    mask[rows, cols] = 1
    bridged = cv2.dilate(mask, square)
    for _ in range(BRIDGE_PX - 1):
        bridged = cv2.bitwise_or(bridged, cv2.bitwise_and(cv2.dilate(bridged, square), between))
    labels = cv2.connectedComponents(bridged, connectivity=8, ltype=cv2.CV_32S)[1]
    return np.asarray(labels)[rows, cols].astype(np.intp)


def _extents(
    rows: NDArray[np.intp], cols: NDArray[np.intp], starts: NDArray[np.intp]
) -> NDArray[np.float64]:
    """Length of each run: the diagonal of its box, or a third of its pixels where it winds."""
    high, wide = (
        np.maximum.reduceat(v, starts) - np.minimum.reduceat(v, starts) for v in (rows, cols)
    )
    count = np.diff(starts, append=rows.size)
    return np.asarray(np.maximum(np.hypot(high, wide), count / 3), np.float64)
