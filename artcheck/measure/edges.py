"""The rim of the art: where it is partly transparent, how wide, and what colour has bled in.

Rays run from the outline into the art, along the steepest rise of coverage. The width of
a rim is the distance between 10 % and 90 % of the level that its ray arrives at, as rise time is
measured of any edge: a plain anti-aliased edge gives one to two pixels, a glow or a shadow its full
reach, a sheer panel with a clean cut no more than any other edge.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import cv2
import numpy as np
from numpy.typing import NDArray

from artcheck.domain.base import Box
from artcheck.domain.measurements import MAX_PLACES, EdgesMeasured
from artcheck.imaging.blocks import BAND_ROWS
from artcheck.imaging.medians import median
from artcheck.imaging.places import places

if TYPE_CHECKING:
    from artcheck.measure.scan import Scan

Floats = NDArray[np.floating]

OUTLINE_LEVEL = 26
"""Coverage (of 255) where the outline runs: a tenth, what the eye begins to see on cloth."""

SOLID_LEVEL = 247
"""From this coverage on a pixel prints as solid: 3 % less is below what film holds."""

MAX_RAYS = 3000
"""Evenly spaced along the outline; a share of 5 % then has an error of 0.4 %."""

FINE_STEP_PX = 0.5
"""Spacing of samples along the first part of a ray."""

FINE_REACH_PX = 8.0
"""Length of that part; beyond, samples lie ever wider apart, by `GROWTH`."""

GROWTH = 1.06
"""Widens the spacing by 6 % a sample, so a glow's width is known to 3 %."""

ROUND_DIRECTIONS, ROUND_PART = 8, 0.6
"""In so many directions the shape must reach this part of a rim's width beyond the rim's end."""

LONGEST_RIM_PX = 1200.0
"""Rays end here: four inches at 300 ppi."""

LEVEL_GAIN = 3.0
"""Coverage that a ray must still gain, over half its way again, to count as rising."""

SOFT_RIM_PX = 2.5
"""Wider than an anti-aliased edge seen at any angle (at most 2.2)."""

MATTE_ALPHA = (0.2, 0.8)
"""Coverage between which a bled-in colour can be computed without blowing up rounding."""

MATTE_SHIFT = 14.0
"""Levels by which a rim's colour must leave the inner colour to be bled into (rounding: 3)."""

MATTE_SHARE = 0.7
"""Share of the rim's samples that must agree before a matte is named."""

MATTE_SPREAD = 40.0
"""Largest distance (levels, each channel) from the common matte that still agrees."""

UNLIKE_MATTE = 60.0
"""Levels by which the matte must differ from most of the inner colours to show as a rim at all."""

RIM_PARTS, INNER_PART = (0.3, 0.45, 0.6, 0.75), 0.98
"""Parts of a ray's level where its rim and the full colour behind it are read."""

MIN_MATTE_SAMPLES = 40
"""Fewer are chance."""

PLACE_CELLS = 24
"""Soft places are gathered on a grid with this many cells along the longer side."""


@dataclass(frozen=True, slots=True)
class _Rays:
    """Rays into the art: start (row, col), unit direction, distances and coverage along them."""

    start: Floats
    direction: Floats
    distance: Floats
    coverage: Floats


def measure_edges(scan: Scan) -> EdgesMeasured:
    """Softness of the outline.

    Returns
    -------
    EdgesMeasured
        ``soft_width_px`` is the width that divides the soft rim's area in two halves, so a wide
        glow is not hidden by many plain edges. Nothing is soft where the file has no transparency.
    """
    coverage = scan.coverage
    inked = int(cv2.countNonZero(coverage))
    partial = int(cv2.countNonZero(cv2.inRange(coverage, 9, SOLID_LEVEL - 1)))
    if partial == 0:
        return EdgesMeasured(soft_share=0.0, soft_width_px=0.0)
    rays = _cast(coverage, _outline(coverage))
    width, level = _rim_widths(rays)
    soft = _soft(rays, width, level, coverage)
    return EdgesMeasured(
        soft_share=float(soft.mean()) if soft.size else 0.0,
        soft_width_px=_middle_by_area(width[soft]),
        partial_share=partial / inked,
        places=_places(rays.start[soft], width[soft], scan.box),
        matte_hex=None if scan.alpha is None else _matte(scan, rays, level),
    )


def _outline(coverage: NDArray[np.uint8]) -> NDArray[np.intp]:
    """(N, 2) row and col of up to `MAX_RAYS` pixels on the inner side of the outline."""
    found = [np.zeros((0, 2), np.intp)]
    for top in range(0, len(coverage), BAND_ROWS):
        first, end = max(top - 1, 0), top + BAND_ROWS
        band = cv2.threshold(coverage[first : end + 1], OUTLINE_LEVEL - 1, 1, cv2.THRESH_BINARY)[1]
        rim = cv2.subtract(band, cv2.erode(band, np.ones((3, 3), np.uint8), borderValue=1))
        rows, cols = places(np.asarray(rim[top - first :][:BAND_ROWS], np.uint8))
        found.append(np.stack([rows + top, cols], axis=1))
    outline = np.concatenate(found)
    return outline[:: max(1, -(-len(outline) // MAX_RAYS))]


def _cast(coverage: NDArray[np.uint8], start: NDArray[np.intp]) -> _Rays:
    """Sample coverage from each outline pixel along its steepest rise."""
    direction, sure = _rise(coverage, start)
    first, direction = start[sure].astype(np.float32), direction[sure]
    distance = _distances(float(max(coverage.shape)))
    along = first[:, None, :] + direction[:, None, :] * distance[None, :, None]
    sampled = _sample(coverage, along)
    return _Rays(first, direction, distance, sampled)


def _rise(coverage: NDArray[np.uint8], start: NDArray[np.intp]) -> tuple[Floats, NDArray[np.bool_]]:
    """Unit direction (row, col) in which coverage rises over 7 x 7 pixels; and where it does."""
    offsets = np.arange(-3, 4)
    rows = np.clip(start[:, 0, None, None] + offsets[None, :, None], 0, coverage.shape[0] - 1)
    cols = np.clip(start[:, 1, None, None] + offsets[None, None, :], 0, coverage.shape[1] - 1)
    patch = coverage[rows, cols].astype(np.float32)
    weight = np.exp(-(offsets**2) / 4.0)
    down = np.einsum("nij,i,j->n", patch, offsets * weight, weight)
    right = np.einsum("nij,i,j->n", patch, weight, offsets * weight)
    length = np.hypot(down, right)
    sure = length > 1.0
    unit = np.stack([down, right], axis=1) / np.maximum(length, 1.0)[:, None]
    return unit.astype(np.float32), sure


def _distances(limit_px: float) -> Floats:
    """Distances along a ray: from four pixels outside to the longest rim inside."""
    fine = np.arange(-4.0, FINE_REACH_PX, FINE_STEP_PX)
    reach = min(LONGEST_RIM_PX, limit_px)
    steps, last = [], FINE_REACH_PX
    spacing = FINE_STEP_PX
    while last < reach:
        steps.append(last)
        spacing *= GROWTH
        last += spacing
    return np.concatenate([fine, steps]).astype(np.float32)


def _sample(coverage: NDArray[np.uint8], along: Floats) -> Floats:
    """(N, K) float32: coverage at (N, K, 2) positions, between pixels linearly; 0 outside."""
    if not len(along):  # art that reaches the border everywhere has no outline
        return np.zeros(along.shape[:2], np.float32)
    sampled = cv2.remap(
        coverage,
        np.ascontiguousarray(along[..., 1]),
        np.ascontiguousarray(along[..., 0]),
        cv2.INTER_LINEAR,
        borderMode=cv2.BORDER_CONSTANT,
        borderValue=0,
    )
    return np.asarray(sampled, np.float32)


def _rim_widths(rays: _Rays) -> tuple[Floats, Floats]:
    """(N,) width of the rim in pixels, and (N,) the level (0-255) that each ray arrives at."""
    climbed = np.maximum.accumulate(rays.coverage, axis=1)
    level = _arrival(rays.distance, climbed)
    low = _reaching(rays.distance, climbed, 0.1 * level)
    high = _reaching(rays.distance, climbed, 0.9 * level)
    return high - low, level


def _soft(
    rays: _Rays, width: Floats, level: Floats, coverage: NDArray[np.uint8]
) -> NDArray[np.bool_]:
    """(N,) whether a rim is wider than an anti-aliased edge and lies in a shape that can hold it.

    A ray that strays along a stroke one or two pixels wide climbs slowly over the unevenness of
    its anti-aliasing. A rim so wide has as much of the shape on every side of the place where
    it ends; a thin stroke has not.
    """
    soft = width > SOFT_RIM_PX
    if not soft.any():
        return soft
    start, direction, width = rays.start[soft], rays.direction[soft], width[soft]
    climbed = np.maximum.accumulate(rays.coverage[soft], axis=1)
    end = _reaching(rays.distance, climbed, 0.9 * level[soft])
    turn = np.linspace(0, 2 * np.pi, ROUND_DIRECTIONS, endpoint=False)
    ring = np.stack([np.sin(turn), np.cos(turn)], axis=1)[None] * width[:, None, None]
    around = (start + direction * end[:, None])[:, None, :] + ROUND_PART * ring
    soft[soft] = (_sample(coverage, around.astype(np.float32)) >= OUTLINE_LEVEL).all(axis=1)
    return soft


def _arrival(distance: Floats, climbed: Floats) -> Floats:
    """(N,) the level where a ray stops rising: half its way again gains next to nothing."""
    ahead = np.searchsorted(distance, np.maximum(distance, 0) * 1.5 + 3.0)
    ahead = np.minimum(ahead, distance.size - 1)
    settled = (climbed[:, ahead] - climbed < LEVEL_GAIN) & (distance >= 0)
    settled[:, -1] = True
    first = np.argmax(settled, axis=1)
    return np.asarray(climbed[np.arange(len(climbed)), ahead[first]])


def _reaching(distance: Floats, climbed: Floats, level: Floats) -> Floats:
    """(N,) distance at which each rising profile first reaches its level, interpolated."""
    after = np.argmax(climbed >= level[:, None], axis=1)
    before = np.maximum(after - 1, 0)
    lines = np.arange(len(climbed))
    low, high = climbed[lines, before], climbed[lines, after]
    part = np.clip((level - low) / np.maximum(high - low, 1e-3), 0, 1)
    return np.asarray(distance[before] + part * (distance[after] - distance[before]))


def _middle_by_area(width: Floats) -> float:
    """The width that halves the area of the rims; 0 where there are none."""
    if not width.size:
        return 0.0
    ordered = np.sort(width)
    area = np.cumsum(ordered)
    return float(ordered[np.searchsorted(area, area[-1] / 2)])


def _places(start: Floats, width: Floats, box: Box) -> tuple[Box, ...]:
    """Boxes around the stretches of soft rim, longest stretch first."""
    if not len(start):
        return ()
    row0, col0, row1, col1 = box
    cell = max(1.0, max(row1 - row0, col1 - col0) / PLACE_CELLS)
    cells = ((start - (row0, col0)) / cell).astype(int)
    grid = np.zeros(cells.max(axis=0) + 1, np.uint8)
    grid[cells[:, 0], cells[:, 1]] = 1
    count, labels = cv2.connectedComponents(grid, connectivity=8)
    label = labels[cells[:, 0], cells[:, 1]]
    stretches = [np.flatnonzero(label == k) for k in range(1, count)]
    stretches.sort(key=lambda members: -members.size)
    return tuple(_around(start[m], float(width[m].max()), box) for m in stretches[:MAX_PLACES])


def _around(start: Floats, width_px: float, box: Box) -> Box:
    """The box around some outline pixels and their rim, within the art."""
    low = np.floor(start.min(axis=0) - 2)
    high = np.ceil(start.max(axis=0) + 3)
    reach = min(width_px, 32.0)
    return (
        max(box[0], int(low[0] - reach)),
        max(box[1], int(low[1] - reach)),
        min(box[2], int(high[0] + reach)),
        min(box[3], int(high[1] + reach)),
    )


# --- matte --------------------------------------------------------------------------------------


def _matte(scan: Scan, rays: _Rays, level: Floats) -> str | None:
    """The colour that the rims were once blended with, as "#rrggbb"; None when they are clean.

    A rim blended with a matte ``M`` and then made transparent holds ``a C + (1 - a) M`` where a
    clean one holds the inner colour ``C``.
    """
    share, rim, inner = _rim_colours(scan, rays, level)
    usable = (share > MATTE_ALPHA[0]) & (share < MATTE_ALPHA[1])
    share, rim, inner = share[usable], rim[usable], inner[usable]
    shift = rim - inner
    shifted = np.abs(shift).max(axis=1) > MATTE_SHIFT * (1 - share)
    if shifted.sum() < MIN_MATTE_SAMPLES or shifted.mean() < MATTE_SHARE / 2:
        return None
    mattes = inner[shifted] + shift[shifted] / (1 - share[shifted])[:, None]
    common = _common_matte(mattes, share[shifted])
    if common is None:
        return None
    agree = (np.abs(mattes - common) < MATTE_SPREAD).all(axis=1)
    # A rim whose inner colour is the matte's own shows no shift and speaks neither way.
    open_to_shift = np.abs(inner - common).max(axis=1) > 2 * MATTE_SHIFT
    unlike = np.abs(inner - common).max(axis=1) > UNLIKE_MATTE
    if unlike.mean() < 0.5 or agree.sum() < MATTE_SHARE * max(1, open_to_shift.sum()):
        return None
    red, green, blue = np.clip(np.round(median(mattes[agree], axis=0)), 0, 255).astype(int)
    return f"#{red:02x}{green:02x}{blue:02x}"


def _common_matte(mattes: Floats, share: Floats) -> Floats | None:
    """The median matte (3,), if sheer, middling and dense rims name the same one.

    A glow or an outline keeps its own colour at every coverage; read as a matte it would run away
    with density. Only a blend gives one matte throughout.
    """
    thirds = np.array_split(np.argsort(share, kind="stable"), 3)
    named = [median(mattes[third], axis=0) for third in thirds]
    if np.ptp(named, axis=0).max() > MATTE_SPREAD:
        return None
    return np.asarray(median(mattes, axis=0))


def _rim_colours(scan: Scan, rays: _Rays, level: Floats) -> tuple[Floats, Floats, Floats]:
    """Coverage (M,) 0-1 and colour (M, 3) on the rims of solid art, and the colour (M, 3) inside.

    Every ray is read where it is sheer, where it is dense and between.
    """
    solid = level >= SOLID_LEVEL
    climbed = np.maximum.accumulate(rays.coverage[solid], axis=1)
    level = level[solid]

    def at(part: float, beyond_px: float = 0.0) -> tuple[NDArray[np.intp], NDArray[np.intp]]:
        distance = _reaching(rays.distance, climbed, part * level) + beyond_px
        return _pixel(scan, rays.start[solid] + rays.direction[solid] * distance[:, None])

    inner = scan.rgb[at(INNER_PART, beyond_px=2.0)].astype(np.float32)
    places = [at(part) for part in RIM_PARTS]
    share = np.concatenate([scan.coverage[place] for place in places]).astype(np.float32) / 255
    rim = np.concatenate([scan.rgb[place] for place in places]).astype(np.float32)
    return share, rim, np.concatenate([inner] * len(places))


def _pixel(scan: Scan, place: Floats) -> tuple[NDArray[np.intp], NDArray[np.intp]]:
    """Nearest pixel of each (row, col), kept within the picture."""
    height, width = scan.coverage.shape
    nearest = np.rint(place).astype(np.intp)
    return np.clip(nearest[:, 0], 0, height - 1), np.clip(nearest[:, 1], 0, width - 1)
