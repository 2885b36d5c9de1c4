"""The plan's nearest ink to any colour, or bare cloth."""

from __future__ import annotations

from collections.abc import Callable, Sequence

import numpy as np
from numpy.typing import NDArray

from artcheck.colour.difference import delta_e_2000
from artcheck.colour.spaces import hex_to_lab, lab_to_srgb8, srgb8_to_lab
from artcheck.domain.artwork import Cutout
from artcheck.domain.base import Lab
from artcheck.domain.separation import SpotInk

Bytes = NDArray[np.uint8]

PAPER_WITHIN = 5.0
"""CIEDE2000 to removed paper within which what was left of it prints in no ink (an ink that is
nearer still keeps it)."""

OTHER_COLOUR = 5.0
"""CIEDE2000 to the nearest ink beyond which the cloth may stand for a colour amid ink (common
practice: beyond this people call it another colour)."""

LUT_BITS = 6
"""Bits a channel in which colours are told apart when they get their ink."""


def bare_colours(
    cutout: Cutout, garment_lab: Lab | None, knock_out_within: float
) -> list[tuple[Lab, float]]:
    """Colours that are left to the cloth, and the CIEDE2000 within which they are."""
    found = []
    if garment_lab is not None:
        found.append((garment_lab, knock_out_within))
    if cutout.paper_hex is not None:
        found.append((hex_to_lab(cutout.paper_hex), PAPER_WITHIN))
    return found


class NearestInk:
    """The plan's nearest ink to any colour, or bare cloth where the garment is nearer still."""

    def __init__(
        self,
        inks: Sequence[SpotInk],
        bare_colours: Sequence[tuple[Lab, float]],
        garment_lab: Lab | None,
    ) -> None:
        self.bare = len(inks)
        self.labs = np.array([ink.lab for ink in inks], np.float64).reshape(-1, 1, 3)
        self.rgb = lab_to_srgb8(self.labs[:, 0]).astype(np.float32)
        self._bare_colours = bare_colours
        self._garment = garment_lab

    def of(self, rgb: Bytes) -> Bytes:
        """(n,) labels of (n, 3) colours."""
        return by_colour(rgb, self._of_few)

    def nearer_to_cloth(self, rgb: Bytes) -> NDArray[np.bool_]:
        """(n,) whether the garment is nearer to (n, 3) colours than any ink, and no ink near."""
        if self._garment is None:
            return np.zeros(len(rgb), np.bool_)
        return by_colour(rgb, self._cloth_is_nearer).view(np.bool_)

    def _of_few(self, rgb: Bytes) -> Bytes:
        lab = srgb8_to_lab(rgb, np.float64)
        apart = np.asarray(delta_e_2000(self.labs, lab[None]), np.float64)
        nearest = apart.argmin(axis=0).astype(np.uint8)
        for colour, within in self._bare_colours:
            bare = np.asarray(delta_e_2000(lab, np.array(colour)), np.float64)
            nearest[(bare <= within) & (bare < apart.min(axis=0))] = self.bare
        return np.asarray(nearest, np.uint8)

    def _cloth_is_nearer(self, rgb: Bytes) -> Bytes:
        lab = srgb8_to_lab(rgb, np.float64)
        apart = np.asarray(delta_e_2000(self.labs, lab[None]), np.float64).min(axis=0)
        cloth = np.asarray(delta_e_2000(lab, np.array(self._garment)), np.float64)
        return np.asarray((apart > OTHER_COLOUR) & (cloth < apart), np.bool_).view(np.uint8)


def by_colour(rgb: Bytes, answer: Callable[[Bytes], Bytes]) -> Bytes:
    """(n,) the answer for each of (n, 3) colours, asked once for each small bin of them."""
    bins = rgb.astype(np.int32) >> (8 - LUT_BITS)
    keys = (bins[:, 0] << 2 * LUT_BITS) | (bins[:, 1] << LUT_BITS) | bins[:, 2]
    size = 1 << 3 * LUT_BITS
    counts = np.bincount(keys, minlength=size)
    sums = np.stack([np.bincount(keys, rgb[:, c], size) for c in range(3)], axis=1)
    held = np.flatnonzero(counts)
    means = np.rint(sums[held] / counts[held, None]).astype(np.uint8)
    table = np.zeros(size, np.uint8)
    table[held] = answer(means)
    return np.asarray(table[keys], np.uint8)
