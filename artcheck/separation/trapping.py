"""The order of printing, and traps: touching inks overlap, so that a shifted plate opens no gap."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence

import cv2
import numpy as np
from numpy.typing import NDArray

from artcheck.domain.separation import NO_INK, SpotInk
from artcheck.imaging.discs import grown

Mask = NDArray[np.bool_]

_STEP = np.ones((3, 3), np.uint8)


def order_of_printing(inks: Sequence[SpotInk]) -> tuple[int, ...]:
    """Indices from light to dark: a trap then lies under the darker ink, where it is not seen."""
    return tuple(sorted(range(len(inks)), key=lambda i: (-inks[i].lab[0], inks[i].name)))


def solid_masks(
    labels: NDArray[np.uint8], order: Sequence[int], trap_px: float
) -> Iterator[tuple[int, Mask]]:
    """Each ink's solid with its spread under darker inks, in order of printing.

    Parameters
    ----------
    labels
        (H, W) uint8, index of the ink, `NO_INK` where no solid lies.
    order
        Indices from the first ink printed to the last.
    trap_px
        How far an ink reaches under those printed after it; 0 lets them butt.

    Yields
    ------
    tuple
        The ink's index and its (H, W) bool mask.

    Notes
    -----
    A spread ends at open garment: it covers only pixels that a later ink covers, and never jumps
    a gap to the ink on the other side. Wherever everything within ``trap_px`` of a pixel is
    inked, any one plate may shift by that much in any direction and the pixel stays covered: what
    it loses of one ink lies inside another's spread.
    """
    inked = labels != NO_INK
    later = inked.copy()
    for index in order:
        own = labels == index
        later &= ~own
        yield index, own if trap_px == 0 else own | _spread(own, later, inked, trap_px)


def _spread(own: Mask, later: Mask, inked: Mask, trap_px: float) -> Mask:
    """Pixels of later inks within the trap, reached without crossing open garment."""
    reached = own.view(np.uint8)
    for _ in range(math.ceil(trap_px)):
        stepped = np.asarray(cv2.dilate(reached, _STEP), np.uint8)
        reached = cv2.bitwise_and(stepped, inked.view(np.uint8))  # type: ignore[assignment]
    near = grown(own, trap_px)
    near &= np.asarray(reached, np.uint8).view(np.bool_)
    near &= later
    return near
