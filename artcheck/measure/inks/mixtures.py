"""Whether a pixel is a mixture of the inks around it."""

from __future__ import annotations

from itertools import combinations

import numpy as np
from numpy.typing import NDArray

from artcheck.measure.inks.working import Floats

Places = NDArray[np.intp]
LabelMap = NDArray[np.int16]

REACH_PX = 4
"""How far an ink may lie from a pixel that is a mixture with it."""

DIRECTIONS = ((0, 1), (1, 1), (1, 0), (1, -1), (0, -1), (-1, -1), (-1, 0), (-1, 1))
"""(down, right), around the compass: number i and i + 4 are opposite."""

OPPOSITE = tuple((i, i + 4) for i in range(4))
ANY_TWO = tuple(combinations(range(8), 2))


def inks_around(places: Places, labels: LabelMap) -> LabelMap:
    """The first known ink met in each of the eight `DIRECTIONS`, within `REACH_PX`.

    Parameters
    ----------
    places
        (n,) flat indices into ``labels``.
    labels
        (h, w) int16: 0 where no ink is known, else 1 + its index.

    Returns
    -------
    (n, 8) int16, 0 where none is met.
    """
    height, width = labels.shape
    rows, cols = np.divmod(places, width)
    around = np.zeros((len(places), len(DIRECTIONS)), np.int16)
    for column, (down, right) in zip(around.T, DIRECTIONS, strict=True):
        for step in range(1, REACH_PX + 1):
            r = np.clip(rows + step * down, 0, height - 1)
            c = np.clip(cols + step * right, 0, width - 1)
            np.copyto(column, labels[r, c], where=column == 0)
    return around


def mixture_distance(
    values: Floats,
    around: LabelMap,
    inks: Floats,
    pairs: tuple[tuple[int, int], ...],
    *,
    apart: bool,
) -> Floats:
    """How far each pixel is from the mixtures of two inks that it lies between.

    Parameters
    ----------
    values
        (n, 3) float32 colours, 0-255.
    around
        (n, 8) from `inks_around`.
    inks
        (k, 3) float32 colours of the inks.
    pairs
        Directions whose inks may mix: `OPPOSITE` or `ANY_TWO`.
    apart
        Light and colour may mix in different shares; see `from_mixture`.

    Returns
    -------
    (n,) float32, codes: root of the summed squares over the channels; infinite where no pair has
    two inks.
    """
    best = np.full(len(values), np.inf, np.float32)
    for one, other in pairs:
        both = np.flatnonzero((around[:, one] > 0) & (around[:, other] > 0))
        if both.size:
            start, end = inks[around[both, one] - 1], inks[around[both, other] - 1]
            off, _ = from_mixture(values[both], start, end, apart=apart)
            best[both] = np.minimum(best[both], off)
    return best


def from_mixture(
    values: Floats, start: Floats, end: Floats, *, apart: bool
) -> tuple[Floats, Floats]:
    """Distance of each value from the mixtures of two colours, and the second one's share (0-1).

    ``apart``: light and colour may mix in different shares, as they do in JPEG files, which store
    colour more coarsely, so that it runs over an edge where light does not.
    """
    if not apart:
        off, share = _from_segment(values, start, end)
        return np.sqrt(off), share
    colour, _ = _from_segment(*(_without_light(each) for each in (values, start, end)))
    light, share = _from_segment(*(each @ LIGHT[:, None] for each in (values, start, end)))
    return np.sqrt(colour + EVEN_LIGHT * light), share


LIGHT = np.array([0.299, 0.587, 0.114], np.float32)
"""Luma of JPEG (ITU-R BT.601)."""

EVEN_LIGHT = 3.0
"""An even change of three channels by 1 is a distance of the root of 3."""


def _without_light(rgb: Floats) -> Floats:
    return rgb - (rgb @ LIGHT)[..., None]


def _from_segment(values: Floats, start: Floats, end: Floats) -> tuple[Floats, Floats]:
    """Squared distance of each value from its segment, and how far along it is nearest (0-1)."""
    axis = end - start
    length = np.maximum((axis * axis).sum(axis=-1), 1e-6)
    along = np.clip(((values - start) * axis).sum(axis=-1) / length, 0, 1)
    off = values - start - along[..., None] * axis
    return (off * off).sum(axis=-1).astype(np.float32), along.astype(np.float32)
