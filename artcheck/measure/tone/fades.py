"""Fades: regions without an edge whose colour still travels.

The picture is cut along its edges. A solid region keeps one colour; a fade's region holds a range
of them. Two solids that touch along a faint edge would pass for a fade: a second, finer cut takes
such regions apart, where a true fade stays whole or dissolves altogether.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import cv2
import numpy as np

from artcheck.imaging.level import is_noisy
from artcheck.measure.tone.continued import joined_strips
from artcheck.measure.tone.working import (
    SPREAD_ENDS,
    Bools,
    Floats,
    Labels,
    Regions,
    Working,
    cut,
    place_of,
    range_around,
    spread_of,
)

if TYPE_CHECKING:
    from artcheck.measure.scan import Scan

EDGE_RANGE = 12.0
"""Levels within 3 x 3 working pixels that make an edge: a fade from black to white across 43
working pixels, a twelfth of the art, still passes."""

FINE_EDGE_RANGE = 5.0
"""The same for the finer cut, on a picture smoothed once more."""

FADE_SPREAD = 9.0
"""Levels a region's colours must span: about 3 CIEDE2000, where a step begins to show."""

LEAST_INNER_SHARE = 0.4
"""Share of a fade's pixels that lie off its edges; the scraps between worn patches have less."""

WHOLE_FADE_SHARE = 0.4
"""A region of which this much is no solid is a fade throughout, its level ends included."""

LEAST_FADE_SHARE = 0.12
"""Of a region with less than this the rest is the faint edge between two solids."""


BLEED_PX = 8.0
"""How far inside an edge a JPEG file carries the colour beyond it: half a block of 16 pixels, whose
chroma is coded as one (4:2:0)."""

PAPER_COVERAGE = 0.06
"""Coverage up to which a region is paper: ripples of compression between letters leave .04 at most,
while a fade to paper is inked at its other end."""

LOSSY_AROUND_PX = 32
"""Margin around a fade within which its file is judged: the noise stands beside edges."""


def fade_labels(working: Working, scan: Scan) -> tuple[Labels, Regions]:
    """Label every fade.

    Parameters
    ----------
    working
        The reduced picture.
    scan
        The same art at full size, asked whether what looks like a narrow fade is compression.

    Returns
    -------
    labels
        (h, w) int32: the fade's number from 1, edges that adjoin it included; 0 elsewhere.
    regions
        The cut itself.
    """
    edge = range_around(working.picture) > EDGE_RANGE
    regions = cut(working.picture, ~edge)
    candidates = regions.spread > FADE_SPREAD
    candidates &= regions.inner >= LEAST_INNER_SHARE * regions.size
    candidates[0] = False
    candidates &= _inked(working, regions, candidates)
    fades = _without_bridges(working.picture, regions, candidates)
    fades = _without_bleeding(working, scan, fades)
    fades = joined_strips(working, regions, fades)
    return _grown(fades, regions), regions


def _inked(working: Working, regions: Regions, asked: Bools) -> Bools:
    """(n,) whether more of a region is inked than the rims that `SPREAD_ENDS` leave out."""
    place = np.flatnonzero(asked[regions.labels])
    label = regions.labels.ravel()[place]
    inked = working.coverage.ravel()[place] > PAPER_COVERAGE
    count = np.bincount(label, weights=inked, minlength=asked.size)
    return np.asarray(count > (1 - SPREAD_ENDS[1]) * regions.size)


def _without_bridges(picture: Floats, regions: Regions, candidates: Bools) -> Labels:
    """(h, w) int32: the candidates' labels where they are fades indeed, else 0."""
    inside = candidates[regions.labels]
    if not inside.any():
        return np.zeros_like(regions.labels)
    smooth = np.asarray(cv2.blur(picture, (3, 3)), np.float32)
    pieces = cut(picture, inside & (range_around(smooth) <= FINE_EDGE_RANGE))
    solid_piece = (pieces.spread <= FADE_SPREAD) & (pieces.inner >= MIN_PIECE_PX)
    solid_piece[0] = False
    solid = solid_piece[pieces.labels]
    count = regions.size.size
    total = np.bincount(regions.labels[inside], minlength=count)
    rest = np.bincount(regions.labels[inside & ~solid], minlength=count)
    share = rest / np.maximum(total, 1)
    whole = share >= WHOLE_FADE_SHARE
    partly = (share >= LEAST_FADE_SHARE) & ~whole
    keep = inside & (whole[regions.labels] | (partly[regions.labels] & ~solid))
    return np.where(keep, regions.labels, 0).astype(np.int32)


def _without_bleeding(working: Working, scan: Scan, fades: Labels) -> Labels:
    """Leave out fades of lossy files that fade only where a neighbour's colour bleeds in."""
    reach = round(BLEED_PX * working.scale)
    if reach < 2 or not fades.any():
        return fades
    square = np.ones((2 * reach + 1,) * 2, np.uint8)
    deep = cv2.erode((fades > 0).astype(np.uint8), square) > 0
    deep_spread = spread_of(working.picture[deep], fades[deep], int(fades.max()) + 1)
    bled = [
        label
        for label in np.unique(fades[fades > 0])
        if deep_spread[label] <= FADE_SPREAD and _is_lossy(working, scan, fades == label)
    ]
    return np.where(np.isin(fades, bled), 0, fades)


def _is_lossy(working: Working, scan: Scan, place: Bools) -> bool:
    """The art around a place is noisy, as compression leaves it."""
    row0, col0, row1, col1 = place_of(np.flatnonzero(place), working, scan.box)
    around = np.s_[
        max(row0 - LOSSY_AROUND_PX, 0) : row1 + LOSSY_AROUND_PX,
        max(col0 - LOSSY_AROUND_PX, 0) : col1 + LOSSY_AROUND_PX,
    ]
    if is_noisy(scan.rgb[around], scan.ink[around]):
        return True
    # Small letters hold too few pixels that are level or not: the paper around them tells as well.
    return scan.alpha is None and is_noisy(scan.rgb[around], np.ones_like(scan.ink[around]))


MIN_PIECE_PX = 24
"""Inner working pixels of a piece that may be solid: a sliver across a fade spans little."""


def _grown(fades: Labels, regions: Regions) -> Labels:
    """Give edge pixels to the nearest region; those of fades carry the fade's label."""
    if not fades.any():
        return fades
    owned = (regions.inner >= 1)[regions.labels] & (regions.labels > 0)
    _, nearest = cv2.distanceTransformWithLabels(
        (~owned).astype(np.uint8), cv2.DIST_L2, 3, labelType=cv2.DIST_LABEL_PIXEL
    )
    owner = np.zeros(int(nearest.max()) + 1, np.int32)
    owner[nearest[owned]] = fades[owned]
    return np.asarray(owner[nearest])
