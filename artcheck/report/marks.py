"""What stands around the art on every plate: register marks, and which ink it is."""

from __future__ import annotations

import math
from functools import cache

import cv2
import numpy as np
from numpy.typing import NDArray
from PIL import Image, ImageDraw, ImageFont

from artcheck.domain.base import Box
from artcheck.report.words import plain
from artcheck.separation.plates import Plate, Plates

Mask = NDArray[np.bool_]

MARGIN_IN = 0.5
"""Room around the art for marks: a cross of 0.3 in and a line of text (own choice)."""

_CROSS_IN = 0.3
_RING_IN = 0.16
_LINE_IN = 0.5 / 72
_TEXT_IN = 10 / 72
_TEXT_EDGE_IN = 0.06
_NAMES_A_CORNER = 3
"""Sizes of the marks: lines of half a point, letters of 10 points, clear of the crosses."""


def margin_px(ppi: float) -> int:
    """Pixels around the art on every side."""
    return math.ceil(MARGIN_IN * ppi)


def art_box(plates: Plates) -> Box:
    """Where the art lies on the page."""
    margin = margin_px(plates.ppi)
    height, width = plates.shape
    return margin, margin, margin + height, margin + width


def with_marks(plate: Plate, plates: Plates) -> Mask:
    """(H + 2m, W + 2m) bool: the plate with its margin, True where ink prints.

    The crosses stand in the same places on every plate: laid over one another they show whether
    the plates fit.
    """
    row0, col0, row1, col1 = art_box(plates)
    page = _crosses(plates.shape, plates.ppi).copy()
    _write_name(page, plate, plates)
    page[row0:row1, col0:col1] = plate.mask
    return page


def _write_name(page: Mask, plate: Plate, plates: Plates) -> None:
    """Each plate's name in a place of its own, so that they can be read laid over one another.

    From the top left to the bottom right, `_NAMES_A_CORNER` lines in each corner of the margin,
    between its end and the middle cross, or cut off there: letters never reach a cross or the art.
    """
    margin, (height, width) = margin_px(plates.ppi), page.shape
    corner, line = divmod(plate.order - 1, _NAMES_A_CORNER)
    below, right = divmod(corner % 4, 2)
    step = (margin - round(_TEXT_EDGE_IN * plates.ppi)) // _NAMES_A_CORNER
    start = round(_TEXT_EDGE_IN * plates.ppi)
    room = max((width - round(_CROSS_IN * plates.ppi)) // 2 - start, 0)
    text = _text(_words(plate, plates), plates.ppi)[:step, :room]
    row = line * step + (height - margin if below else start)
    col = width - start - text.shape[1] if right else start
    page[row : row + text.shape[0], col : col + text.shape[1]] |= text


def _words(plate: Plate, plates: Plates) -> str:
    return f"{plate.order}/{len(plates.plates)} {plate.name}"


@cache
def _crosses(shape: tuple[int, int], ppi: float) -> Mask:
    """The crosses alone, in the middle of every side."""
    margin = margin_px(ppi)
    height, width = shape[0] + 2 * margin, shape[1] + 2 * margin
    page = np.zeros((height, width), np.uint8)
    middle = margin // 2
    for row, col in (
        (middle, width // 2),
        (height - 1 - middle, width // 2),
        (height // 2, middle),
        (height // 2, width - 1 - middle),
    ):
        _draw_cross(page, row, col, ppi)
    return page.view(np.bool_)


def _draw_cross(page: NDArray[np.uint8], row: int, col: int, ppi: float) -> None:
    thick = max(round(_LINE_IN * ppi), 1)
    arm = round(_CROSS_IN * ppi / 2)
    cv2.line(page, (col - arm, row), (col + arm, row), 1, thick)
    cv2.line(page, (col, row - arm), (col, row + arm), 1, thick)
    cv2.circle(page, (col, row), round(_RING_IN * ppi / 2), 1, thick)


def _text(words: str, ppi: float) -> Mask:
    """(h, w) bool: a line of text, True on the letters."""
    font = ImageFont.load_default(size=max(_TEXT_IN * ppi, 8))
    shown = plain(words)
    left, top, right, bottom = (round(x) for x in font.getbbox(shown))
    image = Image.new("1", (max(right - left, 1), max(bottom - top, 1)))
    ImageDraw.Draw(image).text((-left, -top), shown, fill=1, font=font)
    return np.asarray(image, bool)
