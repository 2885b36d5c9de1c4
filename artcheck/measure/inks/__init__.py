"""The inks of the art: how many, which, where, and how sure."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import cv2
import numpy as np
from numpy.typing import NDArray

from artcheck.colour.difference import delta_e_2000_single
from artcheck.colour.spaces import lab_to_hex, srgb8_to_lab
from artcheck.domain.base import Box, Lab
from artcheck.domain.measurements import InkMeasured, InksMeasured, ToneMeasured
from artcheck.measure.inks.palette import SAME_INK, Palette, find_palette
from artcheck.measure.inks.thin import add_thin_inks
from artcheck.measure.inks.working import Picture, working_picture

if TYPE_CHECKING:
    from artcheck.measure.scan import Scan

INK_SHARE = 0.003
"""Share of the ink area from which a colour is an ink: what covers less is not seen on cloth as a
colour of its own (common practice); read without blended rims, which take a little off."""

WHITE: Lab = (100.0, 0.0, 0.0)


def count_inks(scan: Scan, tone: ToneMeasured | None) -> InksMeasured:
    """Count the distinct solid colours.

    Parameters
    ----------
    scan
        The art.
    tone
        What is known of fades and photographs: a photograph has no ink count.
    """
    if tone is not None and tone.kind == "photo":
        return InksMeasured(count=None, count_without_white=None)
    picture = working_picture(scan)
    palette = find_palette(picture)
    add_thin_inks(palette, picture, INK_SHARE * float(picture.coverage.sum()) / 255)
    found = _inks(picture, palette)
    paper = WHITE if scan.paper_rgb is None else _lab(np.array(scan.paper_rgb, np.uint8))
    coloured = [ink for ink in found if not _is_white(ink.lab, paper)]
    return InksMeasured(count=len(found), count_without_white=len(coloured), inks=tuple(found))


def _is_white(lab: Lab, paper: Lab) -> bool:
    return min(delta_e_2000_single(lab, WHITE), delta_e_2000_single(lab, paper)) < SAME_INK


def _lab(rgb: NDArray[np.uint8]) -> Lab:
    lightness, a, b = (round(float(value), 3) + 0.0 for value in srgb8_to_lab(rgb, np.float64))
    return lightness, a, b


@dataclass(frozen=True, slots=True)
class _Found:
    ink: int
    area: float


def _inks(picture: Picture, palette: Palette) -> list[InkMeasured]:
    """Records of the inks that cover enough, most area first."""
    first = 1 if palette.has_paper else 0
    total = sum(palette.area[first:])
    found = [_Found(ink, palette.area[ink]) for ink in range(first, len(palette.area))]
    found = [each for each in found if each.area >= INK_SHARE * total]
    found.sort(key=lambda each: (-each.area, each.ink))
    kept = sum(each.area for each in found)
    return [_record(picture, palette, each, kept) for each in found]


def _record(picture: Picture, palette: Palette, found: _Found, total: float) -> InkMeasured:
    code = np.rint(np.clip(palette.rgb[found.ink], 0, 255)).astype(np.uint8)
    lab = _lab(code)
    return InkMeasured(
        hex=lab_to_hex(lab),
        lab=lab,
        share=min(1.0, found.area / total),
        where=_where(picture, palette.labels == found.ink + 1),
    )


def _where(picture: Picture, mask: NDArray[np.bool_]) -> Box:
    """Box in file pixels of a working mask."""
    col, row, width, height = cv2.boundingRect(mask.view(np.uint8))
    corners = (row, col, row + height, col + width)
    row0, col0, row1, col1 = (round(side / picture.scale) for side in corners)
    down, right = picture.origin
    return row0 + down, col0 + right, row1 + down, col1 + right
