"""The picture that tone is read from: small, premultiplied, cut into regions along its edges."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import cv2
import numpy as np
from numpy.typing import NDArray

from artcheck.domain.base import Box
from artcheck.imaging.reduce import halved, may_halve

if TYPE_CHECKING:
    from artcheck.measure.scan import Scan

Floats = NDArray[np.floating]
Bools = NDArray[np.bool_]
Labels = NDArray[np.integer]
Bytes = NDArray[np.uint8]

WORKING_PX = 512
"""Longer side: fades and photographs are broad, and averaging takes noise and screens away."""

SPREAD_BIN = 2.0
"""Levels to a bin where spreads are read."""

SPREAD_ENDS = (0.05, 0.95)
"""Shares of a region between which its spread is taken: rims and specks stay outside."""

MIN_INNER_PX = 6
"""Working pixels off the edges that a region needs before it has a tone of its own."""


@dataclass(frozen=True, slots=True)
class Working:
    """The reduced picture.

    Attributes
    ----------
    picture
        (h, w, C) float32, 0-255: RGB, or RGB times coverage followed by coverage where the file is
        transparent, so that a fade of coverage is a fade like any other.
    coverage
        (h, w) float32, 0-1: share of each working pixel that is inked.
    scale
        Working pixels per file pixel, at most 1.
    """

    picture: Floats
    coverage: Floats
    scale: float


def reduce(scan: Scan) -> Working:
    """The art's box, averaged down to `WORKING_PX`."""
    row0, col0, row1, col1 = scan.box
    part = np.s_[row0:row1, col0:col1]
    scale = min(1.0, WORKING_PX / max(row1 - row0, col1 - col0))
    size = max(1, round((col1 - col0) * scale)), max(1, round((row1 - row0) * scale))
    coverage = _averaged(scan.coverage[part], size) / 255
    if scan.alpha is None:
        return Working(_averaged(scan.rgb[part], size), coverage, scale)
    # Premultiplied at a size between: averaging colour and coverage apart mixes in what lies
    # behind transparent pixels, and multiplying at full size costs a copy of the art.
    alpha = scan.alpha[part]
    between = tuple(
        min(side, 4 * small) for side, small in zip(alpha.shape[::-1], size, strict=True)
    )
    rgb = cv2.resize(scan.rgb[part], between, interpolation=cv2.INTER_NEAREST)
    share = cv2.resize(alpha, between, interpolation=cv2.INTER_NEAREST)
    rgb = cv2.multiply(rgb, cv2.merge([share, share, share]), scale=1 / 255)
    picture = np.dstack([_averaged(np.asarray(layer, np.uint8), size) for layer in (rgb, share)])
    return Working(np.asarray(picture, np.float32), coverage, scale)


def _averaged(array: Bytes, size: tuple[int, int]) -> Floats:
    """Area average as float32, the fraction of a level kept.

    Large art first goes down by a whole number, which is several times faster, and by halves before
    that; under one of its blocks at the far edges falls away.
    """
    while may_halve(array.shape, (2 * size[0], 2 * size[1])):
        array = halved(array)
    height, width = array.shape[:2]
    block = max(1, min(width // (2 * size[0]), height // (2 * size[1])))
    rows, cols = height // block, width // block
    first = cv2.resize(
        array[: rows * block, : cols * block], (cols, rows), interpolation=cv2.INTER_AREA
    )
    return np.asarray(cv2.resize(np.asarray(first, np.float32), size, interpolation=cv2.INTER_AREA))


def range_around(picture: Floats) -> Floats:
    """(h, w): the largest range of any channel within 3 x 3 pixels."""
    square = np.ones((3, 3), np.uint8)
    spread = cv2.dilate(picture, square) - cv2.erode(picture, square)
    first, *others = cv2.split(spread)
    for other in others:
        first = cv2.max(first, other)
    return np.asarray(first)


@dataclass(frozen=True, slots=True)
class Regions:
    """The picture cut along edges.

    ``labels`` (h, w) int32, 0 on edges; ``size`` and ``inner`` (n,) count all pixels and those off
    the edges by one; ``spread`` (n,) is the widest channel's range in levels, 0 where `inner` is
    under `MIN_INNER_PX`.
    """

    labels: Labels
    size: NDArray[np.intp]
    inner: NDArray[np.intp]
    spread: Floats


def cut(picture: Floats, free: Bools) -> Regions:
    """Connected regions of ``free`` pixels, with the spread of their colours."""
    open_px = free.astype(np.uint8)
    count, labels = cv2.connectedComponents(open_px, connectivity=4, ltype=cv2.CV_32S)
    inner = np.asarray(cv2.erode(open_px, np.ones((3, 3), np.uint8), borderValue=1), np.uint8)
    smooth = _smoothed_inside(picture, inner)
    chosen = np.flatnonzero(inner)
    label = np.asarray(labels.ravel()[chosen], np.intp)
    inner_count = np.bincount(label, minlength=count)
    spread = spread_of(smooth.reshape(-1, picture.shape[2])[chosen], label, count)
    return Regions(np.asarray(labels), np.bincount(labels.ravel()), inner_count, spread)


def spread_of(colours: Floats, label: NDArray[np.integer], count: int) -> Floats:
    """(count,) the widest channel's range of each label's colours, (n, C), in levels.

    0 for labels of under `MIN_INNER_PX` colours.
    """
    of = np.asarray(label, np.intp)
    members = np.bincount(of, minlength=count)
    spread = np.zeros(count, np.float32)
    for channel in range(colours.shape[1]):
        spread = np.maximum(spread, _spread(colours[:, channel], of, members))
    spread[members < MIN_INNER_PX] = 0
    return spread


def _smoothed_inside(picture: Floats, inside: Bytes) -> Floats:
    """Mean of the inside pixels within 5 x 5."""
    weight = inside.astype(np.float32)
    total = cv2.blur(picture * weight[..., None], (5, 5))
    share = cv2.blur(weight, (5, 5))
    return np.asarray(total / np.maximum(share, 1e-6)[..., None])


def _spread(values: Floats, label: NDArray[np.intp], count: NDArray[np.intp]) -> Floats:
    """(n,) range of each label's values between `SPREAD_ENDS`, in levels."""
    bins = int(256 / SPREAD_BIN)
    place = np.clip(values / SPREAD_BIN, 0, bins - 1).astype(np.intp)
    table = np.bincount(label * bins + place, minlength=count.size * bins)
    rising = np.cumsum(table.reshape(count.size, bins), axis=1)
    low, high = (_quantile(rising, share * count) for share in SPREAD_ENDS)
    return np.asarray((high - low) * SPREAD_BIN, np.float32)


def _quantile(rising: NDArray[np.intp], target: NDArray[np.floating]) -> NDArray[np.floating]:
    """(n,) bin position, with its fraction, where each row of running counts meets its target."""
    target = np.maximum(target, 0.5)
    at = np.argmax(rising >= target[:, None], axis=1)
    rows = np.arange(len(rising))
    before = np.where(at > 0, rising[rows, np.maximum(at - 1, 0)], 0)
    inside = np.maximum(rising[rows, at] - before, 1)
    return np.asarray(at + (target - before) / inside)


def place_of(members: NDArray[np.intp], working: Working, box: Box) -> Box:
    """The box in file pixels around working pixels given by their flat indices."""
    rows, cols = np.unravel_index(members, working.coverage.shape)
    low = np.array([rows.min(), cols.min()]) / working.scale
    high = np.array([rows.max() + 1, cols.max() + 1]) / working.scale
    return (
        box[0] + int(low[0]),
        box[1] + int(low[1]),
        min(box[2], box[0] + int(np.ceil(high[0]))),
        min(box[3], box[1] + int(np.ceil(high[1]))),
    )
