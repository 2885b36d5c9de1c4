"""Share of each pixel that ink covers, un-mixed from the colour of removed paper."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from itertools import product

import cv2
import numpy as np
from numpy.typing import NDArray

from artcheck.colour.spaces import LUMA
from artcheck.imaging.blocks import BLOCK_PX, blocks
from artcheck.imaging.places import places

Bytes = NDArray[np.uint8]
Indices = NDArray[np.intp]
Colours = NDArray[np.float32]
Shares = NDArray[np.floating]

OPAQUE = 255

RIM_PX = 2
"""How far from paper a pixel can still be a blend with it: an anti-aliased edge covers one pixel,
a resampled one two."""

MOST_RIM_PX = 6
"""The same for blurred and enlarged art: an edge enlarged fourfold takes so long."""

FULL_SHARE, RISING_SHARE = 0.96, 0.03
"""An edge goes on while a shell of pixels reaches less than the first of the strongest contrast
nearby, and more than the last above the shell outside it: a lighter outline is a level step."""

RIPPLE_PX = 18
"""How far from an edge JPEG ripples reach: a block of 16 pixels (4:2:0 chroma) and its rim."""

FAINT_CODES = 30.0
"""Distance from paper in sRGB codes under which a coreless pixel is noise of the paper."""

RIPPLE_SHARE = 0.4
"""Contrast to paper, relative to the ink nearby, under which a coreless pixel is a ripple."""

VALLEY_PX = 7
"""Gaps up to this wide can be blurred or thin enough to hold no pixel of pure paper."""

VALLEY_SHARE = 0.6
"""Contrast to paper, relative to the ink around, under which a thin light valley is such a gap."""

FLOOR_CODES, FLOOR_REACH_PX = 12, 4
"""Range of light up to which a valley's floor is level, and how far around such a floor its ink
goes on: half the widest valley and its rim."""

SHARP_RIM_PX, SHARP_FLOOR_PX, SOFT_FLOOR_PX = 3, 3, 5
"""Rims up to which edges are sharp, and the side of a level floor beside sharp and soft ones."""

OFF_LINE_CODES, OFF_LINE_LEAST = 16.0, 6.0
"""Distance in codes from the line between paper and the ink behind, from which a level pixel is
ink of its own, and from which any pixel may be mixed with such ink."""

OFF_LIGHT_CODES = 16.0
"""Difference from paper in light that such ink shows: JPEG files bleed colour alone onto paper."""

LEVEL_CODES, LEVEL_NEIGHBOURS = 10, 3
"""How far neighbours of one ink may differ, as ripples of resampling and of JPEG let them, and how
many must be alike. Of 3, 6, 8, 10 and 12 codes, on 140 development drawings in five states, 10 and
12 left the least mean error of area."""

OUTLINE_REACH_PX = 24
"""How far in pixels along an outline its colour holds, by judgement: a thin one is level in few
places."""

LEAST_ANGLE = 0.1
"""Sine of the angle at paper between two inks from which their shares can be told apart, by
judgement."""

HALO_PX = RIPPLE_PX + 2 * VALLEY_PX


def unmixed(rgb: Bytes, paper: NDArray[np.bool_], paper_rgb: tuple[int, int, int]) -> Bytes:
    """Coverage of opaque art from its mixture with paper.

    Parameters
    ----------
    rgb
        (H, W, 3) uint8.
    paper
        (H, W) bool, True on pure paper.
    paper_rgb
        Its colour.

    Returns
    -------
    (H, W) uint8
        0 on paper, 255 inside the art; on rims and in gaps too narrow for a pixel of pure paper,
        the share of a linear mixture between paper and the ink behind the rim.
    """
    coverage = np.zeros(paper.shape, np.uint8)
    open_ground = paper.view(np.uint8)
    side = BLOCK_PX + 2 * HALO_PX
    page = np.full((side, side, 3), paper_rgb, np.uint8)
    for block in blocks(paper.shape, HALO_PX):
        inked = 1 - open_ground[block.around]
        if cv2.countNonZero(inked[block.inner]):
            height, width = inked.shape
            shares = _block(rgb[block.around], inked, page[:height, :width])
            coverage[block.own] = shares[block.inner]
    return coverage


def _block(rgb: Bytes, inked: Bytes, page: Bytes) -> Bytes:
    """Coverage of one block with its surroundings; ``page`` is as large and all paper."""
    red, green, blue = cv2.split(cv2.absdiff(rgb, page))
    apart = np.asarray(cv2.max(cv2.max(red, green), blue), np.uint8)
    lowest, highest, _, _ = cv2.minMaxLoc(apart)
    if lowest >= VALLEY_SHARE * highest:
        return inked * np.uint8(OPAQUE)
    core, rim_px = _core(apart, inked)
    gaps = _narrow_gaps(apart, core)
    floor_px = SHARP_FLOOR_PX if rim_px <= SHARP_RIM_PX else SOFT_FLOOR_PX
    gaps = _without_pale_ink(gaps, apart, rgb, floor_px)
    core = np.asarray(cv2.subtract(core, gaps), np.uint8)
    coverage = core * np.uint8(OPAQUE)
    rows, cols = places(np.asarray(cv2.subtract(inked, core), np.uint8))
    if rows.size:
        rim = _Rim(rgb, core, page, highest, rows, cols)
        full = _full_ink(rim, gaps, rim_px)
        coverage[rim.rows, rim.cols] = _with_outlines(rim, full, *_mixture(rim, full))
    return coverage


def _core(apart: Bytes, inked: Bytes) -> tuple[Bytes, int]:
    """1 on pixels too far from paper to be blends with it; and how wide that is, in pixels."""
    core = np.asarray(cv2.erode(inked, _square(2 * RIM_PX + 1), borderValue=1), np.uint8)
    if cv2.countNonZero(inked) == inked.size:
        return core, RIM_PX
    shell = cv2.subtract(cv2.erode(inked, _square(3), borderValue=1), core)
    strongest = cv2.dilate(apart, _square(2 * MOST_RIM_PX + 1))
    contrast = cv2.divide(apart, strongest, scale=OPAQUE)
    outside = _mean(contrast, shell) / OPAQUE
    rim_px = RIM_PX
    while rim_px < MOST_RIM_PX:
        inner = np.asarray(cv2.erode(core, _square(3), borderValue=1), np.uint8)
        shell = cv2.subtract(core, inner)
        share = _mean(contrast, shell) / OPAQUE
        if share >= FULL_SHARE or share <= outside + RISING_SHARE:
            break
        core, outside, rim_px = inner, share, rim_px + 1
    return core, rim_px


def _mean(values: cv2.typing.MatLike, ones: cv2.typing.MatLike) -> float:
    """`cv2.mean` under a mask of ones, to the bit, at a third of its time."""
    count = cv2.countNonZero(ones)
    return cv2.sumElems(cv2.multiply(values, ones))[0] * (1 / count) if count else 0.0


def _square(side: int) -> Bytes:
    return np.ones((side, side), np.uint8)


def _narrow_gaps(apart: Bytes, core: Bytes) -> Bytes:
    """1 in light valleys that are too narrow, or too blurred, to show pure paper."""
    around = cv2.morphologyEx(apart, cv2.MORPH_CLOSE, _square(VALLEY_PX))
    light = cv2.compare(apart, cv2.convertScaleAbs(around, alpha=VALLEY_SHARE), cv2.CMP_LT)
    valley = cv2.bitwise_and(core, light)
    if not cv2.countNonZero(valley):
        return np.zeros_like(core)
    return np.asarray(cv2.bitwise_and(cv2.dilate(valley, _square(2 * RIM_PX + 1)), core), np.uint8)


def _without_pale_ink(gaps: Bytes, apart: Bytes, rgb: Bytes, floor_px: int) -> Bytes:
    """The gaps without those whose floor is level and yet no paper: a pale ink between dark ones.

    A gap too narrow or too blurred to reach paper has no level floor: it falls from one side and
    rises to the other.
    """
    if not cv2.countNonZero(gaps):
        return gaps
    # Of the light alone: half of all JPEG files hold their colour at half its size.
    light = cv2.cvtColor(rgb, cv2.COLOR_RGB2GRAY)
    around = cv2.subtract(cv2.dilate(light, _square(floor_px)), cv2.erode(light, _square(floor_px)))
    level = cv2.inRange(around, 0, FLOOR_CODES)
    pale = cv2.bitwise_and(level, cv2.inRange(apart, FAINT_CODES, OPAQUE))
    floor = cv2.bitwise_and(pale, gaps)
    if not cv2.countNonZero(floor):
        return gaps
    return np.asarray(cv2.subtract(gaps, cv2.dilate(floor, _square(2 * FLOOR_REACH_PX + 1))))


@dataclass(frozen=True, slots=True)
class _Rim:
    """The (N,) pixels of a block whose coverage is asked for, and what stands around them.

    ``most_apart`` is the largest difference from paper, in a channel, of any pixel around.
    """

    rgb: Bytes
    core: Bytes
    page: Bytes
    most_apart: float
    rows: Indices
    cols: Indices

    @property
    def colours(self) -> Colours:
        return np.asarray(self.rgb[self.rows, self.cols], np.float32)

    @property
    def paper(self) -> Colours:
        return np.asarray(self.page[0, 0], np.float32)


def _full_ink(rim: _Rim, gaps: Bytes, rim_px: int) -> Colours:
    """(N, 3) the full ink behind each rim pixel.

    That of the nearest core; on strokes too thin for a core, the pixel of the neighbourhood that
    differs most from paper.
    """
    full, near = _nearest_core(rim, range(1, rim_px + 2))
    in_gap = gaps[rim.rows, rim.cols] > 0
    thin = np.flatnonzero(~near & ~in_gap)
    if thin.size:
        own = _most_inked(rim, thin, RIM_PX, 1)
        ripple = _is_ripple(_part(rim, thin), own)
        full[thin] = np.where(ripple[:, None], full[thin], own)
    walls = np.flatnonzero(in_gap)
    if walls.size:
        full[walls] = _most_inked(rim, walls, VALLEY_PX // 2 + 1, 2)
    return full


def _mixture(rim: _Rim, full: Colours) -> tuple[Bytes, Shares]:
    """(N,) each pixel on the line from paper to its full ink, and how far beside it, in codes.

    The first is 0-255, 0 for paper.
    """
    axis, mixed = full - rim.paper, rim.colours - rim.paper
    along = (mixed * axis).sum(axis=1)
    length = np.maximum(np.square(axis).sum(axis=1), 1.0)
    share = np.rint(np.clip(along / length, 0, 1) * OPAQUE).astype(np.uint8)
    beside = np.maximum(np.square(mixed).sum(axis=1) - np.square(along) / length, 0)
    return share, np.sqrt(beside)


def _with_outlines(rim: _Rim, full: Colours, share: Bytes, off_line: Shares) -> Bytes:
    """(N,) the shares, where a pale outline stands before the full ink told from both.

    Too thin for a core, and lighter than the ink behind it, an outline looks like a blend of that
    with paper; but it is level, and beside their line.
    """
    own = np.flatnonzero(off_line > OFF_LINE_CODES)
    darker = (rim.paper - rim.rgb[rim.rows[own], rim.cols[own]]) @ np.array(LUMA, np.float32)
    own = own[np.abs(darker) > OFF_LIGHT_CODES]
    own = own[_is_level(rim.rgb, rim.rows[own], rim.cols[own])] if own.size else own
    if not own.size:
        return share
    outline, distance = _nearest(rim, own)
    near = (distance <= RIM_PX) | ((off_line > OFF_LINE_LEAST) & (distance <= OUTLINE_REACH_PX))
    asked = np.flatnonzero(near)
    of_three, misfit = _share_of_three(
        rim.colours[asked] - rim.paper, outline[asked] - rim.paper, full[asked] - rim.paper
    )
    fits = misfit < off_line[asked] + OFF_LINE_LEAST
    share[asked[fits]] = of_three[fits]
    share[own] = OPAQUE
    return share


def _is_level(rgb: Bytes, rows: Indices, cols: Indices) -> NDArray[np.bool_]:
    """(n,) whether pixels agree with three neighbours: along a straight edge a blend has two."""
    beyond = np.pad(rgb, ((1, 1), (1, 1), (0, 0)), mode="edge")
    own = rgb[rows, cols].astype(np.int16)
    alike = np.zeros(rows.size, np.uint8)
    for down, right in product((0, 1, 2), repeat=2):
        there = beyond[rows + down, cols + right].astype(np.int16)
        alike += np.abs(there - own).max(axis=1) <= LEVEL_CODES
    return np.asarray(alike > LEVEL_NEIGHBOURS)


def _nearest(rim: _Rim, own: Indices) -> tuple[Colours, Shares]:
    """(N, 3) the colour of the nearest of these rim pixels, and (N,) how far off that is."""
    open_ = np.ones_like(rim.core)
    open_[rim.rows[own], rim.cols[own]] = 0
    distance, owner = cv2.distanceTransformWithLabels(
        open_, cv2.DIST_L2, 5, labelType=cv2.DIST_LABEL_PIXEL
    )
    colours = np.zeros((own.size + 1, 3), np.float32)
    colours[owner[rim.rows[own], rim.cols[own]]] = rim.colours[own]
    place = rim.rows, rim.cols
    return colours[owner[place]], np.asarray(distance, np.float32)[place]


def _share_of_three(mixed: Colours, outline: Colours, full: Colours) -> tuple[Bytes, Shares]:
    """(n,) 0-255: what of each pixel is outline or full ink; and the misfit in codes.

    All colours from paper. Infinite misfit where the two inks lie on one line with it.
    """
    one, other = np.square(outline).sum(axis=1), np.square(full).sum(axis=1)
    both = (outline * full).sum(axis=1)
    by_outline, by_full = (mixed * outline).sum(axis=1), (mixed * full).sum(axis=1)
    size = one * other - np.square(both)
    apart = size > LEAST_ANGLE**2 * one * other
    size = np.where(apart, size, 1)
    first = np.clip((by_outline * other - by_full * both) / size, 0, 1)
    second = np.clip((by_full * one - by_outline * both) / size, 0, 1)
    left = mixed - first[:, None] * outline - second[:, None] * full
    misfit = np.where(apart, np.sqrt(np.square(left).sum(axis=1)), np.inf)
    share = np.rint(np.clip(first + second, 0, 1) * OPAQUE).astype(np.uint8)
    return share, misfit


def _part(rim: _Rim, chosen: Indices) -> _Rim:
    return _Rim(rim.rgb, rim.core, rim.page, rim.most_apart, rim.rows[chosen], rim.cols[chosen])


def _nearest_core(rim: _Rim, reaches_px: Iterable[int]) -> tuple[Colours, NDArray[np.bool_]]:
    """Darkest colour of the core in the first square of these reaches that holds any.

    Paper is light, so darkest is purest. Also whether a square does; if none, black stands in.
    """
    outside = cv2.threshold(rim.core, 0, 255, cv2.THRESH_BINARY_INV)[1]
    covered = cv2.bitwise_or(rim.rgb, cv2.cvtColor(outside, cv2.COLOR_GRAY2RGB))
    full = np.zeros((rim.rows.size, 3), np.float32)
    waiting = np.arange(rim.rows.size)
    for reach in reaches_px:
        square = _square(2 * reach + 1)
        rows, cols = rim.rows[waiting], rim.cols[waiting]
        found = np.asarray(cv2.dilate(rim.core, square))[rows, cols] > 0
        if found.any():
            darkest = np.asarray(cv2.erode(covered, square))
            full[waiting[found]] = darkest[rows[found], cols[found]]
            waiting = waiting[~found]
        if not waiting.size:
            break
    near = np.ones(rim.rows.size, np.bool_)
    near[waiting] = False
    return full, near


def _is_ripple(rim: _Rim, own: Colours) -> NDArray[np.bool_]:
    """Ripples of compression are faint, or stand beside strong ink: they are no thin strokes."""
    contrast = np.sqrt(np.square(own - rim.paper).sum(axis=1))
    ripple = contrast < FAINT_CODES
    # No core is farther from paper than this: most thin strokes need not look for one.
    most = RIPPLE_SHARE * np.sqrt(3) * (rim.most_apart + 1)
    open_ = np.flatnonzero(~ripple & (contrast < most))
    if open_.size:
        full, near = _nearest_core(_cut_to(_part(rim, open_), RIPPLE_PX), (RIPPLE_PX,))
        nearby = np.sqrt(np.square(full - rim.paper).sum(axis=1))
        ripple[open_] = near & (contrast[open_] < RIPPLE_SHARE * nearby)
    return np.asarray(ripple, np.bool_)


def _cut_to(rim: _Rim, reach_px: int) -> _Rim:
    """The same pixels in the part of the block that lies within reach of them."""
    first_row, first_col = (max(int(v.min()) - reach_px, 0) for v in (rim.rows, rim.cols))
    part = np.s_[
        first_row : int(rim.rows.max()) + reach_px + 1,
        first_col : int(rim.cols.max()) + reach_px + 1,
    ]
    rows, cols = rim.rows - first_row, rim.cols - first_col
    return _Rim(rim.rgb[part], rim.core[part], rim.page, rim.most_apart, rows, cols)


def _most_inked(rim: _Rim, chosen: Indices, reach_px: int, step_px: int) -> Colours:
    """(N, 3) the colour within reach that lies farthest from paper."""
    height, width = rim.core.shape
    best = rim.rgb[rim.rows[chosen], rim.cols[chosen]].astype(np.float32)
    best_apart = np.square(best - rim.paper).sum(axis=1)
    steps = range(-reach_px, reach_px + 1, step_px)
    rows, cols = (
        [np.minimum(np.maximum(places[chosen] + step, 0), side - 1) for step in steps]
        for places, side in ((rim.rows, height), (rim.cols, width))
    )
    for r, c in product(rows, cols):
        here = rim.rgb[r, c].astype(np.float32)
        apart = np.square(here - rim.paper).sum(axis=1)
        better = apart > best_apart
        best[better], best_apart[better] = here[better], apart[better]
    return best
