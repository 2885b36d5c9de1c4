"""The shared full-resolution passes over one artwork, each made once and on demand."""

from __future__ import annotations

from functools import cached_property
from typing import TYPE_CHECKING

import cv2
import numpy as np
from numpy.typing import NDArray

from artcheck.colour.spaces import hex_to_srgb8
from artcheck.domain.artwork import Artwork
from artcheck.domain.base import Box
from artcheck.errors import NothingToPrintError
from artcheck.imaging.blocks import BAND_ROWS
from artcheck.imaging.components import Pieces, pieces_and_holes
from artcheck.measure.coverage import OPAQUE, unmixed

if TYPE_CHECKING:
    from artcheck.measure.tone import ToneMap

INKED_FROM = 128
"""Coverage from which a pixel belongs to the ink: half."""

BESIDE_INK_FROM = 64
"""Coverage from which a pixel beside the ink is printed: a quarter, the rim of a point or curve."""

VISIBLE_FROM = 8
"""Coverage under which a pixel is a stray: 3 % of ink is not seen on cloth."""


class Scan:
    """One artwork's passes. Dies after `measure`; arrays are read-only."""

    def __init__(self, artwork: Artwork) -> None:
        self.artwork = artwork
        self.rgb: NDArray[np.uint8] = artwork.rgb
        self.alpha: NDArray[np.uint8] | None = artwork.alpha

    @cached_property
    def paper_rgb(self) -> tuple[int, int, int] | None:
        """The removed paper's colour, sRGB 0-255; None where no paper was removed."""
        background = self.artwork.background
        if background.kind != "removed" or background.hex is None:
            return None
        return hex_to_srgb8(background.hex)

    @cached_property
    def coverage(self) -> NDArray[np.uint8]:
        """(H, W) uint8, share of each pixel that ink covers, 0-255.

        Alpha for transparent art; for removed paper 0 on paper, 255 inside the art, and on the rim
        the share of the mixture between the paper and the nearest full ink; 255 everywhere for art
        whose background is kept.
        """
        paper = self.artwork.paper
        if self.alpha is not None:
            share = self.alpha if paper is None else np.where(paper, np.uint8(0), self.alpha)
        elif paper is None or self.paper_rgb is None:
            share = np.full(self.rgb.shape[:2], OPAQUE, np.uint8)
        else:
            share = unmixed(self.rgb, paper, self.paper_rgb)
        share.setflags(write=False)
        return share

    @cached_property
    def ink(self) -> NDArray[np.uint8]:
        """(H, W) uint8, 1 where at least half of the pixel is inked, else 0."""
        binary = cv2.threshold(self.coverage, INKED_FROM - 1, 1, cv2.THRESH_BINARY)[1]
        mask = np.asarray(binary, np.uint8)
        mask.setflags(write=False)
        return mask

    @cached_property
    def box(self) -> Box:
        """What is printed, trimmed.

        With transparency, the box of all visible coverage, glows included; on removed paper that
        of the ink and of partly covered pixels beside it, since faint coverage elsewhere is noise
        of the paper.

        Raises
        ------
        NothingToPrintError
            Nothing is covered.
        """
        height = len(self.coverage)
        bands = [(top, min(top + BAND_ROWS, height)) for top in range(0, height, BAND_ROWS)]
        found = [(top, cv2.boundingRect(self._visible(top, end))) for top, end in bands]
        boxes = [
            (top + row, col, top + row + high, col + wide)
            for top, (col, row, wide, high) in found
            if wide
        ]
        if not boxes:
            raise NothingToPrintError(
                f"{self.artwork.name} holds nothing to print: every pixel is transparent or paper."
                " Send the file that shows the art."
            )
        row0, col0, row1, col1 = zip(*boxes, strict=True)
        return int(min(row0)), int(min(col0)), int(max(row1)), int(max(col1))

    def _visible(self, top: int, end: int) -> NDArray[np.uint8]:
        """(end - top, W) uint8, 1 where one of these rows is printed; see `box`."""
        coverage = self.coverage[top:end]
        if self.artwork.paper is None:
            visible = cv2.threshold(coverage, VISIBLE_FROM - 1, 1, cv2.THRESH_BINARY)[1]
            return np.asarray(visible, np.uint8)
        partly = cv2.threshold(coverage, BESIDE_INK_FROM - 1, 1, cv2.THRESH_BINARY)[1]
        first = max(top - 1, 0)
        beside = cv2.dilate(self.ink[first : end + 1], np.ones((3, 3), np.uint8))
        return np.asarray(cv2.bitwise_and(partly, beside[top - first :][: end - top]), np.uint8)

    @cached_property
    def pieces(self) -> tuple[Pieces, Pieces]:
        """Connected pieces of the ink in `box` and the holes in them; places from its corner."""
        row0, col0, row1, col1 = self.box
        return pieces_and_holes(self.ink[row0:row1, col0:col1])

    @cached_property
    def tone_map(self) -> ToneMap:
        """Where the art fades and where it is a photograph, at reduced size."""
        from artcheck.measure.tone import map_tone

        return map_tone(self)
