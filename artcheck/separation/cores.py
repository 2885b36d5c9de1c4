"""Pixels that show one colour with their neighbours, and the ink that prints each."""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from artcheck.colour.spaces import LUMA
from artcheck.domain.artwork import Cutout
from artcheck.domain.base import Box
from artcheck.imaging.level import is_noisy
from artcheck.separation.nearest_ink import NearestInk

Bytes = NDArray[np.uint8]
Floats = NDArray[np.float32]

SOLID = 255
"""Coverage of a pixel that is all ink."""

UNKNOWN = 254
"""Label of pixels that belong to no core."""

CLEAN_LEVEL, NOISY_LEVEL = 6, 18
"""Spread of neighbours, in codes, under which they show one colour: a fade of the whole range over
40 pixels is still level, a JPEG file of quality 60 wanders so far beside its edges."""

ALIKE_CODES = 12.0
"""How far a square of 2 x 2 pixels may be from every colour that fills 3 x 3 somewhere: two rows
that a line straddles are level too, in a colour that is none of the art's."""

REACH_PX = 6
"""How far around its box what lies right around the art is looked at: no colour mixes farther."""

SAME_LIGHT, BLED_COLOUR = 8.0, 40.0
"""Codes of light within which two inks can be mistaken where colour bleeds, and how far apart in
RGB. On 80 development drawings in JPEG 60 mean overlap was .9699 by 4 codes of light, .9714 by 8
and .9718 by 15; 60 apart did as 40."""

BLOCK_PX, RIM_SHARE = 8, 0.25
"""Side in pixels of a JPEG block: rims are thinner; and the least part of their surroundings that
the ink they belong to takes up (.4 lost .001 of that overlap, .12 nothing)."""


@dataclass(frozen=True, slots=True, eq=False)
class Art:
    """The art's box, with what lies right around it in the picture.

    ``mixed`` (h, w, 4) uint8 is the colour as it mixes with bare cloth, and the coverage; ``box``
    the art's box in these arrays.
    """

    rgb: Bytes
    coverage: Bytes
    mixed: Bytes
    noisy: bool
    box: Box


def art_of(cutout: Cutout) -> Art:
    """The outermost pixels of the art are mixed with paper that lies beyond its box."""
    row0, col0, row1, col1 = cutout.box
    top, left = max(row0 - REACH_PX, 0), max(col0 - REACH_PX, 0)
    around = np.s_[top : row1 + REACH_PX, left : col1 + REACH_PX]
    rgb = np.ascontiguousarray(cutout.rgb[around])
    coverage = np.ascontiguousarray(cutout.coverage[around])
    mixed = rgb
    if cutout.paper_hex is None:
        weight = cv2.cvtColor(coverage, cv2.COLOR_GRAY2RGB)
        mixed = np.asarray(cv2.multiply(rgb, weight, scale=1 / SOLID), np.uint8)
    else:
        coverage = _beside_paper(coverage)
    noisy = is_noisy(rgb, (coverage == SOLID).astype(np.uint8))
    box = row0 - top, col0 - left, row1 - top, col1 - left
    return Art(rgb, coverage, np.dstack([mixed, coverage]), noisy, box)


def _beside_paper(coverage: Bytes) -> Bytes:
    """Coverage where removed paper is within reach, all ink elsewhere.

    Where colours are mixed with paper, coverage was read from them; inside the art, without pure
    paper near, that is a guess that ringing of JPEG files can mislead.
    """
    reach = np.ones((2 * REACH_PX + 1,) * 2, np.uint8)
    near = cv2.dilate((coverage == 0).astype(np.uint8), reach)
    return np.where(near > 0, coverage, np.uint8(SOLID))


def core_labels(art: Art, nearest: NearestInk) -> Bytes:
    """(h, w) the ink of each pixel that shows one colour, `UNKNOWN` elsewhere."""
    labels = np.full(art.coverage.shape, UNKNOWN, np.uint8)
    sure = _level(art, 3)
    solid = art.coverage == SOLID
    _label(labels, art, sure & solid, nearest)
    labels[sure & (art.coverage == 0)] = nearest.bare
    if not art.noisy:
        likely = _level(art, 2) & solid & (labels == UNKNOWN)
        likely[likely] = _is_known(art.rgb[likely], art.rgb[sure & solid], nearest.rgb)
        _label(labels, art, likely, nearest)
    else:
        _take_back_bled_rims(labels, nearest)
    return labels


def _take_back_bled_rims(labels: Bytes, nearest: NearestInk) -> None:
    """Give rims that only colour sets apart to the ink that they are the rim of, in place.

    JPEG keeps light well and lets colour bleed over edges: there an ink can look like another of
    its own light. A rim is nowhere as wide as a block of the file, and lies along the other ink.
    """
    light = nearest.rgb @ np.array(LUMA, np.float32)
    alike = np.abs(light[:, None] - light) <= SAME_LIGHT
    apart = np.sqrt(np.square(nearest.rgb[:, None] - nearest.rgb).sum(axis=2))
    alike &= (apart > 0) & (apart <= BLED_COLOUR)
    for ink in np.flatnonzero(alike.any(axis=1)):
        pieces, thin = _pieces(labels == ink)
        touching = _touching(pieces, np.minimum(labels, nearest.bare + 1), len(thin))
        total = touching.sum(axis=1)
        touching = touching[:, : nearest.bare] * alike[ink]
        other = touching.argmax(axis=1).astype(np.uint8)
        bled = thin & (touching.max(axis=1) >= np.maximum(RIM_SHARE * total, 1))
        place = np.flatnonzero(bled[pieces])
        labels.ravel()[place] = other[pieces.ravel()[place]]


def _pieces(mask: NDArray[np.bool_]) -> tuple[NDArray[np.int32], NDArray[np.bool_]]:
    """(h, w) connected pieces, 0 beside them; and of each whether it holds no block's square."""
    ones = mask.view(np.uint8)
    count, pieces = cv2.connectedComponents(ones, connectivity=8)
    thin = np.ones(count, np.bool_)
    thin[0] = False
    thick = cv2.erode(ones, np.ones((BLOCK_PX, BLOCK_PX), np.uint8))
    thin[pieces[thick > 0]] = False
    return np.asarray(pieces, np.int32), thin


def _touching(pieces: NDArray[np.int32], labels: Bytes, count: int) -> NDArray[np.int_]:
    """(count, n) how many sides of pixels each piece shares with each of n labels."""
    kinds = int(labels.max()) + 1
    found = np.zeros(count * kinds, np.int_)
    for one, other in ((np.s_[:, :-1], np.s_[:, 1:]), (np.s_[:-1], np.s_[1:])):
        for here, there in ((one, other), (other, one)):
            place = np.flatnonzero((pieces[here] > 0) & (pieces[there] == 0))
            piece = pieces[here].ravel()[place].astype(np.int_)
            found += np.bincount(piece * kinds + labels[there].ravel()[place], minlength=found.size)
    return found.reshape(count, kinds)


def _label(labels: Bytes, art: Art, chosen: NDArray[np.bool_], nearest: NearestInk) -> None:
    rgb = art.rgb
    if art.noisy:
        rgb = np.asarray(cv2.blur(rgb, (3, 3)), np.uint8)
    if chosen.any():
        labels[chosen] = nearest.of(rgb[chosen])


def _level(art: Art, size: int) -> NDArray[np.bool_]:
    """Pixels of a ``size`` x ``size`` square whose spread is small; for 3 its middle alone."""
    square = np.ones((size, size), np.uint8)
    apart = cv2.subtract(cv2.dilate(art.mixed, square), cv2.erode(art.mixed, square))
    limit = NOISY_LEVEL if art.noisy else CLEAN_LEVEL
    level = (apart.max(axis=2) <= limit).astype(np.uint8)
    if size == 2:
        level = np.asarray(cv2.dilate(level, square, anchor=(0, 0)), np.uint8)
    return np.asarray(level > 0, np.bool_)


def _is_known(rgb: Bytes, sure: Bytes, inks: Floats) -> NDArray[np.bool_]:
    """Whether each colour is near one of those seen in cores, or of an ink."""
    known = np.concatenate([_common(sure), inks])
    keys, inverse = np.unique(rgb, axis=0, return_inverse=True)
    near = np.zeros(len(keys), np.bool_)
    for colour in known:
        near |= np.square(keys - colour).sum(axis=1) <= ALIKE_CODES**2
    return np.asarray(near[inverse.ravel()], np.bool_)


def _common(rgb: Bytes) -> Floats:
    """(n, 3) a colour for each bin of 16 codes that any of these falls in."""
    if not len(rgb):
        return np.zeros((0, 3), np.float32)
    bins = rgb.astype(np.int32) >> 4
    keys = (bins[:, 0] << 8) | (bins[:, 1] << 4) | bins[:, 2]
    counts = np.bincount(keys, minlength=4096)
    sums = np.stack([np.bincount(keys, rgb[:, c], 4096) for c in range(3)], axis=1)
    held = counts > 0
    return np.asarray(sums[held] / counts[held, None], np.float32)
