"""Widths of strokes: ridges of the distance transform, refined by integrating coverage.

A stroke's width is the integral of coverage along its normal: blur, anti-aliasing and the sampling
grid spread the ink but keep its amount, so the integral is exact for straight strokes where a
mask is off by up to a pixel.

The search runs block by block, at full size for strokes of a few pixels and at half, quarter and
less for wider ones, and looks closer only where opening with a square removes something: an edge
of any slant survives that, a stroke narrower than the square does not.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from artcheck.imaging.blocks import Block, blocks
from artcheck.imaging.components import pieces_and_holes

Bytes = NDArray[np.uint8]
Floats = NDArray[np.floating]

OPENING_PX = 9
"""Side of the square; strokes under it are found at this size, the others reduced by two."""

HALVINGS = 4
"""Strokes up to 9 * 2 ** 4 = 144 px are lines: 6 pt at 1,700 ppi. Wider ones are shapes."""

HALO_PX = 16
"""Margin around a block: the widest stroke of a level and the square beyond it."""

LEAST_HALF_PX = OPENING_PX / 4
"""Half-width from which reduced strokes are looked at: thinner ones have shown at the size before,
and the coarse grid makes the tips of points look even."""

HAIR_CODES = 32
"""Coverage (of 255) by which a hairline stands out; fainter ones are dirt or noise."""

MOST_SLOPE = 0.3
"""Change of the half-width a pixel along a ridge, above which it is a taper or a corner's bisector:
the sine of half the tip's angle, 17 degrees."""

LEVEL_STEP = 1.15
"""Half-widths are searched in steps of 15 %: strokes whose width varies less are one."""

LENGTH_IN_WIDTHS = 1.5
"""Length of a stroke's ridge in its widths, at least. The ridge ends half a width before either end
of the stroke: strokes keep their width over 2.5 widths; shorter ones are dots, serifs and tips."""

LEAST_LENGTH_PX = 7.0
"""Shorter ridges are the tips of points, which the pixel grid makes look even."""

EVEN_SHARE, EVEN_PX = 0.75, 0.75
"""Half-widths from this share of a run's, or so many pixels under it, count as the same width."""

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
    """

    width_px: float
    length_px: float
    box: tuple[int, int, int, int]


@dataclass(frozen=True, slots=True)
class Run:
    """The middle of a stroke in full-size pixels: (N,) rows, cols and half-widths of its mask.

    They are right to ``grain_px``, the pixels that stood for one where the run was found.
    """

    rows: Floats
    cols: Floats
    half: Floats
    grain_px: int = 1

    def __getitem__(self, chosen: NDArray[np.intp] | NDArray[np.bool_] | slice) -> Run:
        return Run(self.rows[chosen], self.cols[chosen], self.half[chosen], self.grain_px)


@dataclass(frozen=True, slots=True)
class Crossings:
    """Sample points across a stroke.

    ``rows`` and ``cols`` are (S, K) float32 places in pixels, ``offsets`` (K,) their distances from
    the middle, ``half`` (S,) the mask's half-width at each of the S crossings and ``margin_px`` how
    far beyond it the stroke's edge is looked for.
    """

    rows: NDArray[np.float32]
    cols: NDArray[np.float32]
    offsets: Floats
    half: Floats
    margin_px: float


Profile = Callable[[Crossings], Floats | None]
"""(S, K) coverage 0-1 at the crossings' points; None when the run is no stroke after all."""


def thin_strokes(
    field: Bytes, most: int, *, beyond: int = 0, profile: Profile | None = None
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
    """
    read = profile or _profile_of(field, beyond)
    found: list[Stroke] = []
    level = field
    for halving in range(HALVINGS + 1):
        level = _halved(level) if halving else level
        for run in _runs(level, 1 << halving, beyond, lambda: _limit(found)):
            stroke = _measured(run, read, field.shape)
            if stroke is not None:
                found.append(stroke)
        if found and 2 * min(s.width_px for s in found) <= OPENING_PX << halving:
            break
    return sorted(found, key=lambda stroke: (stroke.width_px, stroke.box))[:most]


def _limit(found: list[Stroke]) -> float:
    """Half-width up to which strokes still matter: twice the thinnest found."""
    return min((stroke.width_px for stroke in found), default=np.inf)


# --- candidates ---------------------------------------------------------------------------------


@dataclass(slots=True)
class _Ridge:
    """(N,) ridge pixels of a part of a block, their half-widths, and which are on a stroke already.

    ``corner`` is the part's place in the block, ``shape`` its size.
    """

    rows: NDArray[np.intp]
    cols: NDArray[np.intp]
    half: NDArray[np.float32]
    taken: NDArray[np.bool_]
    corner: tuple[int, int]
    shape: tuple[int, ...]


def _runs(level: Bytes, scale: int, beyond: int, limit: Callable[[], float]) -> Iterator[Run]:
    """Runs of ridge whose strokes show in a reduced field, in full-size pixels."""
    for block in blocks(level.shape, HALO_PX):
        part = cv2.copyMakeBorder(
            level[block.around], *(HALO_PX,) * 4, cv2.BORDER_CONSTANT, value=beyond
        )
        ridge = _ridge(np.asarray(part, np.uint8), block, 0.5 if scale == 1 else LEAST_HALF_PX)
        if ridge is None:
            continue
        row, col = (
            span.start - HALO_PX + at for span, at in zip(block.around, ridge.corner, strict=True)
        )
        for run in _long_runs(ridge, limit() / scale):
            yield _full_size(run, scale, row, col)


def _halved(field: Bytes) -> Bytes:
    """Area averages of 2 x 2 pixels."""
    size = (max(field.shape[1] // 2, 1), max(field.shape[0] // 2, 1))
    return np.asarray(cv2.resize(field, size, interpolation=cv2.INTER_AREA), np.uint8)


def _full_size(run: Run, scale: int, row: int, col: int) -> Run:
    """From a block at reduced size to full-size pixels (pixel centres are whole numbers)."""
    shift = (scale - 1) / 2
    rows, cols = (run.rows + row) * scale + shift, (run.cols + col) * scale + shift
    return Run(rows, cols, run.half * scale, scale)


def _ridge(block: Bytes, place: Block, least_half: float) -> _Ridge | None:
    """Pixels on the middle of thin strokes: no neighbour is deeper by more than the slope allows.

    None where nothing is thin. ``block`` has a border of `HALO_PX` more than ``place.around``.
    """
    lowest, highest, _, _ = cv2.minMaxLoc(block)
    if highest - lowest < HAIR_CODES:
        return None
    square = np.ones((OPENING_PX, OPENING_PX), np.uint8)
    thin = _at_least(cv2.morphologyEx(block, cv2.MORPH_TOPHAT, square))
    part = _long_part(thin)
    if part is None:
        return None
    half = _half_widths(block[part])
    deeper = cv2.subtract(cv2.dilate(half, np.ones((3, 3), np.uint8)), half)
    flat = cv2.inRange(deeper, 0, MOST_SLOPE)
    on = cv2.bitwise_and(
        cv2.bitwise_and(flat, thin[part]), cv2.inRange(half, least_half, OPENING_PX)
    )
    places = cv2.findNonZero(on)
    if places is None:
        return None
    cols, rows = np.asarray(places, np.intp).reshape(-1, 2).T
    own_rows, own_cols = (
        (v + piece.start >= span.start + HALO_PX) & (v + piece.start < span.stop + HALO_PX)
        for v, piece, span in zip((rows, cols), part, place.inner, strict=True)
    )
    rows, cols = rows[own_rows & own_cols], cols[own_rows & own_cols]
    taken = np.zeros(rows.size, np.bool_)
    corner = (part[0].start, part[1].start)
    return _Ridge(rows, cols, half[rows, cols], taken, corner, half.shape)


def _half_widths(block: Bytes) -> NDArray[np.float32]:
    """Distance to the ground from each pixel of the mask.

    Hairlines that cover no pixel by half belong to it when they stand out.
    """
    hair = cv2.morphologyEx(block, cv2.MORPH_TOPHAT, np.ones((3, 3), np.uint8))
    standing = cv2.max(block, cv2.convertScaleAbs(hair, alpha=128 / HAIR_CODES))
    mask = cv2.threshold(standing, 127, 1, cv2.THRESH_BINARY)[1]
    return np.asarray(cv2.distanceTransform(mask, cv2.DIST_L2, 5), np.float32)


def _long_part(thin: Bytes) -> tuple[slice, slice] | None:
    """The part of a block around everything thin that is long enough for a stroke."""
    if not cv2.countNonZero(thin):
        return None
    boxes = pieces_and_holes(thin)[0].boxes
    long = boxes[np.hypot(*(boxes[:, 2:] - boxes[:, :2]).T) >= LEAST_LENGTH_PX]
    if not long.size:
        return None
    row0, col0 = np.maximum(long[:, :2].min(axis=0) - OPENING_PX, 0)
    row1, col1 = long[:, 2:].max(axis=0) + OPENING_PX
    return slice(int(row0), int(row1)), slice(int(col0), int(col1))


def _at_least(thin: cv2.typing.MatLike) -> Bytes:
    """1 where a pixel stands out from what opening leaves."""
    return np.asarray(cv2.threshold(thin, HAIR_CODES - 1, 1, cv2.THRESH_BINARY)[1], np.uint8)


def _long_runs(ridge: _Ridge, most_half: float) -> Iterator[Run]:
    """Connected runs of ridge that are long for their width, thinnest first."""
    most_half = min(most_half, float(ridge.half.max(initial=0.0)) * LEVEL_STEP)
    level = float(ridge.half.min(initial=np.inf))
    while level <= most_half:
        level *= LEVEL_STEP
        yield from _runs_under(ridge, level)


def _runs_under(ridge: _Ridge, level: float) -> Iterator[Run]:
    """Runs not deeper than ``level``; their pixels are marked as taken."""
    thinnest = min(EVEN_SHARE * level, level - EVEN_PX)
    near = np.flatnonzero((ridge.half <= level) & (ridge.half >= thinnest) & ~ridge.taken)
    least = max(LENGTH_IN_WIDTHS * 2 * level, LEAST_LENGTH_PX)
    if near.size < least / 2:
        return
    label = _connected(ridge.rows[near], ridge.cols[near], ridge.shape)
    order = np.argsort(label, kind="stable")
    near, label = near[order], label[order]
    starts = np.flatnonzero(np.diff(label, prepend=-1))
    ends = np.append(starts[1:], label.size)
    extent = _extents(ridge.rows[near], ridge.cols[near], starts)
    for n in np.flatnonzero(extent >= least):
        run = near[starts[n] : ends[n]]
        ridge.taken[run] = True
        yield Run(
            ridge.rows[run].astype(np.float64),
            ridge.cols[run].astype(np.float64),
            ridge.half[run].astype(np.float64),
        )


def _connected(
    rows: NDArray[np.intp], cols: NDArray[np.intp], shape: tuple[int, ...]
) -> NDArray[np.intp]:
    """(N,) a label of the connected set that each place belongs to.

    On a slant the middle of a stroke jumps between pixel rows: places a pixel apart count as
    connected.
    """
    mask = np.zeros(shape, np.uint8)
    mask[rows, cols] = 1
    bridged = cv2.dilate(mask, np.ones((3, 3), np.uint8))
    labels = cv2.connectedComponents(bridged, connectivity=8, ltype=cv2.CV_32S)[1]
    return np.asarray(labels)[rows, cols].astype(np.intp)


def _extents(
    rows: NDArray[np.intp], cols: NDArray[np.intp], starts: NDArray[np.intp]
) -> NDArray[np.float64]:
    """Length of each run: the diagonal of its box, or a third of its pixels where it winds."""
    high, wide = (
        np.maximum.reduceat(v, starts) - np.minimum.reduceat(v, starts) for v in (rows, cols)
    )
    count = np.diff(starts, append=rows.size)
    return np.asarray(np.maximum(np.hypot(high, wide), count / 3), np.float64)


# --- widths -------------------------------------------------------------------------------------


def _measured(run: Run, profile: Profile, shape: tuple[int, ...]) -> Stroke | None:
    """The width of a run; None for a taper or where ``profile`` finds no stroke."""
    thinned = run[:: -(-run.rows.size // MOST_POINTS)]
    sampled = thinned[:: -(-thinned.rows.size // MOST_SAMPLES)]
    sampled, normals = _normals(sampled, thinned)
    if sampled.rows.size == 0:
        return None
    crossings = _crossings(sampled, normals)
    coverage = profile(crossings)
    if coverage is None:
        return None
    widths = _integrals(coverage, crossings).reshape(-1, len(PARALLELS_PX)).mean(axis=1)
    if _tapers(sampled, widths):
        return None
    width = _least_local_mean(sampled, widths)
    return Stroke(width, _length(run), _box(run, shape))


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
    offsets = np.arange(-reach, reach + SAMPLE_STEP_PX / 2, SAMPLE_STEP_PX)
    count = len(PARALLELS_PX)
    down, right = (np.repeat(normal, count) for normal in normals)
    # Ridge pixels meet the grid alike all along a stroke; crossings must not.
    along = np.add.outer(np.arange(sampled.rows.size) * GOLDEN % 1 - 0.5, PARALLELS_PX).ravel()
    rows = (np.repeat(sampled.rows, count) - right * along)[:, None] + down[:, None] * offsets
    cols = (np.repeat(sampled.cols, count) + down * along)[:, None] + right[:, None] * offsets
    places = rows.astype(np.float32), cols.astype(np.float32)
    return Crossings(*places, offsets, np.repeat(sampled.half, count), margin)


def _profile_of(field: Bytes, beyond: int) -> Profile:
    def profile(crossings: Crossings) -> Floats:
        return sampled_at(field, crossings, beyond) / 255

    return profile


def sampled_at(picture: NDArray[np.generic], crossings: Crossings, beyond: float = 0) -> Floats:
    """Values of a (H, W) or (H, W, C) picture at the crossings' points, bilinear, as float64."""
    low_row, low_col = (
        max(int(np.floor(v.min())) - 1, 0) for v in (crossings.rows, crossings.cols)
    )
    part = picture[
        low_row : int(np.ceil(crossings.rows.max())) + 2,
        low_col : int(np.ceil(crossings.cols.max())) + 2,
    ]
    if part.size == 0:
        return np.full((*crossings.rows.shape, *picture.shape[2:]), beyond, np.float64)
    values = cv2.remap(
        np.asarray(part, np.float32),
        crossings.cols - low_col,
        crossings.rows - low_row,
        cv2.INTER_LINEAR,
        borderMode=cv2.BORDER_CONSTANT,
        borderValue=(beyond,) * 4,
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
