"""What a separation loses, measured: the art's pixels against what the plates print there."""

from __future__ import annotations

import cv2
import numpy as np
from numpy.typing import NDArray

from artcheck.colour.difference import delta_e_2000
from artcheck.colour.mixing import blends
from artcheck.colour.spaces import hex_to_srgb8, lab_to_hex, srgb8_to_lab
from artcheck.domain.artwork import Cutout
from artcheck.domain.base import Lab
from artcheck.domain.separation import NO_INK, Loss, Separated
from artcheck.separation.palette import PERCENTILE, REGION_SHARE

Bytes = NDArray[np.uint8]

SAMPLES = 40_000
"""Pixels that are looked at, evenly spread: a share of 0.3 % still has 120."""

LEAST_SAMPLES = 400
"""With fewer pixels off edges (lettering, hairlines) those on edges are taken too."""

LEVEL = 18
"""Spread of neighbours, in codes, under which a pixel lies on no edge: a blend there is no loss."""

REGION_CODES = 32
"""Width of the bins of colour that make a region, in codes."""


def measured_loss(cutout: Cutout, result: Separated, garment_lab: Lab | None) -> Loss:
    """The CIEDE2000 between the art and the print, by area; edges left out.

    Where nothing prints the garment shows; where it is not known such pixels are left out.
    """
    row0, col0, row1, col1 = cutout.box
    rgb = cutout.rgb[row0:row1, col0:col1]
    rows, cols = _places(rgb, cutout.coverage[row0:row1, col0:col1])
    height, width = result.labels.shape
    at = (
        np.minimum(((rows + 0.5) * height / rgb.shape[0]).astype(np.intp), height - 1),
        np.minimum(((cols + 0.5) * width / rgb.shape[1]).astype(np.intp), width - 1),
    )
    printed, shown = _printed(result, at, garment_lab)
    codes = rgb[rows, cols][shown]
    if not len(codes):
        return result.loss
    wanted = srgb8_to_lab(np.ascontiguousarray(codes), np.float64)
    apart = np.asarray(delta_e_2000(wanted, printed[shown]), np.float64)
    return Loss(
        mean_delta_e_2000=float(apart.mean()),
        p95_delta_e_2000=float(np.quantile(apart, PERCENTILE, method="inverted_cdf")),
        worst_region_delta_e_2000=_worst(codes, apart),
    )


def _places(rgb: Bytes, coverage: Bytes) -> tuple[NDArray[np.intp], NDArray[np.intp]]:
    """Rows and columns of fully covered pixels, evenly spread, off the edges as far as may be."""
    square = np.ones((3, 3), np.uint8)
    apart = cv2.subtract(cv2.dilate(rgb, square), cv2.erode(rgb, square)).max(axis=2)
    covered = cv2.erode(coverage, square) == 255
    found = np.flatnonzero(covered & (apart <= LEVEL))
    if len(found) < LEAST_SAMPLES:
        found = np.flatnonzero(coverage == 255)
    found = found[:: max(1, len(found) // SAMPLES)]
    rows, cols = np.divmod(found, rgb.shape[1])
    return rows, cols


def _printed(
    result: Separated, at: tuple[NDArray[np.intp], NDArray[np.intp]], garment_lab: Lab | None
) -> tuple[NDArray[np.float64], NDArray[np.bool_]]:
    """(n, 3) Lab of what prints at each place, and (n,) where that is known."""
    labels = result.labels[at]
    cloth = garment_lab or (0.0, 0.0, 0.0)
    table = np.array([*(ink.lab for ink in result.inks), cloth], np.float64)
    hexes = [*(ink.hex for ink in result.inks), lab_to_hex(cloth)]
    rows = np.where(labels == NO_INK, len(result.inks), labels)
    printed = table[rows]
    shown = (labels != NO_INK) | (garment_lab is not None)
    for ink, plane in zip(result.inks, result.tints, strict=True):
        if plane is None:
            continue
        tint = plane[at]
        for under in np.unique(rows[tint > 0]):
            chosen = (tint > 0) & (rows == under)
            codes = blends(hex_to_srgb8(hexes[under]), hex_to_srgb8(ink.hex), 256)
            printed[chosen] = srgb8_to_lab(codes, np.float64)[tint[chosen]]
    return printed, shown


def _worst(codes: Bytes, apart: NDArray[np.float64]) -> float:
    """The worst mean of the colours that are large enough to be seen as one."""
    bins = codes.astype(np.int32) // REGION_CODES
    _, region = np.unique(bins, axis=0, return_inverse=True)
    count = np.bincount(region.ravel())
    mean = np.bincount(region.ravel(), apart) / count
    large = count >= REGION_SHARE * len(apart)
    return float(mean[large].max(initial=0.0))
