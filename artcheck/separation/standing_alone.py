"""Shapes in the garment's own colour that stand on the cloth alone: in one ink they print in it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import cv2
import numpy as np
from numpy.typing import NDArray

from artcheck.colour.difference import delta_e_2000
from artcheck.colour.spaces import hex_to_lab, hex_to_srgb8, srgb8_to_lab
from artcheck.domain.artwork import Cutout
from artcheck.domain.base import Box, Lab
from artcheck.domain.separation import SpotInk

Bytes = NDArray[np.uint8]

SOLID = 255
"""Coverage of a pixel that is all ink."""

JOINED_PX = 3
"""Pixels of bare cloth across which shapes are one: the rim of a JPEG file is as wide."""

GARMENT_SHARE = 0.95
"""Part of a shape's pixels that must have the garment's colour for nothing of it to be seen; the
rest are its rims."""

LEAST_PX = 12
"""Solid pixels of a shape under which it is left as it is: crumbs of a lossy file."""

PAPER_WITHIN = 5.0
"""CIEDE2000 to removed paper within which a colour is what was left of it (people call it another
colour beyond: common practice)."""

LUT_BITS = 6
"""Bits a channel in which colours are compared."""


def printed_alone(
    cutout: Cutout, inks: Sequence[SpotInk], garment_lab: Lab | None, knock_out_within: float
) -> tuple[Cutout, tuple[Box, ...]]:
    """The art with what would vanish whole on the garment in the only ink; their boxes.

    In one ink shape is all that is left of the art, so a shape left to the cloth is lost, say one
    sponsor of twelve. With several inks it is not known which of them it should have: such art
    comes back as it was. Boxes are in pixels of the art's box.

    Parameters
    ----------
    cutout
        The art freed from its background.
    inks
        Those that are printed.
    garment_lab
        The garment's colour, or None where nothing is left to it.
    knock_out_within
        CIEDE2000 to the garment within which a colour is left to it.
    """
    if garment_lab is None or len(inks) != 1:
        return cutout, ()
    row0, col0, row1, col1 = cutout.box
    coverage = cutout.coverage[row0:row1, col0:col1]
    rgb = np.ascontiguousarray(cutout.rgb[row0:row1, col0:col1])
    lost, boxes = _lost(rgb, coverage, _as_cloth(cutout, garment_lab, knock_out_within))
    if not boxes:
        return cutout, ()
    whole = cutout.rgb.copy()
    whole[row0:row1, col0:col1][lost] = _inked(cutout, coverage[lost], inks[0].hex)
    return replace(cutout, rgb=whole), boxes


def _lost(
    rgb: Bytes, coverage: Bytes, as_cloth: NDArray[np.bool_]
) -> tuple[NDArray[np.bool_], tuple[Box, ...]]:
    """(h, w) where shapes that would vanish lie, and the shapes' boxes."""
    joined = np.ones((2 * JOINED_PX + 1,) * 2, np.uint8)
    inked = (coverage > 0).astype(np.uint8)
    count, pieces, stats, _ = cv2.connectedComponentsWithStats(cv2.dilate(inked, joined))
    solid = coverage == SOLID
    keys = _bins(rgb[solid])
    mine = pieces[solid]
    total = np.bincount(mine, minlength=count)
    alike = np.bincount(mine[as_cloth[keys]], minlength=count)
    gone = (total >= LEAST_PX) & (alike >= GARMENT_SHARE * total)
    gone[0] = False
    height, width = coverage.shape
    boxes = []
    for left, top, wide, tall in stats[gone, :4].tolist():
        bottom, right = min(top + tall, height), min(left + wide, width)
        boxes.append((top, left, bottom, right))
    return gone[pieces] & (inked > 0), tuple(boxes)


def _bins(rgb: Bytes) -> NDArray[np.int32]:
    parts = rgb.astype(np.int32) >> (8 - LUT_BITS)
    return np.asarray(
        (parts[..., 0] << 2 * LUT_BITS) | (parts[..., 1] << LUT_BITS) | parts[..., 2], np.int32
    )


def _as_cloth(cutout: Cutout, garment_lab: Lab, within: float) -> NDArray[np.bool_]:
    """(bins,) whether colours are left to the garment, and are not what is left of paper."""
    levels = np.arange(1 << LUT_BITS) << (8 - LUT_BITS) | 1 << (7 - LUT_BITS)
    grid = np.stack(np.meshgrid(levels, levels, levels, indexing="ij"), axis=-1).reshape(-1, 3)
    lab = srgb8_to_lab(grid.astype(np.uint8))
    cloth = np.asarray(delta_e_2000(lab, np.array(garment_lab, np.float32))) <= within
    if cutout.paper_hex is not None:
        paper = np.array(hex_to_lab(cutout.paper_hex), np.float32)
        cloth &= np.asarray(delta_e_2000(lab, paper)) > PAPER_WITHIN
    return np.asarray(cloth, np.bool_)


def _inked(cutout: Cutout, coverage: Bytes, ink_hex: str) -> Bytes:
    """(n, 3) the ink's colour, mixed with the paper that the art's rims were mixed with."""
    ink = np.array(hex_to_srgb8(ink_hex), np.float32)
    if cutout.paper_hex is None:
        return np.broadcast_to(ink.astype(np.uint8), (len(coverage), 3))
    share = coverage[:, None].astype(np.float32) / SOLID
    paper = np.array(hex_to_srgb8(cutout.paper_hex), np.float32)
    return np.asarray(np.rint(share * ink + (1 - share) * paper), np.uint8)
