"""White under inks that do not cover, drawn in so that it never shows beside them."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from artcheck.imaging.discs import grown, shrunk

Mask = NDArray[np.bool_]

UNDERBASE_NAME = "White underbase"

WHITE_LAB = (95.0, 0.0, -2.0)
"""A usual opaque white ink (D50, 2 degrees; common practice): for showing it on a screen only."""

LOST_UNDERBASE_SHARE = 0.005
"""Part of the inked area without white from which the designer is told: half a per cent, about
what pixel corners alone make up (own reckoning)."""


def underbase(plates: Sequence[Mask], choke_px: float) -> Mask:
    """(H, W) bool: everything that any ink covers, drawn in by the choke on every side.

    The white may then shift by the choke in any direction and still lies under ink. Dots of a
    halftone are drawn in like any other shape.
    """
    covered = np.logical_or.reduce(list(plates))
    return covered if choke_px == 0 else shrunk(covered, choke_px)


def uncovered_share(plates: Sequence[Mask], white: Mask, choke_px: float) -> float:
    """Part of the inked area that lies farther from white than the choke explains, 0-1.

    Lines thinner than twice the choke keep no white at all: there the garment shows through.
    """
    covered = np.logical_or.reduce(list(plates))
    inked = int(np.count_nonzero(covered))
    # One pixel more than the choke: corners of a pixel grid are cut by the disc.
    reached = grown(white, choke_px * 2**0.5 + 1)
    return int(np.count_nonzero(covered & ~reached)) / inked if inked else 0.0


def thin_warning(lost: float, choke_pt: float) -> str:
    """What is told where ``lost``, a share of the inked area, has no white under it."""
    return (
        f"{lost:.1%} of the inked area has no white under it: lines thinner than"
        f" {2 * choke_pt:g} pt keep none after the choke of {choke_pt:g} pt. Widen them, or ask for"
        " a smaller choke."
    )
