"""Inks that turn out to be blends once all their neighbours are known."""

from __future__ import annotations

import cv2
import numpy as np
from numpy.typing import NDArray

from artcheck.measure.inks.mixtures import Explained, explain, inks_around
from artcheck.measure.inks.palette import Palette, blending_of
from artcheck.measure.inks.working import Picture

SMALL_SHARE = 0.06
"""Share of the ink area above which no blend of two inks gets."""

SOLID_SHARE = 0.15
"""Share of an ink's pixels that lie inside it (all eight neighbours its own) from which it is no
rim of others."""

BLEND_CODES = (6.0, 16.0)
"""How far a blend may be off in clean and in noisy art."""

BLENDED_SHARE = 0.5
"""Share of its pixels that must be blends."""


def drop_blends(palette: Palette, picture: Picture) -> None:
    """Give the area of thin small inks that lie between two others back to these."""
    total = sum(palette.area[1 if palette.has_paper else 0 :])
    order = np.argsort(palette.area, kind="stable")
    for ink in order:
        if palette.area[ink] <= 0 or (ink == 0 and palette.has_paper):
            continue
        if palette.area[ink] > SMALL_SHARE * total or _is_solid(palette, int(ink)):
            continue
        _try_drop(palette, picture, int(ink))


def _is_solid(palette: Palette, ink: int) -> bool:
    mask = (palette.labels == ink + 1).view(np.uint8)
    inside = cv2.erode(mask, np.ones((3, 3), np.uint8), borderValue=0)
    return cv2.countNonZero(inside) > SOLID_SHARE * max(1, cv2.countNonZero(mask))


def _try_drop(palette: Palette, picture: Picture, ink: int) -> None:
    mine = palette.labels == ink + 1
    places = np.flatnonzero(mine)
    if not places.size:
        return
    without = np.where(mine, np.int16(0), palette.labels)
    values = picture.rgb.reshape(-1, 3)[places].astype(np.float32)
    around = inks_around(places, without)
    found = explain(values, around, palette.colours, blending_of(picture))
    blended = (found.off < BLEND_CODES[picture.noisy]) & (found.first != found.second)
    if blended.mean() > BLENDED_SHARE:
        palette.labels = without
        if picture.noisy:
            palette.dropped[ink] = palette.area[ink]
        _give_back(palette, ink, found, blended)


def _give_back(palette: Palette, ink: int, found: Explained, blended: NDArray[np.bool_]) -> None:
    """Share the dropped ink's area out among the inks that it is a blend of."""
    count = len(palette.rgb)
    share = found.share[blended]
    parts = np.bincount(found.first[blended], 1 - share, count)
    parts += np.bincount(found.second[blended], share, count)
    area, palette.area[ink] = palette.area[ink], 0.0
    for other, part in enumerate(parts / parts.sum()):
        palette.area[other] += area * float(part)
