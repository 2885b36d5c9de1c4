"""Patches of one colour: where a pixel and its neighbours agree, they show an ink unmixed."""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from artcheck.imaging.level import spread
from artcheck.measure.inks.working import Bytes, Floats, Picture


@dataclass(frozen=True, slots=True, eq=False)
class Patches:
    """Patches of one colour each.

    ``rgb`` (n, 3) float32 mean colours; ``area`` (n,) pixels; ``labels`` (h, w) int32, 0 outside
    every patch, n + 1 in patch n.
    """

    rgb: Floats
    area: NDArray[np.intp]
    labels: NDArray[np.int32]


def exact_patches(picture: Picture, free: Bytes) -> Patches:
    """One patch for each colour that fills a square of 2 x 2 pixels exactly.

    Anti-aliasing never does: its mixtures are one pixel wide along straight edges.
    """
    level = np.asarray(cv2.inRange(spread(picture.rgb, picture.visible, 2), 0, 0), np.uint8)
    # A pixel belongs to a level square if any of the four that hold it is level.
    around = cv2.dilate(level, np.ones((2, 2), np.uint8), anchor=(0, 0))
    core = np.asarray(cv2.bitwise_and(around, around, mask=free), np.uint8)
    labels = np.zeros(core.shape, np.int32)
    chosen = np.flatnonzero(core)
    if not chosen.size:
        return Patches(np.zeros((0, 3), np.float32), np.zeros(0, np.intp), labels)
    colours, index, area = _unique_colours(_keys(picture.rgb)[chosen])
    labels.ravel()[chosen] = index + 1
    return Patches(colours.astype(np.float32), area, labels)


def _keys(rgb: Bytes) -> NDArray[np.int32]:
    """(h * w,) each pixel's colour as one number, red first."""
    return cv2.cvtColor(rgb, cv2.COLOR_RGB2BGRA).view("<i4").ravel() & 0xFFFFFF


def _unique_colours(
    key: NDArray[np.int32],
) -> tuple[Bytes, NDArray[np.intp], NDArray[np.intp]]:
    """Distinct colours of `_keys`, each one's index among them, and counts; quick on long runs."""
    starts = np.flatnonzero(np.concatenate([[True], np.diff(key) != 0]))
    runs, inverse = np.unique(key[starts], return_inverse=True)
    lengths = np.diff(np.append(starts, key.size))
    area = np.bincount(inverse, weights=lengths).astype(np.intp)
    colours = np.stack([runs >> 16, (runs >> 8) & 255, runs & 255], axis=1).astype(np.uint8)
    return colours, np.repeat(inverse, lengths), area


def smooth_patches(picture: Picture, free: Bytes, tolerance: int) -> Patches:
    """Connected areas of ``free`` pixels whose 3 x 3 surroundings spread ``tolerance`` at most."""
    level = cv2.inRange(spread(picture.rgb, picture.visible, 3), 0, tolerance)
    core = np.asarray(cv2.bitwise_and(level, level, mask=free), np.uint8)
    count, found = cv2.connectedComponents(core, connectivity=4, ltype=cv2.CV_32S)
    labels = np.asarray(found, np.int32)
    flat = labels.ravel()
    area = np.bincount(flat, minlength=count)[1:]
    sums = [np.bincount(flat, picture.rgb[..., c].ravel(), count)[1:] for c in range(3)]
    rgb = np.stack(sums, axis=1) / np.maximum(area, 1)[:, None]
    return Patches(rgb.astype(np.float32), area, labels)
