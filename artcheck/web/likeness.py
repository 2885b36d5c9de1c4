"""A fingerprint of how art looks, so that the same art is known again in another file."""

from __future__ import annotations

import cv2
import numpy as np

from artcheck.domain.artwork import Cutout

SIDE_PX = 32
"""The art is looked at this small: detail that saving and scaling change is gone."""

WAVES = 8
"""Slowest waves kept along each side: 8 x 8, so 64 bits less the mean."""

ALIKE_BITS = 8
"""Bits of 63 that may differ: two files of one art differ in few, two arts in about half
(own choice; tests/web/test_likeness.py holds both sides)."""

_GREY = 128


def fingerprint(cutout: Cutout) -> int:
    """64 bits: which of the slowest waves of the trimmed art's lightness are above their median.

    The art lies on mid grey; its shape (width to height) is no part of it.
    """
    row0, col0, row1, col1 = cutout.box
    grey = cv2.cvtColor(cutout.rgb[row0:row1, col0:col1], cv2.COLOR_RGB2GRAY)
    share = cutout.coverage[row0:row1, col0:col1].astype(np.float32) / 255
    laid = grey * share + _GREY * (1 - share)
    small = cv2.resize(laid.astype(np.float32), (SIDE_PX, SIDE_PX), interpolation=cv2.INTER_AREA)
    waves = np.asarray(cv2.dct(small)[:WAVES, :WAVES]).ravel()
    waves[0] = 0.0  # the mean: nearly the same in all art
    bits = waves > np.median(waves[1:])
    bits[0] = False
    return int.from_bytes(np.packbits(bits).tobytes(), "big")


def alike(one: int, other: int) -> bool:
    """Whether two fingerprints are of the same art."""
    return (one ^ other).bit_count() <= ALIKE_BITS
