"""Fine detail: thinnest lines, narrowest gaps, small parts and holes, rows of letters."""

from __future__ import annotations

import cv2
import numpy as np
from numpy.typing import NDArray

from artcheck.domain.base import Box
from artcheck.domain.measurements import (
    MAX_PLACES,
    DetailMeasured,
    LetterRow,
    SmallPart,
    ThinPlace,
)
from artcheck.imaging.components import Components, components
from artcheck.imaging.letters import letter_rows
from artcheck.imaging.strokes import Stroke, thin_strokes
from artcheck.measure.scan import OPAQUE, Scan

MOST_PARTS = 400
"""Separate parts kept, smallest first: enough to count specks by, few enough to store."""

CRUMB_PX = 9
CRUMB_REACH_PX = 3
"""Pieces of so few pixels, so near to a larger one, are its ragged edge (JPEG, scans)."""


def measure_detail(scan: Scan, box: Box | None = None) -> DetailMeasured:
    """Fine detail of the whole art, or of the part of it in ``box``.

    Lines and gaps are those between ink and what is not inked; all lengths in pixels.
    """
    row0, col0, row1, col1 = box or scan.box
    coverage = np.ascontiguousarray(scan.coverage[row0:row1, col0:col1])
    ink = np.ascontiguousarray(scan.ink[row0:row1, col0:col1])
    inks, holes = _without_crumbs(components(ink)), _without_crumbs(_holes(ink))
    lines = _places(thin_strokes(coverage, MAX_PLACES), (row0, col0))
    gaps = _places(_inner_gaps(coverage), (row0, col0))
    return DetailMeasured(
        thinnest_line_px=lines[0].width_px if lines else None,
        narrowest_gap_px=gaps[0].width_px if gaps else None,
        lines=lines,
        gaps=gaps,
        small_parts=_small(inks, (row0, col0)),
        small_holes=_small(holes, (row0, col0)),
        letters=(
            *_letters(inks, (row0, col0), reverse=False),
            *_letters(holes, (row0, col0), reverse=True),
        ),
    )


def _without_crumbs(found: Components) -> Components:
    """Leave out the crumbs of ragged edges: tiny pieces right beside a larger one."""
    tiny = np.flatnonzero(found.areas <= CRUMB_PX)
    if not tiny.size:
        return found
    keep = np.ones(found.areas.size, np.bool_)
    for n in tiny:
        row0, col0, row1, col1 = found.boxes[n]
        top, left = max(row0 - CRUMB_REACH_PX, 0), max(col0 - CRUMB_REACH_PX, 0)
        around = found.labels[top : row1 + CRUMB_REACH_PX, left : col1 + CRUMB_REACH_PX]
        others = np.unique(around[(around > 0) & (around != n + 1)]) - 1
        keep[n] = not (found.areas[others] > found.areas[n]).any()
    return Components(found.boxes[keep], found.areas[keep], found.labels)


def _inner_gaps(coverage: NDArray[np.uint8]) -> list[Stroke]:
    """Strokes of what is not inked. Beyond the box lies open ground, so no gap ends there."""
    pad = cv2.copyMakeBorder(coverage, 1, 1, 1, 1, cv2.BORDER_CONSTANT, value=0)
    open_ground = np.asarray(cv2.bitwise_not(pad), np.uint8)
    far = max(coverage.shape) // 8 + 16
    wide = cv2.copyMakeBorder(open_ground, far, far, far, far, cv2.BORDER_CONSTANT, value=OPAQUE)
    found = thin_strokes(np.asarray(wide, np.uint8), MAX_PLACES)
    return [Stroke(s.width_px, s.length_px, _shifted(s.box, -far - 1)) for s in found]


def _shifted(box: Box, by: int) -> Box:
    row0, col0, row1, col1 = (max(side + by, 0) for side in box)
    return row0, col0, row1, col1


def _holes(ink: NDArray[np.uint8]) -> Components:
    """Open areas wholly inside the ink."""
    return components(1 - _filled_from_outside(ink), diagonal=False)


def _filled_from_outside(ink: NDArray[np.uint8]) -> NDArray[np.uint8]:
    """The ink with the ground around it filled: 1 everywhere but in holes."""
    ground = cv2.copyMakeBorder(ink, 1, 1, 1, 1, cv2.BORDER_CONSTANT, value=0)
    cv2.floodFill(ground, None, (0, 0), 1)
    return np.asarray(ground, np.uint8)[1:-1, 1:-1]


def _places(strokes: list[Stroke], origin: tuple[int, int]) -> tuple[ThinPlace, ...]:
    return tuple(
        ThinPlace(width_px=stroke.width_px, where=_placed(stroke.box, origin)) for stroke in strokes
    )


def _small(found: Components, origin: tuple[int, int]) -> tuple[SmallPart, ...]:
    order = np.argsort(found.areas, kind="stable")[:MOST_PARTS]
    return tuple(
        SmallPart(
            size_px=float(np.sqrt(found.areas[n])),
            where=_placed(tuple(int(v) for v in found.boxes[n]), origin),  # type: ignore[arg-type]
        )
        for n in order
    )


def _letters(found: Components, origin: tuple[int, int], *, reverse: bool) -> tuple[LetterRow, ...]:
    rows = letter_rows(found.boxes, found.areas)
    smallest = sorted(rows, key=lambda row: row.height_px)[:MAX_PLACES]
    return tuple(
        LetterRow(height_px=row.height_px, where=_placed(row.box, origin), reversed=reverse)
        for row in smallest
    )


def _placed(box: Box, origin: tuple[int, int]) -> Box:
    row, col = origin
    return box[0] + row, box[1] + col, box[2] + row, box[3] + col
