"""Tints as dots: a screen of one frequency and angle, and what the press adds to its dots.

A threshold stands at every pixel: its rank among all places of a cell, by how late ink reaches it
as the dot grows. A tint prints where it exceeds the threshold, so that over many cells just the
wanted share of pixels prints, whatever the angle and however the cell falls on the pixels.
"""

from __future__ import annotations

from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from artcheck.domain.shop import DotShape

Bytes = NDArray[np.uint8]
Floats = NDArray[np.float64]

ELLIPSE = 1.3
"""Length of an elliptic dot by its width: its ends meet before its sides do, so that neighbours do
not all join at one tone (common practice: 1.2 to 1.5)."""

_PHASE_BITS = 16
"""Places along a cell: sums of such whole numbers turn over from one cell to the next by
themselves."""

_CELL_BITS = 9
"""Places along a cell at which the rank is kept."""

_BAND_ROWS = 256
"""Rows made at a time, to keep arrays of whole numbers small."""


def screen(
    tint: Bytes,
    *,
    ppi: float,
    lpi: float,
    angle_deg: float,
    gain_at_50: float = 0.0,
    shape: DotShape = "ellipse",
) -> NDArray[np.bool_]:
    """The dots that print a tint.

    Parameters
    ----------
    tint
        (H, W) uint8, the wanted share of ink on the cloth, 0-255.
    ppi, lpi
        Pixels and lines of dots to an inch.
    angle_deg
        Direction of the lines of dots, anticlockwise from the rows.
    gain_at_50
        How much the press adds to a tint of a half, as a share of the area (0.3: it prints 0.8).
        Dots are made so much smaller that the wanted share is reached in print.
    shape
        Of the dot.

    Returns
    -------
    (H, W) bool
        True where ink prints: everywhere for a tint of 255, nowhere for 0.
    """
    height, width = tint.shape
    wanted = (compensated(np.arange(256) / 255, gain_at_50) * 255).round().astype(np.uint8)
    ranks = _ranks(shape).ravel()
    angle = np.radians(angle_deg)
    along, across = lpi / ppi * np.cos(angle), lpi / ppi * np.sin(angle)
    cols, rows = np.arange(width), np.arange(height)
    u_col, v_col = _phase(cols * along), _phase(cols * across)
    u_row, v_row = _phase(-rows * across), _phase(rows * along)
    dots = np.zeros(tint.shape, np.bool_)
    for top in range(0, height, _BAND_ROWS):
        band = slice(top, top + _BAND_ROWS)
        if not tint[band].any():
            continue
        u = (u_row[band, None] + u_col[None]) >> (_PHASE_BITS - _CELL_BITS)
        v = (v_row[band, None] + v_col[None]) >> (_PHASE_BITS - _CELL_BITS)
        threshold = ranks[(u.astype(np.int32) << _CELL_BITS) | v]
        np.greater(wanted[tint[band]], threshold, out=dots[band])
    return dots


def compensated(wanted: Floats, gain_at_50: float) -> Floats:
    """The tint to make, 0-1, for the tint that is to be seen in print: `printed` undone."""
    steep = _steepness(gain_at_50)
    return np.asarray(wanted / (steep - (steep - 1) * wanted), np.float64)


def printed(made: Floats, gain_at_50: float) -> Floats:
    """The tint that the press makes of a tint, 0-1.

    Bare cloth, solids and the gain of a half are given; between them the curve ``a t / (1 + (a - 1)
    t)`` rises everywhere. (The usual parabola through the same points falls again beyond a gain of
    0.25, and textiles gain 0.2 to 0.4.)
    """
    steep = _steepness(gain_at_50)
    return np.asarray(steep * made / (1 + (steep - 1) * made), np.float64)


def _steepness(gain_at_50: float) -> float:
    """Slope of the curve at bare cloth."""
    return (0.5 + gain_at_50) / (0.5 - gain_at_50)


def _phase(cells: Floats) -> NDArray[np.uint16]:
    """The part of a cell that each distance, in cells, leaves over."""
    turn = 1 << _PHASE_BITS
    return (np.floor((cells % 1.0) * turn).astype(np.int64) % turn).astype(np.uint16)


@lru_cache(maxsize=4)
def _ranks(shape: DotShape) -> Bytes:
    """(n, n) uint8, 0-254: of all places of a cell, the share that ink reaches before this one."""
    size = 1 << _CELL_BITS
    away = (np.arange(size) + 0.5) / size - 0.5
    u, v = np.meshgrid(away, away, indexing="ij")
    late = {
        "round": np.hypot(u, v),
        "ellipse": np.hypot(u, v * ELLIPSE),
        "line": np.abs(v),
    }[shape]
    before = np.searchsorted(np.sort(late.ravel()), late.ravel(), side="left")
    return (before * 255 // (size * size)).astype(np.uint8).reshape(size, size)
