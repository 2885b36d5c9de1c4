"""A photograph in one ink: its light as dots of the ink on the cloth."""

from __future__ import annotations

from dataclasses import replace

import cv2
import numpy as np
from numpy.typing import NDArray

from artcheck.colour.mixing import light_of
from artcheck.colour.spaces import lab_to_xyz
from artcheck.domain.artwork import Cutout
from artcheck.domain.base import Lab
from artcheck.domain.separation import NO_INK, Change, Loss, Separated, SpotInk
from artcheck.separation.loss import measured_loss

LUMINANCE = (0.2126, 0.7152, 0.0722)
"""Luminance of linear sRGB (IEC 61966-2-1)."""

UNKNOWN_GARMENT: Lab = (100.0, 0.0, 0.0)
"""White stands for a garment whose colour is not told."""

_NOT_YET = Loss(mean_delta_e_2000=0, p95_delta_e_2000=0, worst_region_delta_e_2000=0)


def screened_photograph(
    cutout: Cutout, ink: SpotInk, garment_lab: Lab | None, *, ppi: float, width_in: float
) -> Separated:
    """The photograph as one tint of an ink.

    Dots and the cloth between them add up as light; the tint is the share of ink with which they
    give the picture's own, as far as ink and cloth reach.
    """
    row0, col0, row1, col1 = cutout.box
    cloth, inked = (_light(lab) for lab in (garment_lab or UNKNOWN_GARMENT, ink.lab))
    rgb = cutout.rgb[row0:row1, col0:col1]
    seen = light_of(rgb) @ np.array(LUMINANCE, np.float32)
    share = np.clip((cloth - seen) / (cloth - inked), 0, 1)
    share *= cutout.coverage[row0:row1, col0:col1] / np.float32(255)
    height_in = width_in * (row1 - row0) / (col1 - col0)
    size = max(round(width_in * ppi), 1), max(round(height_in * ppi), 1)
    tint = _sized(np.rint(share * 255).astype(np.uint8), size)
    result = Separated(
        inks=(ink,),
        labels=np.full(size[::-1], NO_INK, np.uint8),
        tints=(tint,),
        ppi=ppi,
        width_in=width_in,
        height_in=height_in,
        loss=_NOT_YET,
        changes=(
            Change(
                what=f"Photograph printed as dots of {ink.name} alone: its colours are lost",
                where=(0, 0, size[1], size[0]),
            ),
        ),
    )
    return replace(result, loss=measured_loss(cutout, result, garment_lab or UNKNOWN_GARMENT))


def _light(lab: Lab) -> float:
    """Luminance, 1 for white."""
    return float(lab_to_xyz(lab)[1])


def _sized(tint: NDArray[np.uint8], size: tuple[int, int]) -> NDArray[np.uint8]:
    how = cv2.INTER_LINEAR if size[0] >= tint.shape[1] else cv2.INTER_AREA
    return np.asarray(cv2.resize(tint, size, interpolation=how), np.uint8)
