"""Strokes between ink and removed paper, as far as they stand out of the paper's noise."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from artcheck.domain.base import Box
from artcheck.imaging.medians import median
from artcheck.imaging.strokes import Crossings, Profile, sampled_at
from artcheck.measure.coverage import OPAQUE
from artcheck.measure.scan import Scan

Floats = NDArray[np.floating]

FINE_HALF_PX = 5.0
"""Half-width up to which a stroke can be made of noise."""

SIDE_PX = 3.0
"""How far beyond its edge a stroke's sides are read."""

LEAST_STEP_CODES_PX = 60.0
"""Difference from what lies beside it that a stroke adds up to across, in sRGB codes times pixels:
that of black a quarter of a pixel wide, or of the faintest ink two pixels wide."""


def open_profile(scan: Scan, box: Box, field: NDArray[np.uint8], *, gaps: bool) -> Profile:
    """Coverage at the crossings of strokes in ``field``, a part of the art's coverage or ground.

    On removed paper a line must also be darker than both its sides, and a gap lighter: beside a
    near-white ink, noise of a few codes is half of all there is.
    """
    paper = None if scan.paper_rgb is None else np.array(scan.paper_rgb, np.float64)

    def profile(crossings: Crossings) -> tuple[Floats, int] | None:
        if paper is not None and float(median(crossings.half)) <= FINE_HALF_PX:
            apart = np.abs(sampled_at(scan.rgb, crossings, origin=box[:2]) - paper).max(axis=2)
            if _step_codes_px(-apart if gaps else apart, crossings) < LEAST_STEP_CODES_PX:
                return None
        return sampled_at(field, crossings, beyond=OPAQUE if gaps else 0) / OPAQUE, 0

    return profile


def _step_codes_px(contrast: Floats, crossings: Crossings) -> float:
    """By how much a stroke exceeds the lowest contrast on either side, added up across it."""
    offsets = crossings.offsets
    away = np.abs(offsets) - crossings.half[:, None]
    beside = (away > 0) & (away <= SIDE_PX)
    left = np.where(beside & (offsets < 0), contrast, np.inf).min(axis=1)
    right = np.where(beside & (offsets > 0), contrast, np.inf).min(axis=1)
    above = np.maximum(contrast - np.maximum(left, right)[:, None], 0) * (away <= 0)
    return float(median(above.sum(axis=1))) * float(offsets[1] - offsets[0])
