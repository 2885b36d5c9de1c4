"""Plates of flat art: each covered pixel to its nearest ink, at the plates' own resolution."""

from __future__ import annotations

from collections.abc import Sequence

import cv2
import numpy as np
from numpy.typing import NDArray

from artcheck.colour.spaces import hex_to_srgb8
from artcheck.domain.artwork import Cutout

BAND_ROWS = 256
"""Rows looked at together: keeps the Lab copy of a large picture small."""

HALF_COVERED = 128
"""Coverage (0-255) from which a pixel prints: a plate knows no half."""


def flat_plates(
    cutout: Cutout, inks: Sequence[str], size_px: tuple[int, int]
) -> list[NDArray[np.bool_]]:
    """One plate for each ink, without trapping, screens or cleaning.

    Parameters
    ----------
    inks
        ``#rrggbb`` (sRGB) of every ink of the art, also of those that are left open in the end:
        a pixel belongs to the ink nearest to it.
    size_px
        (width, height) of the plates.

    Returns
    -------
    list of (h, w) bool
        True where the ink prints.
    """
    labels = _labels(cutout, inks)
    if len(inks) == 1:
        row0, col0, row1, col1 = cutout.box
        return [_resized(cutout.coverage[row0:row1, col0:col1], size_px) >= HALF_COVERED]
    shares = [
        _resized(np.where(labels == number, np.uint8(255), np.uint8(0)), size_px)
        for number in range(len(inks) + 1)
    ]
    most = shares[0].copy()
    for share in shares[1:]:
        np.maximum(most, share, out=most)
    taken = np.zeros(most.shape, np.bool_)
    plates: list[NDArray[np.bool_]] = []
    for share in shares:  # the earlier ink wins where two have equal shares, so none overlap
        mine = (share == most) & ~taken & (share > 0)
        taken |= mine
        plates.append(mine)
    return plates[:-1]


def _labels(cutout: Cutout, inks: Sequence[str]) -> NDArray[np.uint8]:
    """(H, W) uint8: number of the nearest ink; ``len(inks)`` where nothing prints."""
    row0, col0, row1, col1 = cutout.box
    wanted = _lab(np.array([[hex_to_srgb8(ink) for ink in inks]], np.uint8))[0]
    labels = np.empty((row1 - row0, col1 - col0), np.uint8)
    for top in range(row0, row1, BAND_ROWS):
        rows = slice(top, min(top + BAND_ROWS, row1))
        lab = _lab(cutout.rgb[rows, col0:col1])
        distances = np.stack([np.square(lab - ink).sum(axis=2) for ink in wanted])
        nearest = distances.argmin(axis=0).astype(np.uint8)
        nearest[cutout.coverage[rows, col0:col1] < HALF_COVERED] = len(inks)
        labels[top - row0 : rows.stop - row0] = nearest
    return labels


def _lab(rgb: NDArray[np.uint8]) -> NDArray[np.float32]:
    """(h, w, 3) float32 CIELAB under D65 of sRGB, for comparing only."""
    scaled = np.ascontiguousarray(rgb, np.float32) / np.float32(255)
    return np.asarray(cv2.cvtColor(scaled, cv2.COLOR_RGB2Lab), np.float32)


def _resized(plane: NDArray[np.uint8], size_px: tuple[int, int]) -> NDArray[np.uint8]:
    smaller = size_px[0] < plane.shape[1]
    how = cv2.INTER_AREA if smaller else cv2.INTER_LINEAR
    return np.asarray(cv2.resize(np.ascontiguousarray(plane), size_px, interpolation=how), np.uint8)
