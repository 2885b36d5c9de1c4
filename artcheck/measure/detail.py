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
from artcheck.imaging.components import Pieces, pieces_and_holes
from artcheck.imaging.letters import letter_rows
from artcheck.imaging.strokes import Stroke, thin_strokes
from artcheck.measure.coverage import OPAQUE
from artcheck.measure.scan import Scan

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
    coverage = scan.coverage[row0:row1, col0:col1]
    ink = np.ascontiguousarray(scan.ink[row0:row1, col0:col1])
    inks, holes = pieces_and_holes(ink)
    inks, holes = _without_crumbs(inks, ink), _without_crumbs(holes, 1 - ink)
    lines = _places(thin_strokes(coverage, MAX_PLACES), (row0, col0))
    ground = np.asarray(cv2.bitwise_not(coverage), np.uint8)
    gaps = _places(thin_strokes(ground, MAX_PLACES, beyond=OPAQUE), (row0, col0))
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


def _without_crumbs(found: Pieces, mask: NDArray[np.uint8]) -> Pieces:
    """Leave out the crumbs of ragged edges: tiny pieces right beside a larger one of the mask."""
    keep = np.ones(found.areas.size, np.bool_)
    for n in np.flatnonzero(found.areas <= CRUMB_PX):
        row0, col0, row1, col1 = found.boxes[n]
        top, left = max(row0 - CRUMB_REACH_PX, 0), max(col0 - CRUMB_REACH_PX, 0)
        around = mask[top : row1 + CRUMB_REACH_PX, left : col1 + CRUMB_REACH_PX]
        keep[n] = cv2.countNonZero(around) <= 2 * found.areas[n]
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
            where=_placed(tuple(int(v) for v in found.boxes[n]), origin),  # type: ignore[arg-type]
        )
        for n in order
    )


def _letters(found: Pieces, origin: tuple[int, int], *, reverse: bool) -> tuple[LetterRow, ...]:
    rows = letter_rows(found.boxes, found.areas)
    smallest = sorted(rows, key=lambda row: row.height_px)[:MAX_PLACES]
    return tuple(
        LetterRow(height_px=row.height_px, where=_placed(row.box, origin), reversed=reverse)
        for row in smallest
    )


def _placed(box: Box, origin: tuple[int, int]) -> Box:
    row, col = origin
    return box[0] + row, box[1] + col, box[2] + row, box[3] + col
