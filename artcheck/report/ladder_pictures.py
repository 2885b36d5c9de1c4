"""How the art looks in fewer inks: a small picture, before any plate is made."""

from __future__ import annotations

from collections.abc import Sequence

import cv2
import numpy as np
from numpy.typing import NDArray

from artcheck.colour.difference import delta_e_2000
from artcheck.colour.spaces import hex_to_lab, hex_to_srgb8, srgb8_to_lab
from artcheck.report.pictures import Picture, open_picture

SIDE_PX = 480
"""Long side: a card of the page at two device pixels each."""

STEP_BITS = 3
"""Colours that differ in these last bits of a channel alone are looked up together: 32,768 at most
instead of 16 million, and steps of 8 in 256 move no colour of flat art to another ink."""

PRINTED_FROM = 128
"""Coverage from which a pixel prints, as plates have it: hard at half."""


def in_inks(
    picture: Picture, inks: Sequence[str], garment_hex: str | None, knock_out_within: float
) -> Picture:
    """An `ink_picture` with each colour in the nearest of ``inks`` (``#rrggbb``), on nothing.

    Colours within ``knock_out_within`` (CIEDE2000) of the garment's and nearer to it than to any
    ink are left open. Plates are cleaned besides; this shows colours, not edges.
    """
    bgra = cv2.imdecode(np.frombuffer(picture.data, np.uint8), cv2.IMREAD_UNCHANGED)
    assert bgra is not None
    rgb = np.asarray(bgra[..., 2::-1], np.uint8)
    printed = np.asarray(bgra[..., 3] >= PRINTED_FROM)
    ink = _nearest(rgb, inks, garment_hex, knock_out_within)
    share = np.where(printed & (ink < len(inks)), np.uint8(255), np.uint8(0))
    colours = np.array([*map(hex_to_srgb8, inks), (0, 0, 0)], np.uint8)
    drawn = np.where(share[..., None] > 0, colours[ink], np.uint8(0))
    return open_picture(drawn, share, picture.frame, SIDE_PX)


def _nearest(
    rgb: NDArray[np.uint8], inks: Sequence[str], garment_hex: str | None, within: float
) -> NDArray[np.uint8]:
    """(H, W) uint8: the place in ``inks`` of each pixel's nearest; their number for the garment."""
    cell = rgb.astype(np.uint16) >> STEP_BITS
    side = 8 - STEP_BITS
    code = (cell[..., 0] << 2 * side) | (cell[..., 1] << side) | cell[..., 2]
    found = np.unique(code)
    middle = np.stack([found >> 2 * side, (found >> side) & 31, found & 31], axis=-1)
    shown = (middle << STEP_BITS | 1 << STEP_BITS - 1).astype(np.uint8)
    lab = srgb8_to_lab(shown[None])[0].astype(np.float64)
    apart = np.stack([delta_e_2000(lab, hex_to_lab(ink)) for ink in inks], axis=-1)
    if garment_hex is not None:
        cloth = delta_e_2000(lab, hex_to_lab(garment_hex))
        apart = np.column_stack((apart, np.where(cloth <= within, cloth, np.inf)))
    table = np.zeros(1 << 3 * side, np.uint8)
    table[found] = apart.argmin(axis=-1)
    return np.asarray(table[code], np.uint8)
