"""Photographs: texture in many tones.

In drawn art the pixels around any edge or texture belong to two colours and little between them; in
a photograph most lie between. Two figures tell them apart, window by window: the share of pixels
far from both the darkest and the lightest nearby, and Pearson's bound on the moments, kurtosis -
skewness**2 - 1, which is 0 for any two-valued distribution, 0.5 for a sinusoid, 0.8 for a
uniform one and 2 for a normal one (K. Pearson, "Mathematical contributions to the theory of
evolution XIX", Phil. Trans. R. Soc. A 216, 1916). A linear ramp is taken out by its plane fit.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import cv2
import numpy as np

from artcheck.measure.tone.lights import field_of_lights
from artcheck.measure.tone.working import Bools, Bytes, Floats, Regions, Working

if TYPE_CHECKING:
    from artcheck.measure.scan import Scan

TEXTURE_PX = 7
"""Side of the window that moments are taken over, in working pixels."""

NEAR_PX = 15
"""Side of the window for the darkest and lightest pixel nearby, and for density."""

TEXTURE_LEVELS = 4.0
"""Standard deviation from which a window has texture, above what JPEG leaves at working size."""

MIXED_MOMENT = 0.6
"""Pearson's figure from which a window is no mixture of two tones."""

END_SHARE = 0.12
"""Part of the local range that still counts as its end."""

END_RANGE = 16.0
"""Levels of local range under which nothing is said."""

RAMP_FIT = 0.8
"""Share of a window's variance that a plane explains where it is a ramp or a soft edge."""

DENSITY, CORE_DENSITY = 0.25, 0.40
"""Share of such pixels in photographs and at their cores; corners of drawn art stay under 0.4."""

CORE_SHARE = 0.008
"""Share of the ink that one core of a photograph covers; busy drawings of 220 px reach 0.006."""

MIN_CORE_PX = 400.0
"""Working pixels of that core; the emblem of a flag 220 px wide has fewer."""

TWO_TONE_LINE = 0.93
"""Share of a zone's variance along one line from which it may be a worn print or a screen."""

LINE_SPAN = (0.03, 0.97)
"""Shares of a zone's colours between which that line is measured: sharpening overshoots."""

MIDDLE = (0.2, 0.8)
"""Part of the line that is its middle."""

TWO_TONE_MIDDLE = 0.47
"""Share of a two-toned zone's colours in the middle, at most: worn prints reach 0.42 when enlarged
threefold, grey photographs hold 0.51 and more."""

SOLID_CELL = 4
"""Levels that count as one colour where a solid is looked for."""

SOLID_SHARE = 0.4
"""Share of a zone in one colour from which the zone is busy drawing; photographs stay under 0.2."""

LEVEL_CODES, FEW_LEVELS = 4, 3
"""Codes on either side that count as one level of light, and how many levels are few."""

FEW_LEVELS_SHARE = 0.86
"""Share of a zone's even pixels in so few levels from which it is drawn: inks and their ringing in
JPEG 60 hold 0.91 to 1.0, once 0.75; photographs 0.35 to 0.68, a blurred scan of one 0.80."""

EVEN_RANGE = 10
"""Range within 3 x 3 pixels, in codes of light, up to which a pixel is even."""

LEAST_EVEN = 200
"""Fewer even pixels show no levels."""

SHARP_SCALE = 0.35
"""Working pixels per file pixel under which a file's artefacts are averaged away."""

FRAME_FILLED = 0.25
"""Share of its frame that a photograph's texture fills, or there is no frame: the sky over a town,
or a face, is smooth."""

ALL_PHOTO_SHARE = 0.55
"""Share of the whole box from which all of it is taken for one photograph, sky and all."""

CONTAINED = 0.95
"""Share of a smooth region that lies within the frame of a photograph which it belongs to."""


def photo_mask(working: Working, regions: Regions, scan: Scan) -> Bools:
    """(h, w) bool: photographs, their smooth parts included."""
    seeds = _textured(working, scan) | field_of_lights(working)
    return _completed(seeds, regions) if seeds.any() else seeds


def _textured(working: Working, scan: Scan) -> Bools:
    """(h, w) bool: the textured parts of photographs."""
    red, green, blue = (working.picture[..., channel] for channel in range(3))
    grey = (red + green + blue) / np.float32(3)
    least_core = max(MIN_CORE_PX, CORE_SHARE * float(working.coverage.sum()))
    between = _between_ends(grey.astype(np.uint8))
    if float((_density(between) > CORE_DENSITY).sum()) < least_core:
        return np.zeros_like(between)
    density = _density(between & _mixed_texture(grey.astype(np.float64) - 128))
    zone = (density > DENSITY) & (working.coverage > 0)
    seeds = _seeds(zone, density > CORE_DENSITY, working, least_core)
    return np.zeros_like(seeds) if seeds.any() and _drawn_in_file(seeds, working, scan) else seeds


def _drawn_in_file(seeds: Bools, working: Working, scan: Scan) -> bool:
    """Whether the file's own pixels are drawn where averaging made a texture of them.

    Averaging turns small letters and fine hatching into greys: the file has two tones. And coarse
    JPEG rings around busy drawing, but what is even there keeps to the light of a few inks.
    """
    if working.scale < 1 and _two_toned(_in_file(seeds, working, scan)):
        return True
    return working.scale > SHARP_SCALE and _of_few_levels(seeds, scan)


def _of_few_levels(seeds: Bools, scan: Scan) -> bool:
    """Whether even pixels of the file in the zone keep to a few levels of light."""
    row0, col0, row1, col1 = scan.box
    zone = cv2.resize(seeds.astype(np.uint8), (col1 - col0, row1 - row0)) > 0
    light = cv2.cvtColor(scan.rgb[row0:row1, col0:col1], cv2.COLOR_RGB2GRAY)
    light = np.asarray(cv2.medianBlur(light, 3), np.uint8)
    square = np.ones((3, 3), np.uint8)
    spread = np.asarray(cv2.subtract(cv2.dilate(light, square), cv2.erode(light, square)))
    counts = np.bincount(light[zone & (spread <= EVEN_RANGE)], minlength=256)
    total = counts.sum()
    if total < LEAST_EVEN:
        return False
    for _ in range(FEW_LEVELS):
        within = np.convolve(counts, np.ones(2 * LEVEL_CODES + 1, np.int64), "same")
        level = int(within.argmax())
        counts[max(0, level - LEVEL_CODES) : level + LEVEL_CODES + 1] = 0
    return bool(counts.sum() <= (1 - FEW_LEVELS_SHARE) * total)


def _in_file(zone: Bools, working: Working, scan: Scan) -> Floats:
    """(N, C) colours of the file's pixels in the middle of the zone's, without averaging."""
    rows, cols = np.nonzero(zone)
    row = np.minimum(scan.box[0] + ((rows + 0.5) / working.scale).astype(int), scan.box[2] - 1)
    col = np.minimum(scan.box[1] + ((cols + 0.5) / working.scale).astype(int), scan.box[3] - 1)
    rgb = np.asarray(scan.rgb[row, col], np.float32)
    if scan.alpha is None:
        return rgb
    alpha = np.asarray(scan.alpha[row, col, None], np.float32)
    return np.asarray(np.hstack([rgb * alpha / 255, alpha]), np.float32)


def _density(mask: Bools) -> Floats:
    """(h, w) 0-1: share of the pixels around that are set."""
    return np.asarray(cv2.blur(mask.astype(np.float32), (NEAR_PX, NEAR_PX)), np.float32)


def _mixed_texture(grey: Floats) -> Bools:
    """(h, w) bool: windows with texture that neither two tones nor a ramp explain."""
    size = (TEXTURE_PX, TEXTURE_PX)
    square = grey * grey
    powers = grey, square, square * grey, square * square
    m1, m2, m3, m4 = (np.asarray(cv2.blur(power, size), np.float64) for power in powers)
    variance = np.maximum(m2 - m1**2, 1e-6)
    mean_square = m1 * m1
    third = m3 - (3 * m2 - 2 * mean_square) * m1
    tail = m4 - 4 * m1 * m3 + (6 * m2 - 3 * mean_square) * mean_square
    moment = (tail - third * third / variance) / (variance * variance) - 1
    textured = (variance > TEXTURE_LEVELS**2) & (moment > MIXED_MOMENT)
    return np.asarray(textured & (_ramp_fit(grey) < RAMP_FIT))


def _ramp_fit(grey: Floats) -> Floats:
    """(h, w): share of the variance in 5 x 5 pixels that a plane explains."""
    flat = np.full(5, 0.2)
    slope = np.arange(-2, 3) / 10.0
    mean = cv2.sepFilter2D(grey, -1, flat, flat, borderType=cv2.BORDER_REPLICATE)
    right = cv2.sepFilter2D(grey, -1, slope, flat, borderType=cv2.BORDER_REPLICATE)
    down = cv2.sepFilter2D(grey, -1, flat, slope, borderType=cv2.BORDER_REPLICATE)
    square = cv2.sepFilter2D(grey**2, -1, flat, flat, borderType=cv2.BORDER_REPLICATE)
    explained = 2 * (right**2 + down**2)  # 2: the variance of -2..2
    return np.asarray(explained / np.maximum(square - mean**2, 1e-6))


def _between_ends(grey: Bytes) -> Bools:
    """(h, w) bool: pixels far from both the darkest and the lightest nearby."""
    window = np.ones((NEAR_PX, NEAR_PX), np.uint8)
    low = cv2.erode(grey, window).astype(np.float32)
    reach = cv2.dilate(grey, window) - low
    off = np.abs(grey - (low + reach / 2)) < (0.5 - END_SHARE) * reach
    return np.asarray(off & (reach > END_RANGE))


def _seeds(zone: Bools, core: Bools, working: Working, least_core: float) -> Bools:
    """The zones of more than a few colours, if the core of one of them is large enough."""
    count, labels = cv2.connectedComponents(zone.astype(np.uint8), connectivity=8)
    weight = np.bincount(labels.ravel(), weights=(working.coverage * core).ravel(), minlength=count)
    weight[0] = 0
    many = np.array(
        [k > 0 and weight[k] > 0 and not _drawn(working.picture[labels == k]) for k in range(count)]
    )
    seeds = many[labels]
    if weight[many].max(initial=0.0) < least_core or _two_toned(working.picture[seeds]):
        return np.zeros_like(zone)
    return np.asarray(seeds)


def _drawn(colours: Floats) -> bool:
    """Whether (N, C) colours are those of a busy drawing: two tones, or largely one solid."""
    cell = (colours[:, :3] / SOLID_CELL).astype(np.int64) @ np.array([4096, 64, 1])
    return bool(np.bincount(cell).max() >= SOLID_SHARE * len(cell)) or _two_toned(colours)


def _two_toned(colours: Floats) -> bool:
    """Whether (N, C) colours lie at the two ends of one line."""
    away = colours.astype(np.float64) - colours.mean(axis=0)
    power, axes = np.linalg.eigh(away.T @ away / len(away))
    if power.sum() < 1e-6 or power[-1] < TWO_TONE_LINE * power.sum():
        return False
    along = away @ axes[:, -1]
    low, high = np.quantile(along, LINE_SPAN)
    place = (along - low) / max(high - low, 1e-6)
    return bool(((place > MIDDLE[0]) & (place < MIDDLE[1])).mean() < TWO_TONE_MIDDLE)


def _completed(seeds: Bools, regions: Regions) -> Bools:
    """The photographs with their smooth parts and the solids inside their frames."""
    closed = cv2.morphologyEx(
        seeds.astype(np.uint8), cv2.MORPH_CLOSE, np.ones((NEAR_PX, NEAR_PX), np.uint8)
    )
    count, _, stats, _ = cv2.connectedComponentsWithStats(closed, connectivity=8)
    mask = closed > 0
    for k in range(1, count):
        left, top, width, height, area = stats[k]
        if area < FRAME_FILLED * width * height:
            continue
        frame = np.s_[top : top + height, left : left + width]
        inside = np.bincount(regions.labels[frame].ravel(), minlength=regions.size.size)
        contained = inside >= CONTAINED * regions.size
        contained[0] = True  # edges belong to what they divide
        mask[frame] |= contained[regions.labels[frame]]
    return np.ones_like(mask) if mask.mean() >= ALL_PHOTO_SHARE else mask
