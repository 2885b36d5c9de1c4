"""The picture that inks are counted on: the art's box at the size where its pixels are honest."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import cv2
import numpy as np
from numpy.typing import NDArray

from artcheck.domain.base import Box
from artcheck.imaging.level import is_noisy
from artcheck.imaging.reduce import halved, may_halve, reduced

if TYPE_CHECKING:
    from artcheck.measure.scan import Scan

Bytes = NDArray[np.uint8]
Floats = NDArray[np.float32]

MOST_PIXELS = 1_500_000
"""Working pixels: enough that 0.1 % of a sparse design is some hundred of them."""

BAND_ROWS = 64
"""Rows of one band: 5,000 pixels wide, a megabyte of shares, which stays in the cache."""

MARGIN_PX = 3
"""Paper kept around the art, to see what its rims blend with."""

VISIBLE_ALPHA = 96
"""Alpha from which a straight colour is known to 2 codes: half a code divided by the alpha."""

SUBSAMPLED_SCALE = 0.5
"""JPEG halves colour both ways; a picture reduced by this has colour and light equally sharp."""

SOFT_RATIO, COLOURED = 0.8, 0.002
"""Loss of colour over loss of light under which colour is soft: full-colour JPEG files give 0.95 to
1.2, halved ones 0.3 to 0.7; and the least energy of colour, over light's, to judge by."""

ENLARGED_SCALE = 0.75
"""True scale under which a picture is reduced to its true size before its inks are read."""


WHOLE_FACTOR = 0.03
"""How near a factor of enlarging must be to a whole one to be taken for it."""


@dataclass(frozen=True, slots=True, eq=False)
class Picture:
    """What inks are counted on.

    Attributes
    ----------
    rgb
        (h, w, 3) uint8.
    coverage
        (h, w) uint8, share of the pixel that ink covers.
    visible
        (h, w) uint8, 1 where the colour means something: everywhere but in transparent parts.
    paper
        (h, w) uint8, 1 on removed paper.
    paper_rgb
        The removed paper's colour.
    noisy
        Flat areas are not level: JPEG, scans, texture.
    soft_colour
        Colour was stored more coarsely than light.
    scale
        Working pixels per file pixel, at most 1.
    origin
        (row, col) in the file of the working picture's corner.
    """

    rgb: Bytes
    coverage: Bytes
    visible: Bytes
    paper: Bytes
    paper_rgb: tuple[int, int, int] | None
    noisy: bool
    soft_colour: bool
    scale: float
    origin: tuple[int, int]


def working_picture(scan: Scan) -> Picture:
    """Crop to the art, find out whether it is noisy, and reduce it to its true size."""
    picture = _cut(scan, _with_margin(scan, 1), min(1.0, (MOST_PIXELS / _box_area(scan)) ** 0.5))
    if not is_noisy(picture.rgb, picture.visible & (1 - picture.paper)):
        return picture
    scale, soft_colour = _true_scale(scan, picture)
    if scale < picture.scale:
        factor = round(1 / scale)
        whole = abs(1 / scale - factor) < WHOLE_FACTOR
        scale = 1 / factor if whole else scale
        picture = _cut(scan, _with_margin(scan, factor if whole else 1), scale)
    return replace(picture, noisy=True, soft_colour=soft_colour)


def _box_area(scan: Scan) -> int:
    row0, col0, row1, col1 = scan.box
    return (row1 - row0) * (col1 - col0)


def _cut(scan: Scan, box: Box, scale: float) -> Picture:
    row0, col0, row1, col1 = box
    part = np.s_[row0:row1, col0:col1]
    rgb, coverage = scan.rgb[part], scan.coverage[part]
    ground = scan.artwork.paper
    open_ground = None if ground is None else ground[part].view(np.uint8)
    has_alpha = scan.alpha is not None
    rgb, coverage, paper = _reduced(rgb, coverage, open_ground, scale, has_alpha)
    visible = _visible(coverage) if has_alpha else np.ones_like(coverage)
    return Picture(
        rgb=rgb,
        coverage=coverage,
        visible=visible,
        paper=paper,
        paper_rgb=scan.paper_rgb,
        noisy=False,
        soft_colour=False,
        scale=scale,
        origin=(row0, col0),
    )


def _with_margin(scan: Scan, factor: int) -> Box:
    """The art's box with some paper around it, cut where enlarged pixels begin and end."""
    height, width = scan.coverage.shape
    row0, col0, row1, col1 = scan.box
    margin = MARGIN_PX * factor
    return (
        max(0, row0 - margin) // factor * factor,
        max(0, col0 - margin) // factor * factor,
        min(height, -(-(row1 + margin) // factor) * factor),
        min(width, -(-(col1 + margin) // factor) * factor),
    )


def _visible(coverage: Bytes) -> Bytes:
    return np.asarray(cv2.threshold(coverage, VISIBLE_ALPHA - 1, 1, cv2.THRESH_BINARY)[1], np.uint8)


def _reduced(
    rgb: Bytes, coverage: Bytes, paper: Bytes | None, scale: float, has_alpha: bool
) -> tuple[Bytes, Bytes, Bytes]:
    """Area averages; colours weighted by alpha, so that nothing bleeds in from behind it."""
    if scale >= 1:
        paper = np.zeros_like(coverage) if paper is None else paper
        return np.ascontiguousarray(rgb), np.ascontiguousarray(coverage), paper
    height, width = coverage.shape
    size = max(1, round(width * scale)), max(1, round(height * scale))
    small = reduced(coverage, size)
    paper = np.zeros_like(small) if paper is None else _all_paper(paper, size)
    if not has_alpha:
        return reduced(rgb, size), small, paper
    weighted = reduced(_weighted(rgb, coverage, halve=may_halve(rgb.shape, size)), size)
    divisor = cv2.cvtColor(np.maximum(small, 1), cv2.COLOR_GRAY2BGR)
    return np.asarray(cv2.divide(weighted, divisor, scale=255)), small, paper


def _all_paper(paper: Bytes, size: tuple[int, int]) -> Bytes:
    """1 where every pixel that a reduced one stands for is paper."""
    small = reduced(paper * np.uint8(255), size)
    return np.asarray(cv2.threshold(small, 254, 1, cv2.THRESH_BINARY)[1], np.uint8)


def _weighted(rgb: Bytes, coverage: Bytes, *, halve: bool) -> Bytes:
    """Colours times their share, halved on request.

    By bands of rows: the shares in three channels, or a second picture to halve, are never whole.
    """
    end = len(rgb) // 2 * 2 if halve else len(rgb)
    bands = []
    for top in range(0, end, BAND_ROWS):
        rows = slice(top, min(top + BAND_ROWS, end))
        share = cv2.cvtColor(coverage[rows], cv2.COLOR_GRAY2BGR)
        weighted = np.asarray(cv2.multiply(rgb[rows], share, scale=1 / 255), np.uint8)
        bands.append(halved(weighted) if halve else weighted)
    return np.concatenate(bands)


def _true_scale(scan: Scan, picture: Picture) -> tuple[float, bool]:
    """Scale at which a noisy picture is honest: enlarging undone, colour as sharp as light.

    Also whether the latter was asked for.
    """
    from artcheck.measure.sharpness import measure_sharpness

    found = measure_sharpness(scan)
    true = 1.0 if found is None else found.true_scale
    if true < ENLARGED_SCALE * picture.scale:
        return true, False
    if colour_is_soft(picture.rgb):
        return picture.scale * SUBSAMPLED_SCALE, True
    return picture.scale, False


def colour_is_soft(rgb: Bytes) -> bool:
    """Whether colour is at half of light's resolution, as most JPEG files store it.

    Colour that halving and doubling again leaves as it was had no more detail than that: of the
    change from pixel to pixel, less is lost than of the light's.
    """
    planes = cv2.split(cv2.cvtColor(rgb, cv2.COLOR_RGB2YCrCb))
    light, red, blue = (_changes(np.asarray(plane, np.float32)) for plane in planes)
    change, lost = red[0] + blue[0], red[1] + blue[1]
    coloured = change > COLOURED * light[0]
    return bool(coloured and lost / change < SOFT_RATIO * light[1] / max(light[0], 1e-6))


def _changes(plane: Floats) -> tuple[float, float]:
    """Energy of the changes along rows and columns, and of what halving the picture takes away."""
    height, width = plane.shape
    half = cv2.resize(
        plane, (max(1, width // 2), max(1, height // 2)), interpolation=cv2.INTER_AREA
    )
    again = cv2.resize(half, (width, height), interpolation=cv2.INTER_LINEAR)
    change = np.square(np.diff(plane, axis=0)).sum() + np.square(np.diff(plane, axis=1)).sum()
    return float(change), float(np.square(plane - again).sum())
