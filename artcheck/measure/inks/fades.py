"""Fades: kept out of the search for solids, and counted as their end colours."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import cv2
import numpy as np
from numpy.typing import NDArray

from artcheck.colour.difference import delta_e_2000
from artcheck.measure.inks.palette import Palette, lab_of
from artcheck.measure.inks.working import Bytes, Picture

if TYPE_CHECKING:
    from artcheck.measure.scan import Scan

SAME_END = 6.0
"""CIEDE2000 within which a fade's end is an ink that is there already: ends are read from the
outermost twentieth of the fade."""

RIM_PX = 2
"""Working pixels around a fade that its colours reach."""


def without_fades(scan: Scan, picture: Picture) -> Picture:
    """The picture with its fades made invisible."""
    fade = _fade_of(scan, picture)
    square = np.ones((2 * RIM_PX + 1,) * 2, np.uint8)
    hidden = np.asarray(cv2.dilate(fade, square), np.uint8)
    visible = np.asarray(cv2.bitwise_and(picture.visible, 1 - hidden), np.uint8)
    return replace(picture, visible=visible)


def _fade_of(scan: Scan, picture: Picture) -> Bytes:
    """(h, w) uint8, 1 in fades, on the working picture's pixels."""
    tone = scan.tone_map
    row0, col0, row1, col1 = tone.box
    down, right = picture.origin
    height, width = picture.coverage.shape
    fade = np.zeros((height, width), np.uint8)
    sides = [(row0 - down), (col0 - right), (row1 - down), (col1 - right)]
    top, left, bottom, end = (max(0, round(side * picture.scale)) for side in sides)
    bottom, end = min(bottom, height), min(end, width)
    size = max(1, end - left), max(1, bottom - top)
    part = cv2.resize(tone.fade.astype(np.uint8), size, interpolation=cv2.INTER_NEAREST)
    fade[top:bottom, left:end] = part[: bottom - top, : end - left]
    return fade


def add_fade_ends(scan: Scan, palette: Palette, picture: Picture) -> None:
    """Add both end colours of every fade, each with half of its area."""
    ink_area = float(picture.coverage.sum()) / 255
    for fade in scan.tone_map.fades:
        for end in fade.ends:
            _add_end(palette, np.array(end, np.float64), fade.share * ink_area / 2)


def _add_end(palette: Palette, rgb: NDArray[np.float64], area: float) -> None:
    first = 1 if palette.has_paper else 0
    known = palette.lab[first:]
    apart = delta_e_2000(lab_of(rgb[None]), known) if len(known) else np.array([np.inf])
    if apart.min() < SAME_END:
        palette.area[int(apart.argmin()) + first] += area
        return
    palette.fade_ends.add(len(palette.rgb))
    palette.rgb.append(rgb)
    palette.area.append(area)
