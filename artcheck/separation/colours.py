"""The colours of an art and how much of it each covers: what an ink palette is chosen for."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from artcheck.colour.difference import delta_e_2000_single
from artcheck.colour.spaces import srgb8_to_lab
from artcheck.domain.artwork import Cutout
from artcheck.domain.base import Lab
from artcheck.domain.measurements import InkMeasured, Measurements

FADE_STEPS = 9
"""Colours that stand for a fade, its ends among them: a fade of 24 CIEDE2000 in steps of 3."""

MOST_COLOURS = 160
"""Colours kept of a picture's histogram: beyond, near ones are put together."""

BITS = 5
"""Bits a channel of the histogram: bins are 8 codes wide, their mean colour is kept."""

LEVEL_CODES = 12
"""Spread of 3 x 3 pixels, in codes, under which they are one surface and not an edge."""

SOLID_COVERAGE = 250
"""Coverage, of 255, from which a pixel shows its ink and nothing else."""


@dataclass(frozen=True, slots=True, eq=False)
class ArtColours:
    """Colours of an art.

    Attributes
    ----------
    lab
        (n, 3) float64.
    share
        (n,) float64, share of the ink area, sums to 1.
    region_share
        (n,) float64, share of the whole region that shows the colour: for a solid its own, for a
        colour of a fade the fade's.
    """

    lab: NDArray[np.float64]
    share: NDArray[np.float64]
    region_share: NDArray[np.float64]


def art_colours(measured: Measurements) -> ArtColours:
    """The measured inks with their shares; each fade as the range of colours it runs through.

    Records only. A fade's ends are known, not which two belong together: ends of like share are
    taken for a pair, one left over runs to the solid nearest in colour.
    """
    inks = measured.inks.inks
    fades = list(_fades(inks))
    taken = {id(end) for pair in fades for end in pair if end.is_fade_end}
    rows = [(ink.lab, ink.share, ink.share) for ink in inks if id(ink) not in taken]
    for one, other in fades:
        share = sum(end.share for end in (one, other) if end.is_fade_end)
        rows += [(lab, share / FADE_STEPS, share) for lab in _range(one.lab, other.lab)]
    return _colours(rows)


def _colours(rows: Sequence[tuple[Lab, float, float]]) -> ArtColours:
    share = np.array([row[1] for row in rows], np.float64)
    total = max(float(share.sum()), 1e-12)
    return ArtColours(
        lab=np.array([row[0] for row in rows], np.float64).reshape(-1, 3),
        share=share / total,
        region_share=np.array([row[2] for row in rows], np.float64) / total,
    )


def _fades(inks: Sequence[InkMeasured]) -> Iterator[tuple[InkMeasured, InkMeasured]]:
    ends = [ink for ink in inks if ink.is_fade_end]
    solids = [ink for ink in inks if not ink.is_fade_end]
    while ends:
        one = ends.pop(0)
        if ends:
            other = min(ends, key=lambda end: abs(end.share - one.share))
            ends.remove(other)
        elif solids:
            other = min(solids, key=lambda solid: delta_e_2000_single(solid.lab, one.lab))
        else:
            return
        yield one, other


def _range(one: Lab, other: Lab) -> list[Lab]:
    steps = np.linspace(one, other, FADE_STEPS)
    return [(float(c), float(a), float(b)) for c, a, b in steps]


def pixel_colours(cutout: Cutout) -> ArtColours:
    """The colours of the pixels that are no edge, most area first: for photographs and fades.

    At most `MOST_COLOURS`; more are put together by k-means in CIELAB, weighted by area.
    """
    row0, col0, row1, col1 = cutout.box
    rgb = np.ascontiguousarray(cutout.rgb[row0:row1, col0:col1])
    coverage = cutout.coverage[row0:row1, col0:col1]
    solid = coverage >= SOLID_COVERAGE
    square = np.ones((3, 3), np.uint8)
    spread = cv2.subtract(cv2.dilate(rgb, square), cv2.erode(rgb, square)).max(axis=2)
    level = solid & (spread <= LEVEL_CODES)
    chosen = rgb[level if level.any() else (solid if solid.any() else coverage > 0)]
    colours, counts = _histogram(chosen)
    lab = np.asarray(srgb8_to_lab(colours, np.float64), np.float64)
    lab, counts = _put_together(lab, counts)
    order = np.argsort(-counts, kind="stable")
    share = counts[order] / max(float(counts.sum()), 1e-12)
    return ArtColours(lab=lab[order], share=share, region_share=share)


def _histogram(pixels: NDArray[np.uint8]) -> tuple[NDArray[np.uint8], NDArray[np.float64]]:
    """Mean colour and number of pixels of each bin that holds any."""
    codes = (pixels >> (8 - BITS)).astype(np.int32)
    bins = (codes[:, 0] << 2 * BITS) | (codes[:, 1] << BITS) | codes[:, 2]
    size = 1 << 3 * BITS
    counts = np.bincount(bins, minlength=size)
    sums = np.stack([np.bincount(bins, pixels[:, c], size) for c in range(3)], axis=1)
    held = counts > 0
    means = sums[held] / counts[held, None]
    return np.rint(means).astype(np.uint8), counts[held].astype(np.float64)


def _put_together(
    lab: NDArray[np.float64], counts: NDArray[np.float64]
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    if len(lab) <= MOST_COLOURS:
        return lab, counts
    from sklearn.cluster import KMeans

    found = KMeans(MOST_COLOURS, n_init=1, random_state=0, max_iter=50).fit(
        lab, sample_weight=counts
    )
    weights = np.bincount(found.labels_, counts, MOST_COLOURS).astype(np.float64)
    held = weights > 0
    return np.asarray(found.cluster_centers_, np.float64)[held], weights[held]
