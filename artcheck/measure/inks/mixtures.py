"""Whether a pixel is a mixture of the two inks that it lies between."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from artcheck.measure.inks.working import Floats

REACH_PX = 4
"""How far an ink may lie from a pixel that is a mixture with it."""

AXES = ((0, 1), (1, 0), (1, 1), (1, -1))
"""Directions (down, right) along which a pixel looks both ways for the inks it lies between."""


def mixture_distance(
    values: Floats, places: NDArray[np.intp], labels: NDArray[np.int16], inks: Floats
) -> Floats:
    """How far each pixel is from a mixture of two inks that it lies between, in codes.

    Parameters
    ----------
    values
        (n, 3) float32 colours, 0-255.
    places
        (n,) flat indices into ``labels``.
    labels
        (h, w) int16: 0 where no ink is known, else 1 + its index.
    inks
        (k, 3) float32 colours of the inks.

    Returns
    -------
    (n,) float32: root of the summed squares over the channels; infinite where no axis has inks on
    both sides.
    """
    best = np.full(len(places), np.inf, np.float32)
    rows, cols = np.divmod(places, labels.shape[1])
    for down, right in AXES:
        one = _first_label(labels, rows, cols, down, right)
        other = _first_label(labels, rows, cols, -down, -right)
        both = np.flatnonzero((one > 0) & (other > 0))
        if both.size:
            apart = _from_segment(values[both], inks[one[both] - 1], inks[other[both] - 1])
            best[both] = np.minimum(best[both], apart)
    return best


def _first_label(
    labels: NDArray[np.int16], rows: NDArray[np.intp], cols: NDArray[np.intp], down: int, right: int
) -> NDArray[np.int16]:
    """The first known ink met from each place along one direction, 0 if none within reach."""
    height, width = labels.shape
    met = np.zeros(rows.size, np.int16)
    for step in range(1, REACH_PX + 1):
        r = np.clip(rows + step * down, 0, height - 1)
        c = np.clip(cols + step * right, 0, width - 1)
        met = np.where(met == 0, labels[r, c], met)
    return met


def _from_segment(values: Floats, start: Floats, end: Floats) -> Floats:
    """Distance of each value from its segment."""
    axis = end - start
    length = np.maximum((axis * axis).sum(axis=1), 1e-6)
    along = np.clip(((values - start) * axis).sum(axis=1) / length, 0, 1)
    off = values - start - along[:, None] * axis
    return np.asarray(np.sqrt((off * off).sum(axis=1)), np.float32)
