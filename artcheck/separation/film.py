"""Full-colour film: the art at exact size, its rim cleaned, and the white under it."""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from artcheck.colour.difference import delta_e_2000
from artcheck.colour.spaces import hex_to_srgb8, srgb8_to_lab
from artcheck.domain.artwork import Cutout
from artcheck.domain.base import Lab
from artcheck.domain.separating import FilmEdges
from artcheck.errors import NothingToPrintError
from artcheck.imaging.discs import disc
from artcheck.imaging.rims import ink_part
from artcheck.separation.plates import length_px
from artcheck.separation.proof import Proof, straight
from artcheck.separation.underbase import LOST_UNDERBASE_SHARE, thin_warning, uncovered_share

Bytes = NDArray[np.uint8]

INKED_FROM = 128
"""Coverage from which a pixel of a hard edge is inked: half."""

PARTLY = (8, 247)
"""Coverage that is neither bare nor full: 3 % is not seen on cloth."""

LOST_SHARE = 0.01
"""Softly covered ink, as a share of all, from which cutting it hard is told (own reckoning)."""

_LUT_BITS = 6
"""Bits a channel in which colours are compared with the garment: steps of 4 codes."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Film:
    """What a full-colour method prints. Arrays are read-only.

    Attributes
    ----------
    rgb
        (H, W, 3) uint8, sRGB, straight; black where nothing prints.
    alpha
        (H, W) uint8, share of ink, 0-255; only 0 and 255 for hard edges.
    white
        (H, W) uint8, share of white ink under it, 0-255.
    ppi, width_in, height_in
        Resolution and printed size.
    choke_pt
        How far the white is drawn in.
    warnings
        What the designer must know.
    """

    rgb: Bytes
    alpha: Bytes
    white: Bytes
    ppi: float
    width_in: float
    height_in: float
    choke_pt: float
    warnings: tuple[str, ...] = ()

    def __post_init__(self) -> None:
        for array in (self.rgb, self.alpha, self.white):
            array.setflags(write=False)

    @property
    def proof(self) -> Proof:
        """The film as it will look."""
        part = cv2.multiply(self.rgb, cv2.merge([self.alpha] * 3), scale=1 / 255)
        return Proof(part=np.asarray(part, np.uint8), coverage=self.alpha, ppi=self.ppi)


@dataclass(frozen=True, slots=True, kw_only=True)
class FilmSettings:
    """How the film is wanted.

    ``matte_hex`` is an earlier background whose colour the rim still carries; ``knock_out`` is the
    garment's colour, left open within ``knock_out_within`` (CIEDE2000), or None.
    """

    ppi: float
    width_in: float
    choke_pt: float
    edges: FilmEdges = "hard"
    matte_hex: str | None = None
    knock_out: Lab | None = None
    knock_out_within: float = 0.0


def make_film(cutout: Cutout, settings: FilmSettings) -> Film:
    """The art as a film printer takes it.

    Raises
    ------
    NothingToPrintError
        Nothing is left, say because all of it has the garment's colour.
    """
    row0, col0, row1, col1 = cutout.box
    height_in = settings.width_in * (row1 - row0) / (col1 - col0)
    size = (
        max(round(settings.width_in * settings.ppi), 1),
        max(round(height_in * settings.ppi), 1),
    )
    coverage = cutout.coverage[row0:row1, col0:col1]
    behind = cutout.paper_hex or settings.matte_hex
    part = ink_part(
        cutout.rgb[row0:row1, col0:col1], coverage, hex_to_srgb8(behind) if behind else None
    )
    rgb, alpha = _sized(part, coverage, size)
    warnings = []
    if settings.edges == "hard":
        cut = _partly(coverage)
        if cut > LOST_SHARE:
            warnings.append(
                f"{cut:.0%} of the ink was only partly opaque (soft rims, glows, shadows) and was"
                " cut hard at half. Keep it soft only if the printer takes soft edges."
            )
        alpha = np.where(alpha >= INKED_FROM, np.uint8(255), np.uint8(0))
    if settings.knock_out is not None:
        alpha = _knocked_out(rgb, alpha, settings.knock_out, settings.knock_out_within)
    if not alpha.any():
        raise NothingToPrintError(
            "No ink is left to print: all of the art is garment or nearly transparent."
            " Keep its edges soft, or do not knock the garment out."
        )
    white = _drawn_in(alpha, length_px(settings.choke_pt, settings.ppi))
    warnings += _thin(alpha, white, settings)
    return Film(
        rgb=np.where(alpha[..., None] > 0, rgb, np.uint8(0)),
        alpha=alpha,
        white=white,
        ppi=settings.ppi,
        width_in=settings.width_in,
        height_in=height_in,
        choke_pt=settings.choke_pt,
        warnings=tuple(warnings),
    )


def _sized(part: Bytes, coverage: Bytes, size: tuple[int, int]) -> tuple[Bytes, Bytes]:
    """Straight colour and coverage at another size.

    Enlarging overshoots beside edges, colour and coverage alike: in signed numbers, else coverage
    would be cut at full and the colour come out lighter than the ink.
    """
    if coverage.shape[1::-1] == size:
        return straight(part, coverage), coverage
    if size[0] <= coverage.shape[1]:
        alpha = np.asarray(cv2.resize(coverage, size, interpolation=cv2.INTER_AREA), np.uint8)
        smaller = cv2.resize(part, size, interpolation=cv2.INTER_AREA)
        return straight(np.asarray(smaller, np.uint8), alpha), alpha
    share = cv2.resize(coverage.astype(np.int16), size, interpolation=cv2.INTER_CUBIC)
    larger = cv2.resize(part.astype(np.int16), size, interpolation=cv2.INTER_CUBIC)
    rgb = cv2.divide(larger, cv2.merge([share] * 3), scale=255, dtype=cv2.CV_8U)
    return np.asarray(rgb, np.uint8), np.clip(share, 0, 255).astype(np.uint8)


def _partly(coverage: Bytes) -> float:
    """Ink in areas that are neither bare nor full, as a share of all ink.

    Pixels beside bare or full ones are left out: an anti-aliased rim is no more than two wide.
    """
    partly = np.asarray(cv2.inRange(coverage, PARTLY[0], PARTLY[1]), np.uint8)
    wide = np.asarray(cv2.erode(partly, np.ones((3, 3), np.uint8)), np.uint8)
    ink = float(coverage.sum(dtype=np.uint64))
    return float(cv2.bitwise_and(coverage, wide).sum(dtype=np.uint64)) / max(ink, 1.0)


def _knocked_out(rgb: Bytes, alpha: Bytes, garment: Lab, within: float) -> Bytes:
    """Alpha without the areas of the garment's colour; single pixels follow those around them."""
    steps = np.arange(1 << _LUT_BITS, dtype=np.uint16)
    codes = ((steps * 255) // steps[-1]).astype(np.uint8)
    grid = np.stack(np.meshgrid(codes, codes, codes, indexing="ij"), axis=-1).reshape(-1, 3)
    apart = np.asarray(delta_e_2000(srgb8_to_lab(grid), np.array(garment, np.float32)))
    like = (apart <= within).astype(np.uint8)
    reduced = (rgb >> (8 - _LUT_BITS)).astype(np.int32)
    index = (reduced[..., 0] << 2 * _LUT_BITS) | (reduced[..., 1] << _LUT_BITS) | reduced[..., 2]
    near = cv2.medianBlur(np.where(alpha > 0, like[index], np.uint8(1)), 3)
    return np.where(near > 0, np.uint8(0), alpha)


def _thin(alpha: Bytes, white: Bytes, settings: FilmSettings) -> list[str]:
    """What is told of lines that keep no white."""
    choke_px = length_px(settings.choke_pt, settings.ppi)
    lost = uncovered_share([alpha >= INKED_FROM], white >= INKED_FROM, choke_px)
    return [thin_warning(lost, settings.choke_pt)] if lost > LOST_UNDERBASE_SHARE else []


def _drawn_in(alpha: Bytes, choke_px: float) -> Bytes:
    """Alpha shrunk by the choke, nothing beyond the picture's edge."""
    if choke_px == 0:
        return alpha.copy()
    kept = cv2.erode(alpha, disc(choke_px), borderType=cv2.BORDER_CONSTANT, borderValue=(0,))
    return np.asarray(kept, np.uint8)
