"""Widths of strokes: ridges of the distance transform, refined by integrating coverage.

A stroke's width is the integral of coverage along its normal: blur, anti-aliasing and the sampling
grid spread the ink but keep its amount, so the integral is exact for straight strokes where the
mask alone is off by up to a pixel.
"""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

MOST_SLOPE = 0.3
"""Change of the half-width a pixel along a ridge, above which it is a taper or a corner's bisector:
the sine of half the tip's angle, 17 degrees."""

LEVEL_STEP = 1.15
"""Half-widths are searched in steps of 15 %: strokes whose width varies less are one."""

MOST_TAPER = 0.12
"""Change of the half-width a pixel over a whole run, above which it is a pointed tip: the sine of
half of a 14 degree point. Strokes of one width have none, however the grid makes them jitter."""

LENGTH_IN_WIDTHS = 2.5
"""A stroke keeps its width over this many widths; shorter ones are corners, serifs and tips."""

LEAST_LENGTH_PX = 10.0
"""Shorter ridges are the tips of points, which the pixel grid makes look even."""

SAMPLE_STEP_PX = 0.25
MARGIN_PX = 3.0
"""How far beyond the half-width coverage is integrated: blur of one pixel either side fits in."""

MOST_SAMPLES = 160
"""Points measured on one stroke: their median moves by under 0.1 % with more."""

WIDEST_PX = 30.0
"""Half-width at which the search ends: at 600 ppi a stroke of 6 pt, thick for every method."""


@dataclass(frozen=True, slots=True)
class Stroke:
    """A stroke of near-constant width.

    Attributes
    ----------
    width_px
        Median width along it.
    length_px
        Length of its ridge.
    box
        row0, col0, row1, col1, half-open.
    """

    width_px: float
    length_px: float
    box: tuple[int, int, int, int]


def thin_strokes(coverage: NDArray[np.uint8], most: int) -> list[Stroke]:
    """The thinnest strokes of the covered area, thinnest first, at most ``most``.

    Parameters
    ----------
    coverage
        (H, W) uint8, share of ink 0-255. What lies beyond the array is taken as uncovered.
    """
    mask = np.asarray(cv2.threshold(coverage, 127, 1, cv2.THRESH_BINARY)[1], np.uint8)
    padded = cv2.copyMakeBorder(mask, 1, 1, 1, 1, cv2.BORDER_CONSTANT, value=0)
    distance = cv2.distanceTransform(padded, cv2.DIST_L2, cv2.DIST_MASK_PRECISE)
    half = np.asarray(distance, np.float32)[1:-1, 1:-1]
    ridge = _ridge(half)
    joints = _joints(ridge, half.shape)
    found: list[Stroke] = []
    level = float(ridge.half.min(initial=WIDEST_PX)) * LEVEL_STEP
    while level < WIDEST_PX and len(found) < most:
        runs = _long_runs(ridge, joints, level)
        found += [_measured(points, coverage) for points in runs if not _tapers(points)]
        if found and level > found[0].width_px:  # twice the thinnest's half-width
            break
        level *= LEVEL_STEP
    return sorted(found, key=lambda stroke: stroke.width_px)[:most]


@dataclass(slots=True)
class _Ridge:
    """(N,) ridge pixels, their half-widths, and which of them lie on a stroke found already."""

    rows: NDArray[np.intp]
    cols: NDArray[np.intp]
    half: NDArray[np.float32]
    taken: NDArray[np.bool_]

    def __getitem__(self, chosen: NDArray[np.intp]) -> _Ridge:
        return _Ridge(self.rows[chosen], self.cols[chosen], self.half[chosen], self.taken[chosen])


def _ridge(half: NDArray[np.float32]) -> _Ridge:
    """Pixels on the middle of strokes: no neighbour is deeper by more than the slope allows."""
    deepest = cv2.dilate(half, np.ones((3, 3), np.uint8))
    rows, cols = np.nonzero((half > 0) & (half < WIDEST_PX) & (deepest - half <= MOST_SLOPE))
    return _Ridge(rows, cols, half[rows, cols], np.zeros(rows.size, np.bool_))


REACH_PX = 2
"""Ridge pixels this near are joined: on a slant the middle jumps between pixel rows."""


def _joints(ridge: _Ridge, shape: tuple[int, ...]) -> NDArray[np.intp]:
    """(M, 2) pairs of ridge pixels that lie near each other."""
    width = shape[1] + 2 * REACH_PX
    index = np.full((shape[0] + 2 * REACH_PX) * width, -1, np.int32)
    flat = (ridge.rows + REACH_PX) * width + ridge.cols + REACH_PX
    index[flat] = np.arange(flat.size, dtype=np.int32)
    pairs = []
    for down in range(REACH_PX + 1):
        for right in range(-REACH_PX, REACH_PX + 1):
            if down == 0 and right <= 0:
                continue
            other = index[flat + down * width + right]
            here = np.flatnonzero(other >= 0)
            pairs.append(np.stack([here, other[here]], axis=1))
    return np.concatenate(pairs).astype(np.intp)


def _labelled(count: int, joints: NDArray[np.intp]) -> NDArray[np.intp]:
    """(count,) the least index of each point's connected set, by passing labels along joints."""
    label = np.arange(count)
    first, second = joints.T
    while True:
        low = np.minimum(label[first], label[second])
        before = label.copy()
        np.minimum.at(label, first, low)
        np.minimum.at(label, second, low)
        label = label[label]
        if np.array_equal(label, before):
            return label


def _long_runs(ridge: _Ridge, joints: NDArray[np.intp], level: float) -> list[_Ridge]:
    """Connected runs of ridge under ``level`` that are long for their width; marked as taken."""
    near = (ridge.half <= level) & ~ridge.taken
    if not near.any():
        return []
    inside = joints[near[joints[:, 0]] & near[joints[:, 1]]]
    label = _labelled(near.size, inside)
    members = np.flatnonzero(near)
    members = members[np.argsort(label[members], kind="stable")]
    starts = np.flatnonzero(np.diff(label[members])) + 1
    runs = [run for run in np.split(members, starts) if _is_long(ridge, run, level)]
    for run in runs:
        ridge.taken[run] = True
    return [ridge[run] for run in runs]


def _is_long(ridge: _Ridge, run: NDArray[np.intp], level: float) -> bool:
    least = max(LENGTH_IN_WIDTHS * 2 * level, LEAST_LENGTH_PX)
    if run.size < least:
        return False
    extent = np.hypot(np.ptp(ridge.rows[run]), np.ptp(ridge.cols[run]))
    return bool(max(float(extent), run.size / 3) >= least)


def _tapers(points: _Ridge) -> bool:
    """Whether the half-width grows steadily from one end of the run to the other."""
    places = np.stack([points.rows, points.cols], axis=1).astype(np.float64)
    places -= places.mean(axis=0)
    along = places @ np.linalg.eigh(np.cov(places.T, bias=True))[1][:, 1]
    spread = float(np.square(along).sum())
    slope = float((along * points.half).sum()) / max(spread, 1.0)
    return abs(slope) > MOST_TAPER


def _measured(points: _Ridge, coverage: NDArray[np.uint8]) -> Stroke:
    """Median width along a run of ridge."""
    step = max(points.rows.size // MOST_SAMPLES, 1)
    sampled = points[np.arange(0, points.rows.size, step)]
    widths = _integrals(sampled, _normals(sampled, points), coverage)
    reach = int(np.ceil(points.half.max()))
    height, width = coverage.shape
    box = (
        max(int(points.rows.min()) - reach, 0),
        max(int(points.cols.min()) - reach, 0),
        min(int(points.rows.max()) + reach + 1, height),
        min(int(points.cols.max()) + reach + 1, width),
    )
    length = float(np.hypot(box[2] - box[0], box[3] - box[1]))
    return Stroke(float(np.median(widths)), length, box)


def _normals(sampled: _Ridge, points: _Ridge) -> NDArray[np.float64]:
    """(N, 2) unit normals (row, col): across the main direction of the ridge near each point."""
    normals = np.empty((sampled.rows.size, 2))
    places = np.stack([points.rows, points.cols], axis=1).astype(np.float64)
    for n, (row, col, half) in enumerate(
        zip(sampled.rows, sampled.cols, sampled.half, strict=True)
    ):
        apart = places - (row, col)
        near = apart[np.square(apart).sum(axis=1) <= max(4.0, 2.5 * float(half)) ** 2]
        normals[n] = np.linalg.eigh(np.cov(near.T, bias=True))[1][:, 0] if len(near) > 1 else (1, 0)
    return normals


def _integrals(
    sampled: _Ridge, normals: NDArray[np.float64], coverage: NDArray[np.uint8]
) -> NDArray[np.float64]:
    """(N,) coverage integrated across the stroke, up to where it is least on either side."""
    reach = float(sampled.half.max()) + MARGIN_PX
    offsets = np.arange(-reach, reach + SAMPLE_STEP_PX / 2, SAMPLE_STEP_PX)
    rows = sampled.rows[:, None] + normals[:, :1] * offsets
    cols = sampled.cols[:, None] + normals[:, 1:] * offsets
    profile = cv2.remap(
        coverage,
        cols.astype(np.float32),
        rows.astype(np.float32),
        cv2.INTER_LINEAR,
        borderMode=cv2.BORDER_CONSTANT,
        borderValue=0,
    ).astype(np.float64)
    inside = np.abs(offsets) <= sampled.half[:, None]
    left = np.where(inside | (offsets > 0), np.inf, profile)
    right = np.where(inside | (offsets < 0), np.inf, profile)
    # The nearest of equal minima: a plateau of nothing ends the stroke where it begins.
    first = profile.shape[1] - 1 - np.argmin(left[:, ::-1], axis=1)
    last = np.argmin(right, axis=1)
    index = np.arange(offsets.size)
    within = (index >= first[:, None]) & (index <= last[:, None])
    return np.asarray((profile * within).sum(axis=1) * SAMPLE_STEP_PX / 255, np.float64)
