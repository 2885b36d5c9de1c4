"""How much is printed: the trimmed box, the ink in it, the largest connected solid."""

from __future__ import annotations

import cv2

from artcheck.domain.measurements import AreaMeasured
from artcheck.measure.coverage import OPAQUE
from artcheck.measure.scan import Scan


def measure_area(scan: Scan) -> AreaMeasured:
    """Box, ink area and coverage; a half-covered pixel counts a half.

    Raises
    ------
    NothingToPrintError
        Nothing is covered.
    """
    row0, col0, row1, col1 = scan.box
    within = scan.coverage[row0:row1, col0:col1]
    ink_px = float(cv2.sumElems(within)[0]) / OPAQUE
    pieces, _ = scan.pieces
    largest, where = 0.0, None
    if pieces.areas.size:
        n = int(pieces.areas.argmax())
        largest = float(pieces.areas[n])
        top, left, bottom, right = (int(v) for v in pieces.boxes[n])
        where = (top + row0, left + col0, bottom + row0, right + col0)
    return AreaMeasured(
        box=scan.box,
        ink_px=ink_px,
        coverage=min(ink_px / within.size, 1.0),
        largest_solid_px=largest,
        largest_solid_box=where,
    )
