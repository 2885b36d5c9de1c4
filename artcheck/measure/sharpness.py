"""How much of the file's resolution is real: enlarged, stepped and blurred art is found out.

Three witnesses, read from the tiles of the art that carry most edges:

* *Edge width.* The profile across an edge has a total rise ``c`` and steps ``d``;
  ``c**2 / sum(d**2)`` is its width in pixels, whatever its contrast. An edge that a renderer
  anti-aliased over one pixel gives 1 to 2, according to where it falls on the grid; enlarging
  stretches it by the factor. The profiles of one straight edge along the grid all fall alike, so
  together they are one reading.
* *Interpolation traces.* Between the pixels of the source an interpolated picture is smoother than
  at them, so second differences swell and shrink with the period of the factor (A. C. Gallagher,
  "Detection of linear and cubic interpolation in JPEG compressed images", CRV 2005; A. C. Popescu
  and H. Farid, "Exposing digital forgeries by detecting traces of resampling", IEEE Trans. Signal
  Processing 53, 2005). The period tells the factor exactly, up to an alias that edge width settles.
* *Pixel steps.* Repeated pixels change only at every f-th column or row.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import cv2
import numpy as np
from numpy.typing import NDArray

from artcheck.domain.base import Box
from artcheck.domain.measurements import SharpnessMeasured
from artcheck.imaging.level import beside
from artcheck.imaging.medians import median
from artcheck.imaging.tiles import sums_along

if TYPE_CHECKING:
    from artcheck.measure.scan import Scan

Floats = NDArray[np.floating]
Bytes = NDArray[np.uint8]

TILE_PX = 192
"""Side of a tile: some fifty source pixels even in art enlarged fourfold."""

MARGIN_PX = 12
"""Taken in around the box: its own outline is an edge like others."""

SAMPLED_ROWS, MOST_STEP = 12, 60
"""Tiles are chosen by every so manieth row; a step counts up to so many levels."""

MAX_TILES = 24
"""About 0.9 megapixels: the figures no longer move by more than 1 % with more tiles."""

EDGE_RISES = (40.0, 16.0)
"""Grey levels an edge must rise to count; the lower one only where there are few strong edges."""

FLAT_STEP = 1.0
"""Grey levels from pixel to pixel that still count as level."""

STEEPNESS = 0.6
"""Largest tangent between an edge's normal and the row it is read along: about 31 degrees."""

MIN_EDGES = 60
"""Fewer profiles say nothing about a picture."""

EDGE_PERCENTILE = 20.0
"""The width under which so many per cent lie stands for the art: half of a photograph's edges may
be out of focus by intention, and a drawing's may be soft."""

SHARP_PX, PX_PER_FACTOR = 1.43, 1.25
"""That width in sharp art (its median over drawn sets and photographs), and how much it grows per
unit of enlargement: 1.1 by bicubic and Lanczos, 1.4 by bilinear."""

ORIGINAL_PX, BLURRED_PX = 1.86, 2.08
"""Originals reach the first (drawn sets and photographs in focus, also reduced from larger ones,
give 1.1 to 1.86); from the second on the width is believed without a trace."""

DOUBT_PX = 0.7
"""Both are higher by this over the root of the number of edges: twice the chance error of the
percentile, so that a picture of forty edges is not condemned for where these fell."""

UNEVEN_SHARE = 0.15
"""Share of neighbours beside edges that differ: half of the development drawings
give less than 0.01; saved as JPEG 75, 1 in 100 gives less than 0.17, and as JPEG 60 0.13."""

UNEVEN_PX, UNEVEN_RISE, UNEVEN_DOUBT_PX = 1.45, 55.0, 1.4
"""JPEG keeps the fine part of an edge in steps of its own, so that it widens faint edges most: what
originals reach there is the first plus the second over the levels that the art's edges rise, and
the doubt of few edges is the third. One pale ink on white gives 1.05 plus 60 (JPEG 75) or 72 (60)
over the rise. Of 1,020 originals of the development sets, saved as both, 23 were called enlarged by
what clean originals reach, and 1 is by this."""

EDGE_STEP = 12.0
"""Levels from pixel to pixel that make an edge, beside which evenness is judged."""

WIDTH_SPREAD = 0.18
"""Natural logarithm by which width may miss the factor (standard deviation); .15 to .16 measured on
1,120 enlarged drawings of the benchmark's development set."""

TRACE_RANGE = 2.0
"""Factors are searched for traces up to this many spreads from what edge width says."""

LEAST_FACTOR = 1.2
"""Smallest enlargement looked for: about where the report begins to call art enlarged."""

TRACE_EVIDENCE = 4.0
"""Log-likelihood that a trace must show against noise when edges are wide already."""

TRACE_EVIDENCE_ALONE = 12.0
"""The same where edges alone would pass for an original's."""

TRACE_ORDERS = (2, 3)
"""Even differences see odd factors, odd ones see twofold enlarging, whose samples lie mirrored."""

JPEG_GRID, JPEG_LIFT = 8, 2.5
"""JPEG's blocks leave traces of their own at multiples of 1/8; where they rise over so many medians
at 1/8 or 3/8, no multiple of 1/8 is believed. Art that was never JPEG stays under 2.3."""

SPECTRUM = 8192
"""Samples of the zero-padded spectrum: factors resolved to 0.1 %."""

STEP_RISE = 20.0
"""Grey levels that make a pixel step, over JPEG's noise."""

STEP_WIDTH_PX = 2.2
"""Repeated pixels step within one pixel, and JPEG's ringing makes that two at most."""

RULED_WIDTH_PX = 1.5
"""The same above `RULED_FROM`, where a grid may be the drawing's own: repeated pixels give 1.35 at
most there, in JPEG 75 too, while a drawing's edges fall between pixels (1.8 in rows of windows)."""

STEP_COHERENCE = 0.22
"""Least share of steps that one frequency gathers: repeated pixels have 0.3 (saved as JPEG 75) to
1, originals 0.05 to 0.1."""

STEP_LIFT = 4.5
"""The same in standard deviations of chance, where steps lie on few lines."""

RULED_FROM, STEP_OCCUPANCY = 4.5, 0.5
"""Art drawn to a coarse grid has its edges on few of the grid's lines; above this period, pixels
that were repeated must use half of them."""

MAX_STEP = 32
"""Largest repetition of pixels looked for."""

MIN_STEP_LINES = 16
"""Distinct columns (and rows) with steps before their spacing means anything."""


@dataclass(frozen=True, slots=True)
class _Tile:
    """One sample of the art: its grey values and where it lies."""

    grey: Floats
    row: int
    col: int


@dataclass(frozen=True, slots=True)
class _Runs:
    """Profiles across edges, in the order of their rows, each array (n,).

    Attributes
    ----------
    rise
        Grey levels from one side to the other.
    width
        Pixels.
    row, column
        The row, and the column in which most of the rise lies.
    """

    rise: Floats
    width: Floats
    row: NDArray[np.int_]
    column: NDArray[np.int_]

    def over(self, rise: float) -> _Runs:
        """Those that rise more than so many levels."""
        keep = self.rise > rise
        return _Runs(self.rise[keep], self.width[keep], self.row[keep], self.column[keep])

    def weights(self) -> Floats:
        """(n,) float: 1 over the rows in a stretch that stays in one column, row after row."""
        order = np.argsort(self.column, kind="stable")
        row, column = self.row[order], self.column[order]
        follows = (np.diff(column) == 0) & (np.diff(row) == 1)
        stretch = np.cumsum(~np.concatenate([[False], follows]))
        weights = np.empty(row.size)
        weights[order] = 1 / np.bincount(stretch)[stretch]
        return weights


def measure_sharpness(scan: Scan, box: Box | None = None) -> SharpnessMeasured | None:
    """True pixels per file pixel along one side.

    Parameters
    ----------
    scan
        The art.
    box
        Part of the art to look at; None for all that is printed.

    Returns
    -------
    SharpnessMeasured or None
        ``true_scale`` in 0-1; None where there are too few edges to tell.
    """
    tiles = _tiles(scan, box or scan.box)
    edges = _edges(tiles)
    if edges.widths.size < MIN_EDGES:
        return None
    step = _pixel_steps(tiles, median(edges.widths))
    if step is not None:
        return SharpnessMeasured(true_scale=1 / step, method="pixel steps")
    width = edges.percentile(edges.widths, EDGE_PERCENTILE)
    beyond_original = width - ORIGINAL_PX - DOUBT_PX / np.sqrt(edges.count)
    expected = 1 + max(0.0, width - SHARP_PX) / PX_PER_FACTOR
    factor = _trace_factor(tiles, expected, wide=beyond_original > 0)
    if factor is not None:
        return SharpnessMeasured(true_scale=1 / factor, method="interpolation traces")
    if beyond_original > 0 and _is_uneven(tiles):
        beyond_original = min(beyond_original, width - _uneven_original_px(edges))
    # Without a trace: 1 up to what originals reach, then down to width's word.
    trust = float(np.clip(beyond_original / (BLURRED_PX - ORIGINAL_PX), 0, 1))
    return SharpnessMeasured(true_scale=1 - trust * (1 - 1 / expected), method="edge width")


# --- tiles --------------------------------------------------------------------------------------


def _tiles(scan: Scan, box: Box) -> list[_Tile]:
    """The tiles with most edges inside ``box``, strongest first, on a fixed grid."""
    height, width = scan.coverage.shape
    row0, col0 = max(0, box[0] - MARGIN_PX), max(0, box[1] - MARGIN_PX)
    row1, col1 = min(height, box[2] + MARGIN_PX), min(width, box[3] + MARGIN_PX)
    places = [(row, col) for row in _starts(row0, row1) for col in _starts(col0, col1)]
    if len(places) > MAX_TILES:
        places = _liveliest(scan, places)
    ground = _ground(scan, box)
    return [
        _Tile(_grey(scan, (r, c, min(r + TILE_PX, row1), min(c + TILE_PX, col1)), ground), r, c)
        for r, c in places
    ]


def _starts(first: int, last: int) -> list[int]:
    """Evenly laid tile starts that cover first..last; the last tile ends at ``last``."""
    if last - first <= TILE_PX:
        return [first]
    count = -(-(last - first) // TILE_PX)
    return [first + round(i * (last - first - TILE_PX) / (count - 1)) for i in range(count)]


def _liveliest(scan: Scan, places: list[tuple[int, int]]) -> list[tuple[int, int]]:
    """The `MAX_TILES` places whose sampled rows differ most from pixel to pixel."""
    cols = sorted({col for _, col in places})
    first, width = cols[0], scan.coverage.shape[1]
    if width - first < 2:
        return places[:MAX_TILES]
    spans = [(col - first, min(col + TILE_PX, width) - 1 - first) for col in cols]
    energy: dict[tuple[int, int], float] = {}
    for row in sorted({row for row, _ in places}):
        steps = _sampled_steps(scan, np.s_[row : row + TILE_PX : SAMPLED_ROWS, first:])
        for col, span, total in zip(cols, spans, sums_along(steps, spans), strict=True):
            energy[row, col] = total / (len(steps) * (span[1] - span[0]))
    return sorted(places, key=lambda place: (-energy[place], place))[:MAX_TILES]


def _sampled_steps(scan: Scan, part: tuple[slice, slice]) -> Bytes:
    """(h, w - 1) uint8: change along rows of green where there is art, and of coverage."""
    green, drawn = np.ascontiguousarray(scan.rgb[(*part, 1)]), scan.coverage[part]
    change = cv2.absdiff(green[:, 1:], green[:, :-1])
    change = cv2.copyTo(change, drawn[:, 1:])
    change = cv2.add(change, cv2.absdiff(drawn[:, 1:], drawn[:, :-1]))
    return np.asarray(cv2.min(change, np.full_like(change, MOST_STEP)), np.uint8)


def _ground(scan: Scan, box: Box) -> float:
    """Black or white (0 or 255), whichever the art stands out from more."""
    if scan.alpha is None:
        return 255.0
    row0, col0, row1, col1 = box
    stride = max(1, (row1 - row0) // 200, (col1 - col0) // 200)
    weight = scan.coverage[row0:row1:stride, col0:col1:stride].astype(np.float64)
    green = scan.rgb[row0:row1:stride, col0:col1:stride, 1]
    mean = float((green * weight).sum() / max(weight.sum(), 1.0))
    return 255.0 if mean < 128 else 0.0


def _grey(scan: Scan, box: Box, ground: float) -> Floats:
    """(h, w) float32, 0-255: grey values of a part, laid on ``ground`` where transparent."""
    part = np.s_[box[0] : box[2], box[1] : box[3]]
    bytes_ = cv2.cvtColor(np.ascontiguousarray(scan.rgb[part]), cv2.COLOR_RGB2GRAY)
    grey: Floats = np.asarray(bytes_, np.float32)
    if scan.alpha is not None:
        share = scan.alpha[part].astype(np.float32) / 255
        grey = grey * share + ground * (1 - share)
    return grey


def _span(tiles: list[_Tile]) -> int:
    """Pixels from the first to the last column or row of the tiles, whichever are fewer."""
    return min(
        max(t.row + len(t.grey) for t in tiles) - min(t.row for t in tiles),
        max(t.col + len(t.grey.T) for t in tiles) - min(t.col for t in tiles),
    )


def _both_ways(tiles: list[_Tile]) -> list[list[_Tile]]:
    """The tiles as they are, and turned so that columns become rows."""
    turned = [_Tile(np.ascontiguousarray(t.grey.T), t.col, t.row) for t in tiles]
    return [tiles, turned]


# --- edge width ---------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class _Edges:
    """All edges strong enough to read, along rows and columns, each array (n,) float.

    Attributes
    ----------
    widths
        Pixels.
    rises
        Grey levels.
    weights
        The profiles of one stretch of edge along the grid weigh 1 together.
    """

    widths: Floats
    rises: Floats
    weights: Floats

    @property
    def count(self) -> float:
        """How many stretches there are."""
        return float(self.weights.sum())

    def percentile(self, values: Floats, percent: float) -> float:
        """The weighted percentile of one of the arrays."""
        return float(np.percentile(values, percent, weights=self.weights, method="inverted_cdf"))


def _edges(tiles: list[_Tile]) -> _Edges:
    """The edges of the tiles; the faint ones only where strong ones are few."""
    found = [_runs(t.grey) for way in _both_ways(tiles) for t in way if min(t.grey.shape) > 2]
    if not found:
        return _Edges(*(np.empty(0, np.float32) for _ in range(3)))
    strong = [runs.over(EDGE_RISES[0]) for runs in found]
    if sum(runs.rise.size for runs in strong) < MIN_EDGES:
        strong = [runs.over(EDGE_RISES[1]) for runs in found]
    return _Edges(
        np.concatenate([runs.width for runs in strong]),
        np.concatenate([runs.rise for runs in strong]),
        np.concatenate([runs.weights() for runs in strong]),
    )


def _is_uneven(tiles: list[_Tile]) -> bool:
    """Whether the areas beside edges are not level, as JPEG leaves them."""
    differing = judged = 0
    for tile in tiles:
        step = np.abs(np.diff(tile.grey, axis=1))
        judged_here = beside((step > EDGE_STEP).view(np.uint8))
        judged += int(judged_here.sum())
        differing += int((step[judged_here] >= FLAT_STEP).sum())
    return differing > UNEVEN_SHARE * judged


def _uneven_original_px(edges: _Edges) -> float:
    """The width that edges of an original may reach after JPEG."""
    rise = edges.percentile(edges.rises, 50)
    return UNEVEN_PX + UNEVEN_RISE / rise + UNEVEN_DOUBT_PX / float(np.sqrt(edges.count))


def _runs(grey: Floats) -> _Runs:
    """Every monotonic run along the rows of ``grey``.

    A run that leans more than `STEEPNESS` from the row is left out; a slighter lean is corrected.
    """
    step = np.diff(grey, axis=1)
    across = np.zeros_like(step)  # times the step, as the lean needs it
    down = grey[2:] - grey[:-2]
    across[1:-1] = (down[:, :-1] + down[:, 1:]) / 4 * step[1:-1]
    sign = (step >= FLAT_STEP).view(np.int8) - (step <= -FLAT_STEP).view(np.int8)
    sign[:, 0] = 2  # no run goes from one row into the next
    turns = sign.ravel()
    starts = np.flatnonzero(np.concatenate([[True], turns[1:] != turns[:-1]]))
    rise = np.abs(np.add.reduceat(step.ravel(), starts))
    squared = np.square(step)
    power = np.add.reduceat(squared.ravel(), starts)
    centre = np.add.reduceat((squared * np.arange(step.shape[1], dtype=np.float32)).ravel(), starts)
    lean = np.abs(np.add.reduceat(across.ravel(), starts))
    columns = step.shape[1]
    ends = np.append(starts[1:], step.size) - 1
    whole = (starts % columns > 1) & (ends % columns < columns - 1)
    keep = whole & (rise > EDGE_RISES[1])
    rise, power, lean = rise[keep], power[keep], lean[keep] / power[keep]
    width = rise**2 / power / np.sqrt(1 + lean**2)
    across_row = lean < STEEPNESS
    row = starts[keep] // columns
    # Straight edges lie on the pixels' bounds or midway: a quarter more, and ripples change nothing
    column = np.floor(centre[keep] / power + 0.25).astype(np.int_)
    return _Runs(rise[across_row], width[across_row], row[across_row], column[across_row])


# --- interpolation traces -----------------------------------------------------------------------


def _trace_factor(tiles: list[_Tile], expected: float, *, wide: bool) -> float | None:
    """The enlarging factor whose period stands out of the differences, or None.

    Edge width says about where to look (the factor ``expected``), which alias of a frequency is
    meant, and whether edges are ``wide`` for an original's. A trace has overtones, most of all a
    bilinear one: a factor is chosen by its tone and its first overtone, lest that one's alias pass
    for a tone, and believed by its tone alone.
    """
    reach = np.exp(TRACE_RANGE * WIDTH_SPREAD)
    if expected * reach <= LEAST_FACTOR:
        return None
    nearest, farthest = max(LEAST_FACTOR, expected / reach), expected * reach
    cycles = np.arange(round(SPECTRUM / farthest), round(SPECTRUM / nearest) + 1)
    ways = _both_ways(tiles)
    lifts = [_trace_lift(ways, order) for order in TRACE_ORDERS]
    evidence = np.sum([_evidence(lift) for lift in lifts], axis=0)
    if max(_at_jpeg_grid(lift) for lift in lifts) > JPEG_LIFT:
        grid, lobe = SPECTRUM // JPEG_GRID, 3 + SPECTRUM // _span(tiles)
        evidence[_from_multiple(np.arange(evidence.size), grid) <= lobe] = 0
    # A frequency shows in the spectrum at its distance from the sampling rate's multiples.
    tone, overtone = (evidence[_from_multiple(k * cycles, SPECTRUM)] for k in (1, 2))
    factors = SPECTRUM / cycles
    prior = -0.5 * (np.log(factors / expected) / WIDTH_SPREAD) ** 2
    best = int(np.argmax(tone + overtone + prior))
    needed = TRACE_EVIDENCE if wide else TRACE_EVIDENCE_ALONE
    return float(factors[best]) if tone[best] >= needed else None


def _from_multiple(values: NDArray[np.int_], unit: int) -> NDArray[np.int_]:
    """How far each value is from the nearest multiple of an even ``unit``."""
    return np.abs((values + unit // 2) % unit - unit // 2)


def _evidence(lift: Floats) -> Floats:
    """Log-likelihood against noise of a trace at each sample of a lifted spectrum.

    The spectrum of noise is Rayleigh distributed: a height of h medians has probability 2**-(h*h).
    """
    heights = cv2.dilate(lift, np.ones(5, np.uint8)).ravel()
    heights[:2] = 0  # no period
    return np.asarray(np.log(2) * np.maximum(heights**2 - 1, 0) / len(TRACE_ORDERS))


def _at_jpeg_grid(lift: Floats) -> float:
    """Height at 1/8 and 3/8 cycles a pixel, where JPEG's blocks show but no whole factor does."""
    grid = SPECTRUM // JPEG_GRID
    return max(float(lift[k * grid - 2 : k * grid + 3].max()) for k in (1, 3))


def _trace_lift(ways: list[list[_Tile]], order: int) -> Floats:
    """Spectrum of the periodicity of differences, both ways, over its local median."""
    return _lift(np.mean([_trace_spectrum(way, order) for way in ways], axis=0))


def _trace_spectrum(tiles: list[_Tile], order: int) -> Floats:
    """(SPECTRUM / 2 + 1,) float32: periodicity of differences along the rows."""
    first = min(t.col for t in tiles)
    span = max(t.col + t.grey.shape[1] for t in tiles) - first
    total, count = np.zeros(span), np.zeros(span)
    for tile in tiles:
        if tile.grey.shape[1] <= order:
            continue
        bend = np.abs(np.diff(tile.grey, n=order, axis=1))
        around = cv2.blur(bend, (9, 1))
        live = around > 3
        ratio = np.minimum(bend / np.maximum(around, 3), 4) * live
        place = np.s_[tile.col - first : tile.col - first + bend.shape[1]]
        total[place] += ratio.sum(axis=0)
        count[place] += np.asarray(cv2.reduce(live.view(np.uint8), 0, cv2.REDUCE_SUM, dtype=4))[0]
    excess = total - count * (total.sum() / max(count.sum(), 1))
    scale = max(float(np.sqrt((count**2).sum())), 1.0)
    return (_magnitudes(excess) / scale).astype(np.float32)


def _magnitudes(profile: NDArray[np.float64]) -> NDArray[np.float64]:
    """(SPECTRUM / 2 + 1,) float: magnitude of the profile's spectrum at 0 to 1/2 cycles a pixel."""
    pieces = -(-profile.size // SPECTRUM)
    fine = np.abs(np.fft.rfft(profile, SPECTRUM * pieces))
    if pieces == 1:
        return np.asarray(fine)
    padded = np.pad(fine, (0, pieces - 1))[: (SPECTRUM // 2 + 1) * pieces]
    return np.asarray(padded.reshape(-1, pieces).max(axis=1))


def _lift(spectrum: Floats) -> Floats:
    """The spectrum over the median of its neighbourhood (about 2 % of the sampling rate)."""
    coarse = spectrum[: spectrum.size // 64 * 64].reshape(-1, 64)
    medians = median(coarse, axis=1)
    smooth = np.convolve(np.pad(medians, 1, mode="edge"), np.ones(3) / 3, mode="valid")
    ground = np.repeat(smooth, 64)
    ground = np.pad(ground, (0, spectrum.size - ground.size), mode="edge")
    return np.asarray(spectrum / np.maximum(ground, 1e-9))


# --- pixel steps --------------------------------------------------------------------------------


def _pixel_steps(tiles: list[_Tile], width_px: float) -> float | None:
    """How often pixels were repeated, or None when neighbours change freely.

    The steps of both directions must fall on grids of the same frequency, and edges (``width_px``
    in the median) be as narrow as steps.
    """
    if width_px > STEP_WIDTH_PX:
        return None
    ways = [_step_counts(way) for way in _both_ways(tiles)]
    lines = min(int((steps > 0).sum()) for steps in ways)
    if lines < MIN_STEP_LINES:
        return None
    coherence = np.mean([_magnitudes(steps) / steps.sum() for steps in ways], axis=0)
    low = SPECTRUM // MAX_STEP
    height = float(coherence[low:].max())
    if height < max(STEP_COHERENCE, STEP_LIFT / np.sqrt(lines)):
        return None
    # Every harmonic of the true frequency may be as strong: take the lowest peak.
    first = low + int(np.argmax(coherence[low:] >= 0.8 * height))
    near = coherence[first : first + low // 4]
    frequency = (first + int(np.argmax(near))) / SPECTRUM
    if not _steps_gather(ways, frequency):
        return 1 / (1 - frequency)
    few = lines < STEP_OCCUPANCY * frequency * min(steps.size for steps in ways)
    ruled = 1 / frequency > RULED_FROM and (few or width_px > RULED_WIDTH_PX)
    return None if ruled else 1 / frequency


def _steps_gather(ways: list[NDArray[np.float64]], frequency: float) -> bool:
    """Whether steps gather at one phase of a frequency, rather than lack there.

    A comb's second harmonic is in phase with the square of its first; missing teeth, as repeating
    pixels now and then leaves them, have the opposite sign.
    """
    agreement = 0.0
    for steps in ways:
        turn = np.exp(-2j * np.pi * frequency * np.arange(steps.size))
        first, second = (steps * turn).sum(), (steps * turn**2).sum()
        agreement += float((second * np.conj(first) ** 2).real) / float(steps.sum()) ** 3
    return agreement >= 0


def _step_counts(tiles: list[_Tile]) -> NDArray[np.float64]:
    """(span,) strong steps on each boundary between columns, first to last that has any.

    Long straight edges count no more than the median boundary, or they would speak for all.
    """
    span = max(t.col + t.grey.shape[1] for t in tiles)
    counts = np.zeros(span)
    for tile in tiles:
        strong = np.abs(np.diff(tile.grey, axis=1)) > STEP_RISE
        counts[tile.col + 1 : tile.col + tile.grey.shape[1]] += strong.sum(axis=0)
    used = np.flatnonzero(counts)
    if not used.size:
        return counts[:0]
    counts = counts[used[0] : used[-1] + 1]
    return np.asarray(np.minimum(counts, median(counts[counts > 0])))
