"""How the plates look when all are printed: the proof, in fewer pixels than the plates."""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from artcheck.colour.mixing import codes_of, light_of
from artcheck.colour.spaces import hex_to_srgb8
from artcheck.separation.plates import Plate, Plates

PROOF_PPI = 300.0
"""Pixels an inch at least, where the plates have them: what full-colour art should have."""

_BAND_ROWS = 512
"""Rows of the proof made at a time, so that the plates are never in colour all at once."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Proof:
    """The printed art on nothing. Arrays are read-only.

    Attributes
    ----------
    part
        (H, W, 3) uint8, sRGB of the ink times the share of the pixel that ink covers.
    coverage
        (H, W) uint8, that share, 0-255.
    ppi
        Pixels per printed inch.
    """

    part: NDArray[np.uint8]
    coverage: NDArray[np.uint8]
    ppi: float

    def __post_init__(self) -> None:
        self.part.setflags(write=False)
        self.coverage.setflags(write=False)

    @property
    def rgb(self) -> NDArray[np.uint8]:
        """(H, W, 3) uint8, the ink's own colour; black where there is none."""
        return straight(self.part, self.coverage)

    def on(self, garment_hex: str) -> NDArray[np.uint8]:
        """(H, W, 3) uint8, sRGB, on a garment of this colour: what is partly covered adds light."""
        cloth = np.array(hex_to_srgb8(garment_hex), np.uint8)
        seen = np.where(self.coverage[..., None] > 0, self.part, cloth)
        partly = (self.coverage > 0) & (self.coverage < 255)
        share = self.coverage[partly].astype(np.float32)[:, None] / 255
        ink = light_of(straight(self.part, self.coverage)[partly])
        seen[partly] = codes_of(share * ink + (1 - share) * light_of(cloth))
        return np.asarray(seen, np.uint8)


def proof_of(plates: Plates) -> Proof:
    """Every ink over those before it, averaged over squares of whole pixels of the plates."""
    times = max(1, int(plates.ppi // PROOF_PPI))
    height, width = (-(-side // times) for side in plates.shape)
    part = np.zeros((height, width, 3), np.uint8)
    coverage = np.zeros((height, width), np.uint8)
    inks = [plate for plate in plates.plates if plate.role == "ink"]
    for row in range(0, height, _BAND_ROWS):
        band = slice(row, min(row + _BAND_ROWS, height))
        drawn = _drawn(inks, band.start * times, band.stop * times, width * times)
        small = (width, band.stop - band.start)
        reduced = np.asarray(cv2.resize(drawn, small, interpolation=cv2.INTER_AREA), np.uint8)
        part[band], coverage[band] = reduced[..., :3], reduced[..., 3]
    return Proof(part=part, coverage=coverage, ppi=plates.ppi / times)


def _drawn(inks: list[Plate], row0: int, row1: int, width: int) -> NDArray[np.uint8]:
    """(row1 - row0, width, 4) uint8 RGBA of a band; nothing beyond the plates' ends."""
    drawn = np.zeros((row1 - row0, width, 4), np.uint8)
    for plate in inks:
        solid = plate.solid[row0:row1]
        shown = drawn[: solid.shape[0], : solid.shape[1]]
        if plate.tint is not None:
            _lay_tint(shown, plate.tint[row0:row1], hex_to_srgb8(plate.hex))
        shown[solid] = (*hex_to_srgb8(plate.hex), 255)
    return drawn


def _lay_tint(shown: NDArray[np.uint8], tint: NDArray[np.uint8], ink: tuple[int, int, int]) -> None:
    """Cover a share of each pixel of (h, w, 4) premultiplied RGBA with an ink, as dots do.

    The tint is shown as it is to be in print, without its dots.
    """
    places = tint > 0
    if not places.any():
        return
    share = tint[places].astype(np.float32)[:, None] / 255
    before = shown[places]
    bare = before[:, 3:].astype(np.float32) / 255
    colour = before[:, :3] / np.maximum(bare, 1 / 255)
    under = light_of(np.clip(np.rint(colour), 0, 255).astype(np.uint8))
    rest = bare * (1 - share)
    covered = share + rest
    seen = (share * light_of(np.array(ink, np.uint8)) + rest * under) / covered
    shown[places] = np.rint(np.concatenate([codes_of(seen) * covered, 255 * covered], axis=1))


def straight(part: NDArray[np.uint8], coverage: NDArray[np.uint8]) -> NDArray[np.uint8]:
    """(H, W, 3) uint8: colour times coverage, divided by the coverage."""
    share = cv2.merge([coverage] * 3)
    return np.asarray(cv2.divide(part, share, scale=255), np.uint8)
