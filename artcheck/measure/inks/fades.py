"""Fades among the inks: left out of the count, then counted as the colours they run between."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import cv2
import numpy as np
from numpy.typing import NDArray

from artcheck.measure.inks.working import Picture

if TYPE_CHECKING:
    from artcheck.measure.scan import Scan

Rgb = tuple[int, int, int]


@dataclass(frozen=True, slots=True)
class FadeEnd:
    """One end of a fade: its colour and its part of the ink area (half of the fade's)."""

    rgb: Rgb
    share: float


def without_fades(picture: Picture, scan: Scan) -> Picture:
    """The picture with every fade hidden, so that its colours are not taken for solids."""
    mask = scan.tone_map.fade
    if not mask.any():
        return picture
    hidden = _over(picture, mask, scan)
    visible = np.where(hidden, np.uint8(0), picture.visible)
    coverage = np.where(hidden, np.uint8(0), picture.coverage)
    return replace(picture, visible=visible, coverage=coverage)


def _over(picture: Picture, mask: NDArray[np.bool_], scan: Scan) -> NDArray[np.bool_]:
    """The mask of the art's box laid over the working picture, which has a margin around it."""
    row0, col0, row1, col1 = scan.box
    top = round((row0 - picture.origin[0]) * picture.scale)
    left = round((col0 - picture.origin[1]) * picture.scale)
    height = max(round((row1 - row0) * picture.scale), 1)
    width = max(round((col1 - col0) * picture.scale), 1)
    resized = cv2.resize(mask.view(np.uint8), (width, height), interpolation=cv2.INTER_NEAREST)
    over = np.zeros(picture.visible.shape, np.bool_)
    room = over[top : top + height, left : left + width]
    room[:] = np.asarray(resized, np.uint8)[: room.shape[0], : room.shape[1]] > 0
    return over


def fade_ends(scan: Scan) -> list[FadeEnd]:
    """Both end colours of every fade, largest fade first."""
    return [
        FadeEnd(colour, fade.share / 2) for fade in scan.tone_map.fades for colour in fade.ends
    ]
