"""The picture that inks are counted on: the art's box at the size where its pixels are honest."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import cv2
import numpy as np
from numpy.typing import NDArray

if TYPE_CHECKING:
    from artcheck.measure.scan import Scan

Bytes = NDArray[np.uint8]
Floats = NDArray[np.float32]

MOST_PIXELS = 1_500_000
"""Working pixels: enough that 0.1 % of a sparse design is some hundred of them."""

MARGIN_PX = 3
"""Paper kept around the art, to see what its rims blend with."""

VISIBLE_ALPHA = 96
"""Alpha from which a straight colour is known to 2 codes: half a code divided by the alpha."""

LEVEL_CODES = 12
"""Spread of 3 x 3 pixels, in codes, under which they are one surface and not an edge."""

NOISY_SHARE = 0.12
"""Share of one-surface neighbourhoods that are not exactly level, from which art counts as noisy:
renderings reach 0.05 (soft corners), the cleanest JPEG tried 0.2."""

SUBSAMPLED_PX = 2
"""JPEG halves colour both ways; a picture reduced by this has colour and light equally sharp."""

ENLARGED_SCALE = 0.75
"""True scale under which a picture is reduced to its true size before its inks are read."""


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
    scale: float
    origin: tuple[int, int]


def working_picture(scan: Scan) -> Picture:
    """Crop to the art, find out whether it is noisy, and reduce it to its true size."""
    row0, col0, row1, col1 = _with_margin(scan)
    part = np.s_[row0:row1, col0:col1]
    rgb, coverage = scan.rgb[part], scan.coverage[part]
    paper = np.zeros(coverage.shape, np.uint8)
    if scan.artwork.paper is not None:
        paper = scan.artwork.paper[part].view(np.uint8)
    has_alpha = scan.alpha is not None
    scale = min(1.0, (MOST_PIXELS / coverage.size) ** 0.5)
    rgb, coverage, paper = _reduced(rgb, coverage, paper, scale, has_alpha)
    visible = _visible(coverage) if has_alpha else np.ones_like(coverage)
    noisy = is_noisy(rgb, visible & (1 - paper))
    true_scale = _true_scale(scan, scale) if noisy else 1.0
    if true_scale < ENLARGED_SCALE:
        rgb, coverage, paper = _reduced(rgb, coverage, paper, true_scale, has_alpha)
        visible = _visible(coverage) if has_alpha else np.ones_like(coverage)
    return Picture(
        rgb=rgb,
        coverage=coverage,
        visible=visible,
        paper=paper,
        paper_rgb=scan.paper_rgb,
        noisy=noisy,
        scale=scale * true_scale,
        origin=(row0, col0),
    )


def _with_margin(scan: Scan) -> tuple[int, int, int, int]:
    height, width = scan.coverage.shape
    row0, col0, row1, col1 = scan.box
    return (
        max(0, row0 - MARGIN_PX),
        max(0, col0 - MARGIN_PX),
        min(height, row1 + MARGIN_PX),
        min(width, col1 + MARGIN_PX),
    )


def _visible(coverage: Bytes) -> Bytes:
    return np.asarray(cv2.threshold(coverage, VISIBLE_ALPHA - 1, 1, cv2.THRESH_BINARY)[1], np.uint8)


def _reduced(
    rgb: Bytes, coverage: Bytes, paper: Bytes, scale: float, has_alpha: bool
) -> tuple[Bytes, Bytes, Bytes]:
    """Area averages; colours weighted by alpha, so that nothing bleeds in from behind it."""
    if scale >= 1:
        return np.ascontiguousarray(rgb), np.ascontiguousarray(coverage), paper
    height, width = coverage.shape
    size = max(1, round(width * scale)), max(1, round(height * scale))
    small = np.asarray(cv2.resize(coverage, size, interpolation=cv2.INTER_AREA), np.uint8)
    all_paper = cv2.resize(paper * np.uint8(255), size, interpolation=cv2.INTER_AREA)
    paper = np.asarray(cv2.threshold(all_paper, 254, 1, cv2.THRESH_BINARY)[1], np.uint8)
    if not has_alpha:
        return np.asarray(cv2.resize(rgb, size, interpolation=cv2.INTER_AREA)), small, paper
    share = cv2.cvtColor(coverage, cv2.COLOR_GRAY2BGR)
    weighted = cv2.resize(
        cv2.multiply(rgb, share, scale=1 / 255), size, interpolation=cv2.INTER_AREA
    )
    divisor = cv2.cvtColor(np.maximum(small, 1), cv2.COLOR_GRAY2BGR)
    return np.asarray(cv2.divide(weighted, divisor, scale=255)), small, paper


def spread(rgb: Bytes, visible: Bytes, size: int) -> Bytes:
    """Widest channel's range over ``size`` x ``size`` visible pixels.

    Returns (h, w) uint8, for an even size that of the window whose last row and column the pixel
    is; 255 where the pixel itself is not visible.
    """
    square = np.ones((size, size), np.uint8)
    if visible.all():
        highest, lowest = cv2.dilate(rgb, square), cv2.erode(rgb, square)
    else:
        seen = cv2.cvtColor(visible * np.uint8(255), cv2.COLOR_GRAY2BGR)
        highest = cv2.dilate(cv2.bitwise_and(rgb, seen), square)
        lowest = cv2.erode(cv2.bitwise_or(rgb, cv2.bitwise_not(seen)), square)
    red, green, blue = cv2.split(cv2.subtract(highest, lowest))
    widest = np.asarray(cv2.max(cv2.max(red, green), blue), np.uint8)
    widest[visible == 0] = 255
    return widest


def is_noisy(rgb: Bytes, inked: Bytes) -> bool:
    """Whether flat areas are not exactly level."""
    counts = np.bincount(spread(rgb, inked, 3)[inked > 0], minlength=256)
    one_surface = counts[: LEVEL_CODES + 1].sum()
    return bool(counts[2 : LEVEL_CODES + 1].sum() > NOISY_SHARE * one_surface)


def _true_scale(scan: Scan, scale: float) -> float:
    """How far to reduce a noisy picture: enlarging undone, colour brought to light's sharpness."""
    from artcheck.measure.sharpness import measure_sharpness

    found = measure_sharpness(scan)
    true = 1.0 if found is None else found.true_scale
    return min(1.0, true / scale)
