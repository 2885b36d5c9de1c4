"""The shared full-resolution passes over one artwork, each made once and on demand."""

from __future__ import annotations

from functools import cached_property
from typing import TYPE_CHECKING

import cv2
import numpy as np
from numpy.typing import NDArray

from artcheck.domain.artwork import Artwork
from artcheck.domain.base import Box
from artcheck.errors import NothingToPrintError

if TYPE_CHECKING:
    from artcheck.measure.tone import ToneMap

OPAQUE = 255
INKED_FROM = 128
"""Coverage from which a pixel belongs to the ink: half."""

VISIBLE_FROM = 8
"""Coverage under which a pixel is a stray: 3 % of ink is not seen on cloth."""

RIM_PX = 2
"""How far from paper a pixel can still be a blend with it: an anti-aliased edge covers one pixel,
a resampled one two."""

BLOCK_PX = 18
"""How far from an edge JPEG ripples reach: a block of 16 pixels (4:2:0 chroma) and its rim."""

FAINT_CODES = 30.0
"""Distance from paper in sRGB codes under which a coreless pixel is noise of the paper."""

RIPPLE_SHARE = 0.4
"""Contrast to paper, relative to the ink nearby, under which a coreless pixel is a ripple."""


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
        code = background.hex.lstrip("#")
        red, green, blue = (int(code[i : i + 2], 16) for i in (0, 2, 4))
        return red, green, blue

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
            share = _unmixed(self.rgb, paper, self.paper_rgb)
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
        of the ink, since faint coverage there is noise of the paper.

        Raises
        ------
        NothingToPrintError
            Nothing is covered.
        """
        if self.artwork.paper is None:
            visible = cv2.threshold(self.coverage, VISIBLE_FROM - 1, 1, cv2.THRESH_BINARY)[1]
        else:
            visible = self.ink
        col0, row0, width, height = cv2.boundingRect(visible)
        if width == 0:
            raise NothingToPrintError(
                f"{self.artwork.name} holds nothing to print: every pixel is transparent or paper."
                " Send the file that shows the art."
            )
        return int(row0), int(col0), int(row0 + height), int(col0 + width)

    @cached_property
    def tone_map(self) -> ToneMap:
        """Where the art fades and where it is a photograph, at reduced size."""
        from artcheck.measure.tone import map_tone

        return map_tone(self)


def _unmixed(
    rgb: NDArray[np.uint8], paper: NDArray[np.bool_], paper_rgb: tuple[int, int, int]
) -> NDArray[np.uint8]:
    """Coverage of opaque art from its mixture with paper, exact for a linear blend."""
    inked = np.where(paper, np.uint8(0), np.uint8(1))
    size = 2 * RIM_PX + 1
    square = np.ones((size, size), np.uint8)
    core = np.asarray(cv2.erode(inked, square, borderValue=1), np.uint8)
    coverage: NDArray[np.uint8] = core * np.uint8(OPAQUE)
    rows, cols = np.nonzero(inked != core)
    if rows.size == 0:
        return coverage
    full = _nearest_full_ink(rgb, inked, core, rows, cols, np.asarray(paper_rgb, np.float32))
    coverage[rows, cols] = _share_of_mixture(rgb[rows, cols], full, paper_rgb)
    return coverage


def _nearest_full_ink(
    rgb: NDArray[np.uint8],
    inked: NDArray[np.uint8],
    core: NDArray[np.uint8],
    rows: NDArray[np.intp],
    cols: NDArray[np.intp],
    paper: NDArray[np.float32],
) -> NDArray[np.float32]:
    """(N, 3) the full ink behind each rim pixel.

    That of the nearest core pixel; on strokes too thin for a core, the pixel of the neighbourhood
    that differs most from paper.
    """
    source, distance = _nearest_core(core, rows, cols)
    full = rgb.reshape(-1, 3)[source].astype(np.float32)
    far = np.flatnonzero(distance > RIM_PX + 1.5)
    if far.size:
        own = _most_inked(rgb, inked, rows[far], cols[far], paper)
        contrast = np.sqrt(np.square(own - paper).sum(axis=1))
        nearby = np.sqrt(np.square(full[far] - paper).sum(axis=1))
        # Ripples of compression are faint, or stand beside strong ink: they are no thin strokes.
        beside = (distance[far] <= BLOCK_PX) & (contrast < RIPPLE_SHARE * nearby)
        ripple = beside | (contrast < FAINT_CODES)
        full[far[~ripple]] = own[~ripple]
    return full


def _nearest_core(
    core: NDArray[np.uint8], rows: NDArray[np.intp], cols: NDArray[np.intp]
) -> tuple[NDArray[np.intp], NDArray[np.float32]]:
    """Flat index of the nearest core pixel and its distance in px, for each rim pixel."""
    if not core.any():
        return rows * core.shape[1] + cols, np.full(rows.size, np.inf, np.float32)
    found, labels = cv2.distanceTransformWithLabels(
        1 - core, cv2.DIST_L2, 5, labelType=cv2.DIST_LABEL_PIXEL
    )
    distance = np.asarray(found, np.float32)
    places = np.flatnonzero(core)
    index_of_label = np.zeros(int(labels.max()) + 1, np.intp)
    index_of_label[labels.ravel()[places]] = places
    return index_of_label[labels[rows, cols]], distance[rows, cols]


def _most_inked(
    rgb: NDArray[np.uint8],
    inked: NDArray[np.uint8],
    rows: NDArray[np.intp],
    cols: NDArray[np.intp],
    paper: NDArray[np.float32],
) -> NDArray[np.float32]:
    """(N, 3) the neighbour within `RIM_PX` that lies farthest from paper."""
    height, width = inked.shape
    best = rgb[rows, cols].astype(np.float32)
    best_apart = np.square(best - paper).sum(axis=1)
    steps = range(-RIM_PX, RIM_PX + 1)
    for down in steps:
        for right in steps:
            r = np.clip(rows + down, 0, height - 1)
            c = np.clip(cols + right, 0, width - 1)
            here = rgb[r, c].astype(np.float32)
            apart = np.square(here - paper).sum(axis=1)
            better = apart > best_apart
            best[better], best_apart[better] = here[better], apart[better]
    return best


def _share_of_mixture(
    mixed: NDArray[np.uint8], full: NDArray[np.float32], paper_rgb: tuple[int, int, int]
) -> NDArray[np.uint8]:
    """Projection of each mixed colour on the line from paper to its full ink, as 0-255."""
    paper = np.asarray(paper_rgb, np.float32)
    axis = full - paper
    length = np.maximum(np.square(axis).sum(axis=1), 1.0)
    share = ((mixed.astype(np.float32) - paper) * axis).sum(axis=1) / length
    codes: NDArray[np.uint8] = np.rint(np.clip(share, 0, 1) * OPAQUE).astype(np.uint8)
    return codes
