"""Separate designs on one page (a sheet of sponsors), each measured for itself."""

from __future__ import annotations

import cv2
import numpy as np
from numpy.typing import NDArray

from artcheck.colour.difference import delta_e_2000
from artcheck.colour.spaces import srgb8_to_lab
from artcheck.domain.base import Box
from artcheck.domain.measurements import GroupMeasured, InkMeasured
from artcheck.imaging.components import pieces_and_holes
from artcheck.imaging.medians import median
from artcheck.imaging.reduce import reduced
from artcheck.measure.detail import measure_detail
from artcheck.measure.scan import Scan
from artcheck.measure.sharpness import measure_sharpness

FEWEST = 4
"""Fewer separate parts are one design in parts: an emblem over a line of text."""

LEAST_STEP = 1.35
"""Distance between designs over the widest distance within one, from which they are separate."""

LEAST_GAP_SHARE = 0.012
"""Part of the page's long side that stands between separate designs at least."""

LEAST_SIDE_SHARE = 0.05
"""Part of the page's long side below which a part is an ornament, not a design of its own."""

FEWEST_PIECES = 3
COMPOSED_SHARE = 0.6
"""So many designs are made of so many pieces; single letters of one design are not."""

MOST_PIECES = 700
"""Pieces considered: beyond it the art is texture or a halftone."""

REDUCED_SIDE = 600
"""Long side on which designs are told apart."""

BOX_FILL = 0.97
"""Part of its box that a design fills when it stands in an opaque rectangle."""

WHITE_LIGHTNESS = 90.0
INK_SHARE = 0.01
INK_DELTA_E = 10.0
"""A group has an ink when so much of it lies so near: mixtures at edges do not count."""


def measure_groups(scan: Scan, inks: tuple[InkMeasured, ...]) -> tuple[GroupMeasured, ...]:
    """Each separate design, from the top; empty when the page holds one design."""
    boxes = _boxes(scan)
    if len(boxes) < FEWEST:
        return ()
    return tuple(_group(scan, box, inks) for box in boxes)


def _boxes(scan: Scan) -> list[Box]:
    """Boxes of the separate designs: pieces joined until a clear step in their distances."""
    row0, col0, row1, col1 = scan.box
    ink = scan.ink[row0:row1, col0:col1]
    scale = min(REDUCED_SIDE / max(ink.shape), 1.0)
    size = max(round(ink.shape[1] * scale), 1), max(round(ink.shape[0] * scale), 1)
    small = reduced(ink * np.uint8(255), size)
    pieces = pieces_and_holes((small > 0).astype(np.uint8))[0].boxes.astype(np.float64)
    if not FEWEST <= len(pieces) <= MOST_PIECES:
        return []
    groups = _separated(pieces, long_side=max(small.shape))
    boxes = [_full_size(pieces[group], scale, scan) for group in groups]
    return sorted(boxes)


def _separated(pieces: NDArray[np.float64], long_side: float) -> list[NDArray[np.intp]]:
    """Groups of pieces, cut where the distances between neighbours step up the most."""
    first, second, length = _spanning_tree(pieces)
    order = np.argsort(length, kind="stable")
    best: list[NDArray[np.intp]] = []
    best_step = LEAST_STEP
    for cut in range(1, len(order)):
        near, far = length[order[cut - 1]], length[order[cut]]
        step = far / max(near, 1.0)
        if step <= best_step or far < LEAST_GAP_SHARE * long_side:
            continue
        groups = _joined(len(pieces), first[order[:cut]], second[order[:cut]])
        groups = [g for g in groups if _side(pieces[g]) >= LEAST_SIDE_SHARE * long_side]
        composed = sum(1 for g in groups if g.size >= FEWEST_PIECES)
        if len(groups) >= FEWEST and composed >= COMPOSED_SHARE * len(groups):
            best, best_step = groups, step
    return best


def _spanning_tree(
    pieces: NDArray[np.float64],
) -> tuple[NDArray[np.intp], NDArray[np.intp], NDArray[np.float64]]:
    """Shortest joints that connect all boxes (Prim 1957): two ends and the gap of each."""
    top, left, bottom, right = pieces.T
    down = np.maximum(top[:, None], top) - np.minimum(bottom[:, None], bottom)
    across = np.maximum(left[:, None], left) - np.minimum(right[:, None], right)
    gap = np.hypot(np.maximum(down, 0), np.maximum(across, 0))
    count = len(pieces)
    nearest, distance = np.zeros(count, np.intp), gap[0].copy()
    waiting = np.ones(count, np.bool_)
    waiting[0] = False
    first, second, length = [], [], []
    for _ in range(count - 1):
        n = int(np.where(waiting, distance, np.inf).argmin())
        first.append(int(nearest[n]))
        second.append(n)
        length.append(float(distance[n]))
        waiting[n] = False
        closer = gap[n] < distance
        nearest[closer], distance[closer] = n, gap[n][closer]
    return np.array(first), np.array(second), np.array(length)


def _joined(
    count: int, first: NDArray[np.intp], second: NDArray[np.intp]
) -> list[NDArray[np.intp]]:
    """Sets of indices that joints connect."""
    label = np.arange(count)
    for a, b in zip(first, second, strict=True):
        label[label == label[a]] = label[b]
    return [np.flatnonzero(label == value) for value in np.unique(label)]


def _side(boxes: NDArray[np.float64]) -> float:
    """The shorter side of the box around boxes: a rule is no design."""
    low, high = boxes[:, :2].min(axis=0), boxes[:, 2:].max(axis=0)
    return float((high - low).min())


def _full_size(boxes: NDArray[np.float64], scale: float, scan: Scan) -> Box:
    """The box around boxes at full size, trimmed to the ink."""
    height, width = scan.ink.shape
    low = np.floor(boxes[:, :2].min(axis=0) / scale).astype(int) + scan.box[:2]
    high = np.ceil(boxes[:, 2:].max(axis=0) / scale).astype(int) + scan.box[:2]
    row0, col0 = int(max(low[0], 0)), int(max(low[1], 0))
    row1, col1 = int(min(high[0], height)), int(min(high[1], width))
    left, top, wide, high_px = cv2.boundingRect(scan.ink[row0:row1, col0:col1])
    return row0 + int(top), col0 + int(left), row0 + int(top + high_px), col0 + int(left + wide)


def _group(scan: Scan, box: Box, inks: tuple[InkMeasured, ...]) -> GroupMeasured:
    detail = measure_detail(scan, box, inks)
    sharpness = measure_sharpness(scan, box)
    here = _inks_in(scan, box, inks)
    letters = [row.height_px for row in detail.letters]
    return GroupMeasured(
        where=box,
        inks=len(here) or None,
        true_scale=sharpness.true_scale if sharpness else None,
        thinnest_line_px=detail.thinnest_line_px,
        narrowest_gap_px=detail.narrowest_gap_px,
        smallest_letters_px=min(letters, default=None),
        has_opaque_box=_in_a_box(scan, box),
        ink_hexes=here,
    )


def _inks_in(scan: Scan, box: Box, inks: tuple[InkMeasured, ...]) -> tuple[str, ...]:
    if not inks:
        return ()
    row0, col0, row1, col1 = box
    step = max(min(row1 - row0, col1 - col0) // 200, 1)
    solid = scan.coverage[row0:row1:step, col0:col1:step] == 255
    lab = srgb8_to_lab(scan.rgb[row0:row1:step, col0:col1:step][solid])
    if not len(lab):
        return ()
    apart = delta_e_2000(lab[:, None], np.array([ink.lab for ink in inks])[None])
    nearest = apart.argmin(axis=1)
    near = apart.min(axis=1) <= INK_DELTA_E
    share = np.bincount(nearest[near], minlength=len(inks)) / len(lab)
    return tuple(ink.hex for ink, part in zip(inks, share, strict=True) if part >= INK_SHARE)


def _in_a_box(scan: Scan, box: Box) -> bool:
    """The design stands in an opaque, near-white rectangle of its own."""
    row0, col0, row1, col1 = box
    filled = scan.ink[row0:row1, col0:col1].mean() >= BOX_FILL
    rim = np.concatenate(
        [
            scan.rgb[row0 + 2, col0:col1],
            scan.rgb[row1 - 3, col0:col1],
            scan.rgb[row0:row1, col0 + 2],
            scan.rgb[row0:row1, col1 - 3],
        ]
    )
    return bool(filled and median(srgb8_to_lab(rim)[:, 0]) >= WHITE_LIGHTNESS)
