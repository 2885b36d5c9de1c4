"""Shapes grown and shrunk by a disc."""

from __future__ import annotations

import math

import cv2
import numpy as np
from numpy.typing import NDArray

Mask = NDArray[np.bool_]


def disc(radius_px: float) -> NDArray[np.uint8]:
    """(2r + 1, 2r + 1) uint8, 1 at offsets no longer than the radius."""
    reach = math.floor(radius_px)
    rows, cols = np.mgrid[-reach : reach + 1, -reach : reach + 1]
    return np.asarray(rows**2 + cols**2 <= radius_px**2, np.uint8)


def grown(mask: Mask, radius_px: float) -> Mask:
    """(H, W) bool: every pixel no farther from the mask than the radius, between centres."""
    spread = cv2.dilate(mask.view(np.uint8), disc(radius_px))
    return np.asarray(spread, np.uint8).view(np.bool_)


def shrunk(mask: Mask, radius_px: float) -> Mask:
    """(H, W) bool: pixels whose whole disc lies in the mask; nothing beyond the picture's edge."""
    kept = cv2.erode(
        mask.view(np.uint8), disc(radius_px), borderType=cv2.BORDER_CONSTANT, borderValue=(0,)
    )
    return np.asarray(kept, np.uint8).view(np.bool_)
