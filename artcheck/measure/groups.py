"""Separate designs on one page (a sheet of sponsors), each measured for itself."""

from __future__ import annotations

import cv2
import numpy as np
from numpy.typing import NDArray

from artcheck.colour.difference import delta_e_2000
from artcheck.colour.spaces import srgb8_to_lab
from artcheck.domain.base import Box
from artcheck.domain.measurements import GroupMeasured, InkMeasured
from artcheck.imaging.components import components
from artcheck.measure.detail import measure_detail
from artcheck.measure.scan import Scan
from artcheck.measure.sharpness import measure_sharpness

FEWEST = 4
"""Fewer separate parts are one design in parts: an emblem over a line of text."""

GAP_SHARE = 0.02
"""Part of the page's long side that separates designs: wider than words stand apart in one."""

LEAST_SIDE_SHARE = 0.06
"""Part of the page's long side below which a part is an ornament, not a design of its own."""

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
    row0, col0, row1, col1 = scan.box
    ink = scan.ink[row0:row1, col0:col1]
    scale = min(REDUCED_SIDE / max(ink.shape), 1.0)
    small = cv2.resize(ink * np.uint8(255), None, fx=scale, fy=scale, interpolation=cv2.INTER_AREA)
    gap = max(round(GAP_SHARE * max(small.shape)), 1)
    # Opened ground of `gap` px: designs nearer than that grow into one.
    joined = cv2.dilate((small > 0).astype(np.uint8), np.ones((gap, gap), np.uint8))
    found = components(np.asarray(joined, np.uint8))
    least = LEAST_SIDE_SHARE * max(small.shape)
    boxes = [
        _trimmed(scan, box, scale, (row0, col0), gap)
        for box in found.boxes
        if max(box[2] - box[0], box[3] - box[1]) - gap >= least
    ]
    return sorted(b for b in boxes if b is not None)


def _trimmed(
    scan: Scan, box: NDArray[np.int64], scale: float, origin: tuple[int, int], gap: int
) -> Box | None:
    """The design's own box at full size, without the grown margin."""
    height, width = scan.ink.shape
    row0, col0 = (max(int(box[i] / scale) + origin[i] - 1, 0) for i in (0, 1))
    row1 = min(int(box[2] / scale) + origin[0] + gap, height)
    col1 = min(int(box[3] / scale) + origin[1] + gap, width)
    left, top, wide, high = cv2.boundingRect(scan.ink[row0:row1, col0:col1])
    if not wide:
        return None
    return row0 + int(top), col0 + int(left), row0 + int(top + high), col0 + int(left + wide)


def _group(scan: Scan, box: Box, inks: tuple[InkMeasured, ...]) -> GroupMeasured:
    detail = measure_detail(scan, box)
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
    return bool(filled and np.median(srgb8_to_lab(rim)[:, 0]) >= WHITE_LIGHTNESS)
