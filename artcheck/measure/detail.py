"""Fine detail: thinnest lines, narrowest gaps, small parts and holes, rows of letters."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import cv2
import numpy as np
from numpy.typing import NDArray

from artcheck.domain.base import Box
from artcheck.domain.measurements import (
    MAX_PLACES,
    DetailMeasured,
    InkMeasured,
    LetterRow,
    SmallPart,
    ThinPlace,
)
from artcheck.imaging.components import Pieces, pieces_and_holes
from artcheck.imaging.letters import Row, letter_rows
from artcheck.imaging.strokes import Stroke, thin_strokes
from artcheck.measure.contrast import open_profile
from artcheck.measure.coverage import FAINT_CODES, OPAQUE
from artcheck.measure.plates import REVERSED, InkAreas, find_plates, plate_rows, plate_strokes
from artcheck.measure.scan import Scan

MOST_PARTS = 400
"""Separate parts kept, smallest first: enough to count specks by, few enough to store."""

SPECK_PX = 400
"""Pieces of so many pixels can be specks: 20 px square is 5 pt at 300 ppi."""

CRUMB_PX = 9
CRUMB_REACH_PX = 3
"""Pieces of so few pixels, so near to a larger one, are its ragged edge (JPEG, scans)."""


def measure_detail(
    scan: Scan, box: Box | None = None, inks: Sequence[InkMeasured] = ()
) -> DetailMeasured:
    """Fine detail of the whole art, or of the part of it in ``box``; all lengths in pixels.

    Lines are strokes of ink on open ground and, where ``inks`` are given, of one ink on another;
    gaps are strokes of open ground in ink, and of a lighter ink in darker ones.
    """
    where = box or scan.box
    row0, col0, row1, col1 = where
    ink = scan.ink[row0:row1, col0:col1]
    parts, holes = scan.pieces if where == scan.box else pieces_and_holes(ink)
    parts = _without_noise(scan, where, _without_crumbs(parts, ink))
    ground = np.asarray(cv2.threshold(ink, 0, 1, cv2.THRESH_BINARY_INV)[1], np.uint8)
    holes = _without_noise(scan, where, _without_crumbs(holes, ground))
    plates = find_plates(scan, where, inks)
    open_lines, open_gaps = _open_strokes(scan, where)
    lines, gaps = open_lines, open_gaps
    if plates is not None:
        lines, gaps = _with_inner(open_lines, open_gaps, scan, where, plates)
    rows = [*_rows(parts, reverse=False), *_rows(holes, reverse=True)]
    if plates is not None:
        rows += plate_rows(plates, rows)
    return DetailMeasured(
        thinnest_line_px=lines[0].width_px if lines else None,
        narrowest_gap_px=gaps[0].width_px if gaps else None,
        lines=_places(lines, (row0, col0)),
        gaps=_places(gaps, (row0, col0)),
        open_lines=_places(open_lines, (row0, col0)),
        open_gaps=_places(open_gaps, (row0, col0)),
        small_parts=_small(parts, (row0, col0)),
        small_holes=_small(holes, (row0, col0)),
        letters=_letters(rows, (row0, col0)),
        shapes=parts.areas.size + holes.areas.size,
    )


def _open_strokes(scan: Scan, box: Box) -> tuple[list[Stroke], list[Stroke]]:
    """The thinnest lines and narrowest gaps between ink and open ground, relative to the box."""
    row0, col0, row1, col1 = box
    coverage = scan.coverage[row0:row1, col0:col1]
    ground = np.asarray(cv2.bitwise_not(coverage), np.uint8)
    lines = thin_strokes(
        coverage, MAX_PLACES, profile=open_profile(scan, box, coverage, gaps=False)
    )
    gaps = thin_strokes(
        ground, MAX_PLACES, beyond=OPAQUE, profile=open_profile(scan, box, ground, gaps=True)
    )
    return lines, gaps


def _with_inner(
    lines: list[Stroke], gaps: list[Stroke], scan: Scan, box: Box, plates: InkAreas
) -> tuple[list[Stroke], list[Stroke]]:
    """The same with the strokes of one ink on another, thinnest first."""
    widest = [2 * found[0].width_px if found else np.inf for found in (lines, gaps)]
    inner = plate_strokes(scan, box, plates, MAX_PLACES, max(widest))
    closing = [stroke for stroke in inner if stroke.tag == REVERSED]
    return _thinnest(lines + inner), _thinnest(gaps + closing)


def _thinnest(strokes: list[Stroke]) -> list[Stroke]:
    return sorted(strokes, key=lambda stroke: (stroke.width_px, stroke.box))[:MAX_PLACES]


def _without_crumbs(found: Pieces, mask: NDArray[np.uint8]) -> Pieces:
    """Leave out the crumbs of ragged edges: tiny pieces right beside a larger one of the mask."""
    keep = np.ones(found.areas.size, np.bool_)
    for n in np.flatnonzero(found.areas <= CRUMB_PX):
        row0, col0, row1, col1 = found.boxes[n]
        top, left = max(row0 - CRUMB_REACH_PX, 0), max(col0 - CRUMB_REACH_PX, 0)
        around = mask[top : row1 + CRUMB_REACH_PX, left : col1 + CRUMB_REACH_PX]
        keep[n] = cv2.countNonZero(around) <= 2 * found.areas[n]
    return found[keep]


def _without_noise(scan: Scan, box: Box, found: Pieces) -> Pieces:
    """Leave out small pieces that stand out of removed paper no more than its noise does."""
    if scan.paper_rgb is None:
        return found
    paper = np.array(scan.paper_rgb, np.int16)
    keep = np.ones(found.areas.size, np.bool_)
    for n in np.flatnonzero(found.areas <= SPECK_PX):
        row0, col0, row1, col1 = _placed(found.boxes[n], box)
        around = scan.rgb[max(row0 - 1, 0) : row1 + 1, max(col0 - 1, 0) : col1 + 1]
        keep[n] = np.abs(around - paper).max() >= FAINT_CODES
    return found[keep]


def _places(strokes: list[Stroke], origin: tuple[int, int]) -> tuple[ThinPlace, ...]:
    return tuple(
        ThinPlace(width_px=stroke.width_px, where=_placed(stroke.box, origin)) for stroke in strokes
    )


def _small(found: Pieces, origin: tuple[int, int]) -> tuple[SmallPart, ...]:
    order = np.argsort(found.areas, kind="stable")[:MOST_PARTS]
    return tuple(
        SmallPart(
            size_px=float(np.sqrt(found.areas[n])),
            where=_placed(found.boxes[n], origin),
        )
        for n in order
    )


def _rows(found: Pieces, *, reverse: bool) -> list[Row]:
    return [replace(row, reversed=reverse) for row in letter_rows(found.boxes, found.areas)]


def _letters(rows: list[Row], origin: tuple[int, int]) -> tuple[LetterRow, ...]:
    """Rows printed and reversed, each smallest first."""
    order = sorted(rows, key=lambda row: (row.reversed, row.height_px, row.box))
    kept = [
        row
        for flag in (False, True)
        for row in [r for r in order if r.reversed is flag][:MAX_PLACES]
    ]
    return tuple(
        LetterRow(height_px=row.height_px, where=_placed(row.box, origin), reversed=row.reversed)
        for row in kept
    )


def _placed(box: Sequence[int] | NDArray[np.int64], origin: Sequence[int]) -> Box:
    row, col = origin[:2]
    top, left, bottom, right = (int(side) for side in box)
    return top + row, left + col, bottom + row, right + col
