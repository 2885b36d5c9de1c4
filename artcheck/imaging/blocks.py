"""Large pictures in blocks: working arrays stay in the processor's cache, even ones are skipped."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

BLOCK_PX = 512
"""Side of a block: a byte plane of it fits into the cache of one core."""

BAND_ROWS = 128
"""Rows of a band, where blocks need not be: 5,000 pixels wide it stays in the cache as well."""

Part = tuple[slice, slice]


@dataclass(frozen=True, slots=True)
class Block:
    """One block of a picture.

    Attributes
    ----------
    around
        Its place with a margin, in the picture; the margin ends at the picture's edge.
    own
        Its place without margin, in the picture.
    inner
        Its place without margin, in ``around``.
    """

    around: Part
    own: Part
    inner: Part


def blocks(shape: tuple[int, ...], halo_px: int) -> Iterator[Block]:
    """Blocks that tile a picture, row by row, each with a margin of its surroundings."""
    height, width = shape[:2]
    for row in range(0, height, BLOCK_PX):
        rows = _spans(row, height, halo_px)
        for col in range(0, width, BLOCK_PX):
            cols = _spans(col, width, halo_px)
            yield Block((rows[0], cols[0]), (rows[1], cols[1]), (rows[2], cols[2]))


def _spans(start: int, length: int, halo_px: int) -> tuple[slice, slice, slice]:
    end = min(start + BLOCK_PX, length)
    first, last = max(start - halo_px, 0), min(end + halo_px, length)
    return slice(first, last), slice(start, end), slice(start - first, end - first)
