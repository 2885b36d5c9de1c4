"""Widths of strokes, by integrating coverage across the ridges of the distance transform.

A stroke's width is the integral of coverage along its normal: blur, anti-aliasing and the sampling
grid spread the ink but keep its amount, so the integral is exact for straight strokes where a
mask is off by up to a pixel. Strokes of a few pixels are looked for at full size, wider ones at
half, quarter and less.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from artcheck.imaging.ridges import OPENING_PX, Bytes, Floats, Run, runs

HALVINGS = 4
"""Strokes up to 9 * 2 ** 4 = 144 px are lines: 6 pt at 1,700 ppi. Wider ones are shapes."""

MOST_TAPER = 0.1
"""Change of the width a pixel along a run, above which it is a pointed tip: over a stroke's least
length the width would change by a quarter."""

SAMPLE_STEP_PX = 0.25

MARGIN_PX = 4.0
"""How far beyond the mask coverage is integrated: blur of one pixel either side fits in."""

GOLDEN = 0.6180339887498949
"""Multiples of the golden section, modulo one, spread evenly (H. Weyl 1916)."""

MOST_SAMPLES = 64
"""Points measured on one stroke."""

LOCAL_SAMPLES = 12
"""Samples whose mean is the width at a place: noise of single profiles averages out."""

LEAST_WIDTH_PX = 0.2
"""Thinner strokes are neither seen nor printed: dirt, or what compression left."""

PARALLELS_PX = (-1.5, -0.5, 0.5, 1.5)
"""Crossings side by side at each sample, along the stroke: a thin stroke meets the pixel grid
differently at each, and their mean is right where one may be off by a tenth."""

NORMAL_RADIUS_PX, NORMAL_RADIUS_HALVES = 4.0, 2.5
"""Neighbourhood in which a ridge's direction is read, in pixels at least and in half-widths."""

MOST_ONE_SIDED = 0.25
"""How far the middle of a place's neighbours may lie from it, in radii: at a run's very end, where
a crossing may leave through the stroke's end, it is a half."""

MOST_ROUND = 0.08
"""Minor over major variance of a place's neighbours: beyond it arms meet and no direction is right;
a ring of three widths' radius has 0.02."""

MOST_POINTS = 1500
"""Ridge points by which directions are read: thinned evenly beyond."""


@dataclass(frozen=True, slots=True)
class Stroke:
    """A stroke of near-constant width.

    Attributes
    ----------
    width_px
        The least width along it, each a mean over some widths of its length.
    length_px
        Diagonal of the box of its middle line.
    box
        row0, col0, row1, col1, half-open.
    tag
        What the profile said about the stroke's surroundings.
    """

    width_px: float
    length_px: float
    box: tuple[int, int, int, int]
    tag: int = 0


@dataclass(frozen=True, slots=True)
class Crossings:
    """Sample points across a stroke.

    ``rows`` and ``cols`` are (S, K) float32 places in pixels and ``offsets`` (K,) their distances
    from the middle, alike to either side; which side comes first varies along a stroke. ``half``
    (S,) is the mask's half-width at each of the S crossings, ``margin_px`` how far beyond it the
    stroke's edge is looked for.
    """

    rows: NDArray[np.float32]
    cols: NDArray[np.float32]
    offsets: Floats
    half: Floats
    margin_px: float


Profile = Callable[[Crossings], tuple[Floats, int] | None]
"""(S, K) coverage 0-1 at the crossings' points, and a tag that the stroke gets.

None when the run is no stroke after all.
"""


def thin_strokes(
    field: Bytes,
    most: int,
    *,
    beyond: int = 0,
    profile: Profile | None = None,
    limit_px: float = np.inf,
) -> list[Stroke]:
    """The thinnest strokes of the covered area, thinnest first, at most ``most``.

    Parameters
    ----------
    field
        (H, W) uint8, share of ink 0-255.
    beyond
        Share taken for what lies outside the array.
    profile
        Coverage at points, where it is known better than from ``field``.
    limit_px
        Strokes wider than this do not matter.
    """
    read = profile or _profile_of(field, beyond)
    found: list[Stroke] = []
    level = field
    for halving in range(HALVINGS + 1):
        level = _halved(level) if halving else level
        for run in runs(level, 1 << halving, beyond, lambda: _limit(found, limit_px)):
            stroke = _measured(run, read, field.shape)
            if stroke is not None:
                found.append(stroke)
        if 2 * _limit(found, limit_px) <= OPENING_PX << halving:
            break
    return sorted(found, key=lambda stroke: (stroke.width_px, stroke.box))[:most]


def _limit(found: list[Stroke], limit_px: float) -> float:
    """Half-width up to which strokes still matter: up to twice the thinnest found."""
    return min((stroke.width_px for stroke in found), default=limit_px / 2)


def _halved(field: Bytes) -> Bytes:
    """Area averages of 2 x 2 pixels."""
    size = (max(field.shape[1] // 2, 1), max(field.shape[0] // 2, 1))
    return np.asarray(cv2.resize(field, size, interpolation=cv2.INTER_AREA), np.uint8)


# --- widths -------------------------------------------------------------------------------------


def _measured(run: Run, profile: Profile, shape: tuple[int, ...]) -> Stroke | None:
    """The width of a run; None for a taper or where ``profile`` finds no stroke."""
    thinned = run[:: -(-run.rows.size // MOST_POINTS)]
    sampled = thinned[:: -(-thinned.rows.size // MOST_SAMPLES)]
    sampled, normals = _normals(sampled, thinned)
    if sampled.rows.size == 0:
        return None
    crossings = _crossings(sampled, normals)
    reading = profile(crossings)
    if reading is None:
        return None
    coverage, tag = reading
    widths = _integrals(coverage, crossings).reshape(-1, len(PARALLELS_PX)).mean(axis=1)
    if _tapers(sampled, widths):
        return None
    width = _least_local_mean(sampled, widths)
    if width < LEAST_WIDTH_PX:
        return None
    return Stroke(width, _length(run), _box(run, shape), tag)


def _length(run: Run) -> float:
    return float(np.hypot(np.ptp(run.rows), np.ptp(run.cols)))


def _box(run: Run, shape: tuple[int, ...]) -> tuple[int, int, int, int]:
    reach = float(run.half.max())
    return (
        max(int(run.rows.min() - reach), 0),
        max(int(run.cols.min() - reach), 0),
        min(int(np.ceil(run.rows.max() + reach)) + 1, shape[0]),
        min(int(np.ceil(run.cols.max() + reach)) + 1, shape[1]),
    )


def _normals(sampled: Run, points: Run) -> tuple[Run, tuple[Floats, Floats]]:
    """Rows and cols of unit normals, across the main direction of the ridge near each point.

    The main direction is that of the larger eigenvalue of the neighbours' scatter matrix. Points at
    the very ends of a run are left out.
    """
    down = points.rows - sampled.rows[:, None]
    right = points.cols - sampled.cols[:, None]
    radius = np.maximum(NORMAL_RADIUS_PX, NORMAL_RADIUS_HALVES * sampled.half)[:, None]
    near = (down**2 + right**2 <= radius**2).astype(np.float64)
    weight = near / near.sum(axis=1, keepdims=True)
    mean_down, mean_right = (weight * down).sum(axis=1), (weight * right).sum(axis=1)
    rr = (weight * down**2).sum(axis=1) - mean_down**2
    cc = (weight * right**2).sum(axis=1) - mean_right**2
    rc = (weight * down * right).sum(axis=1) - mean_down * mean_right
    angle = 0.5 * np.arctan2(2 * rc, cc - rr)  # of the main direction, from the column axis
    major, minor = _variances(rr, cc, rc)
    straight = minor <= MOST_ROUND * major + 0.5
    inner = np.hypot(mean_down, mean_right) <= MOST_ONE_SIDED * radius[:, 0]
    chosen = straight & inner if (straight & inner).any() else straight
    return sampled[chosen], (np.cos(angle[chosen]), -np.sin(angle[chosen]))


def _variances(rr: Floats, cc: Floats, rc: Floats) -> tuple[Floats, Floats]:
    """Larger and smaller eigenvalue of the symmetric matrix [[rr, rc], [rc, cc]]."""
    middle, apart = (rr + cc) / 2, np.hypot((rr - cc) / 2, rc)
    return middle + apart, middle - apart


def _crossings(sampled: Run, normals: tuple[Floats, Floats]) -> Crossings:
    margin = MARGIN_PX + 2 * (sampled.grain_px - 1)
    reach = float(sampled.half.max()) + margin
    steps = int(np.ceil(reach / SAMPLE_STEP_PX))
    offsets = np.arange(-steps, steps + 1) * SAMPLE_STEP_PX
    count = len(PARALLELS_PX)
    down, right = (np.repeat(normal, count) for normal in normals)
    # Ridge pixels meet the grid alike all along a stroke; crossings must not.
    along = np.add.outer(np.arange(sampled.rows.size) * GOLDEN % 1 - 0.5, PARALLELS_PX).ravel()
    rows = (np.repeat(sampled.rows, count) - right * along)[:, None] + down[:, None] * offsets
    cols = (np.repeat(sampled.cols, count) + down * along)[:, None] + right[:, None] * offsets
    places = rows.astype(np.float32), cols.astype(np.float32)
    return Crossings(*places, offsets, np.repeat(sampled.half, count), margin)


def _profile_of(field: Bytes, beyond: int) -> Profile:
    def profile(crossings: Crossings) -> tuple[Floats, int]:
        return sampled_at(field, crossings, beyond=beyond) / 255, 0

    return profile


def sampled_at(
    picture: NDArray[np.generic],
    crossings: Crossings,
    *,
    origin: tuple[int, int] = (0, 0),
    beyond: float | None = None,
) -> Floats:
    """Values of a (H, W) or (H, W, C) picture at the crossings' points, bilinear, as float64.

    ``origin`` is the place in the picture from which the crossings count, ``beyond`` the value
    outside the picture; None repeats its edge.
    """
    rows, cols = crossings.rows + origin[0], crossings.cols + origin[1]
    height, width = picture.shape[:2]
    low_row = int(np.clip(np.floor(rows.min()) - 1, 0, height - 1))
    low_col = int(np.clip(np.floor(cols.min()) - 1, 0, width - 1))
    end_row = int(np.clip(np.ceil(rows.max()) + 2, low_row + 1, height))
    end_col = int(np.clip(np.ceil(cols.max()) + 2, low_col + 1, width))
    values = cv2.remap(
        np.asarray(picture[low_row:end_row, low_col:end_col], np.float32),
        np.asarray(cols - low_col, np.float32),
        np.asarray(rows - low_row, np.float32),
        cv2.INTER_LINEAR,
        borderMode=cv2.BORDER_REPLICATE if beyond is None else cv2.BORDER_CONSTANT,
        borderValue=(beyond or 0.0,) * 4,
    )
    return np.asarray(values, np.float64)


def _integrals(coverage: Floats, crossings: Crossings) -> Floats:
    """(S,) coverage integrated across the stroke, up to where it is least on either side."""
    offsets = crossings.offsets
    half, margin = crossings.half[:, None], crossings.margin_px
    inside = np.abs(offsets) <= np.maximum(half - 1 - (margin - MARGIN_PX), half / 2)
    beyond = np.abs(offsets) > half + margin
    left = np.where(inside | beyond | (offsets > 0), np.inf, coverage)
    right = np.where(inside | beyond | (offsets < 0), np.inf, coverage)
    # The nearest of equal minima: a plateau of nothing ends the stroke where it begins.
    first = coverage.shape[1] - 1 - np.argmin(left[:, ::-1], axis=1)
    last = np.argmin(right, axis=1)
    index = np.arange(offsets.size)
    within = (index >= first[:, None]) & (index <= last[:, None])
    return np.asarray((coverage * within).sum(axis=1) * SAMPLE_STEP_PX, np.float64)


def _tapers(sampled: Run, widths: Floats) -> bool:
    """Whether the width grows steadily from one end of the run to the other."""
    places = np.stack([sampled.rows, sampled.cols], axis=1)
    places = places - places.mean(axis=0)
    along = places @ np.linalg.eigh(places.T @ places)[1][:, 1]
    slope = float((along * (widths - widths.mean())).sum()) / max(float(along @ along), 1.0)
    return abs(slope) > MOST_TAPER


def _least_local_mean(sampled: Run, widths: Floats) -> float:
    """The least of the mean widths around each sample."""
    count = min(LOCAL_SAMPLES, widths.size)
    apart = (sampled.rows - sampled.rows[:, None]) ** 2
    apart += (sampled.cols - sampled.cols[:, None]) ** 2
    nearest = np.argsort(apart, axis=1, kind="stable")[:, :count]
    return float(widths[nearest].mean(axis=1).min())
