"""What the method does not hold at printed size: specks taken out, lines thickened, gaps opened.

Looked for on the plates themselves, so that every place is one that prints. Shapes that are wide
enough keep their edges to the pixel.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from artcheck.domain.base import Box
from artcheck.domain.separation import NO_INK, Change, SpotInk
from artcheck.imaging.components import Pieces, pieces_and_holes
from artcheck.imaging.discs import grown
from artcheck.separation.narrow import (
    LINE_AREA,
    ROUND_PX,
    Crop,
    around,
    as_box,
    lines_of,
    middle_of,
    piece_in,
    piece_of,
    radius_of,
    unreached,
)
from artcheck.separation.places import changes_of, place_numbers
from artcheck.units import POINTS_PER_INCH

Bytes = NDArray[np.uint8]
Mask = NDArray[np.bool_]

STROKE = 2.0
"""Square of a small piece's longer side, in squares of the limit, from which it is a stroke."""

NEAR = 2.0
"""Distance from a larger piece, in limits, within which a dot belongs to it: dots and stops of text
stand nearer to their letters than a stroke's width or two."""

LEAST_GAP = 0.25
"""Part of the limit under which a gap is not opened: what is so narrow is more likely a seam that
the art left than a gap that it wants (own choice). It is told."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Holds:
    """What the method holds, in points.

    ``speck_pt`` is the side of a square as large as the smallest dot; ``line_pt`` the thinnest
    line; gaps under ``gap_pt`` are told and those under ``open_pt`` opened to it. ``mend`` is False
    where lines and gaps are told and left.
    """

    speck_pt: float
    line_pt: float
    gap_pt: float
    open_pt: float
    mend: bool = True


@dataclass(frozen=True, slots=True)
class _Place:
    what: str
    where: Box


def cleaned(
    labels: Bytes, inks: Sequence[SpotInk], holds: Holds, ppi: float
) -> tuple[Bytes, tuple[Change, ...]]:
    """Labels that the method holds, and what was changed or told, with places.

    Parameters
    ----------
    labels
        (H, W) uint8, index into ``inks``, `NO_INK` where nothing prints.
    holds, ppi
        What the method holds; pixels an inch of ``labels``.
    """
    pt = ppi / POINTS_PER_INCH
    result = labels.copy()
    found = [*_specks(result, inks, holds.speck_pt, pt)]
    found += _lines(result, inks, holds, pt)
    found += _gaps(result, holds, pt)
    return result, changes_of([(place.what, place.where) for place in found], ppi)


# --- specks -------------------------------------------------------------------------------------


def _specks(labels: Bytes, inks: Sequence[SpotInk], speck_pt: float, pt: float) -> Iterator[_Place]:
    """Take out pieces that are too small; an ink of nothing else keeps them."""
    least = (speck_pt * pt) ** 2
    for number, ink in enumerate(inks):
        mask = labels == number
        pieces, _ = pieces_and_holes(mask.view(np.uint8))
        small = _is_speck(pieces, least)
        if small.all():
            what = f"All of {ink.name} is smaller than {speck_pt:g} pt and will hardly hold"
            yield from (_Place(what, as_box(box)) for box in pieces.boxes)
            continue
        out = f"Dots of {ink.name} smaller than {speck_pt:g} pt taken out"
        kept = f"Dots of {ink.name} smaller than {speck_pt:g} pt, as of letters, will hardly hold"
        for box, area in zip(pieces.boxes[small], pieces.areas[small], strict=True):
            if _belongs(mask, as_box(box), int(area), speck_pt * pt):
                yield _Place(kept, as_box(box))
            else:
                _take_out(labels, number, as_box(box), int(area))
                yield _Place(out, as_box(box))
    yield from _small_holes(labels, least, speck_pt)


def _small_holes(labels: Bytes, least: float, speck_pt: float) -> Iterator[_Place]:
    pieces, _ = pieces_and_holes((labels == NO_INK).view(np.uint8))
    for box in pieces.boxes[pieces.areas < least]:
        yield _Place(f"Openings smaller than {speck_pt:g} pt will fill in", as_box(box))


def _is_speck(pieces: Pieces, least: float) -> Mask:
    """Pieces of less area that are no strokes: the stem of an i is longer than wide."""
    sides = pieces.boxes[:, 2:] - pieces.boxes[:, :2]
    return np.asarray((pieces.areas < least) & (sides.max(axis=1, initial=0) ** 2 < STROKE * least))


def _belongs(mask: Mask, box: Box, area: int, wide_px: float) -> bool:
    """Whether a larger piece of the ink is near: dots of letters are no dirt."""
    near = mask[around(mask.shape, box, round(NEAR * wide_px))]
    pieces, _ = pieces_and_holes(np.ascontiguousarray(near).view(np.uint8))
    others = np.asarray(pieces.areas >= wide_px**2) | ~_is_speck(pieces, wide_px**2)
    return bool(others.any()) and area < wide_px**2


def _take_out(labels: Bytes, number: int, box: Box, area: int) -> None:
    """Give a piece to what lies most around it."""
    crop = around(labels.shape, box, 1)
    part = labels[crop]
    piece = piece_in(part == number, area)
    ring = grown(piece, 1.5) & ~piece
    counts = np.bincount(part[ring], minlength=NO_INK + 1)
    counts[number] = 0
    part[piece] = counts.argmax() if counts.any() else NO_INK


# --- lines --------------------------------------------------------------------------------------


def _lines(labels: Bytes, inks: Sequence[SpotInk], holds: Holds, pt: float) -> Iterator[_Place]:
    """Thicken lines that are too thin, over whatever lies beside them but no other thin line."""
    wide_px = holds.line_pt * pt
    taken = np.zeros(labels.shape, np.bool_)
    for number in range(len(inks)):
        taken |= unreached(labels == number, wide_px)
    for number, ink in enumerate(inks):
        words = f"Lines of {ink.name} thinner than {holds.line_pt:g} pt"
        lines = lines_of(unreached(labels == number, wide_px), wide_px)
        boxes = [as_box(box) for box in lines.boxes]
        gains = [
            _widened(labels, number, box, int(area), holds, pt)
            for box, area in zip(boxes, lines.areas, strict=True)
        ]
        places = place_numbers(boxes, POINTS_PER_INCH * pt)
        # Where one line has no room all stay, as in a word whose letters should look alike.
        bad = {
            place
            for place, (crop, wide) in zip(places, gains, strict=True)
            if not holds.mend or _squeezes(labels[crop], wide, holds, pt)
        }
        for box, place, (crop, wide) in zip(boxes, places, gains, strict=True):
            if place not in bad:
                gained = wide & ~taken[crop]
                labels[crop][gained] = number
                taken[crop] |= gained
            yield _Place(f"{words} {'may not hold' if place in bad else 'thickened'}", box)


def _widened(
    labels: Bytes, number: int, box: Box, area: int, holds: Holds, pt: float
) -> tuple[Crop, Mask]:
    """Around a line, and what it gains there when it is as wide as it must be."""
    wide_px = holds.line_pt * pt
    crop = around(labels.shape, box, 2 * radius_of(holds.gap_pt * pt) + 4)
    mask = labels[crop] == number
    lines = piece_of(unreached(mask, wide_px), box, crop, area)
    wide = grown(middle_of(mask) & lines, max(round((wide_px - 1) / 2), 1) + ROUND_PX)
    return crop, wide & ~mask


# --- gaps ---------------------------------------------------------------------------------------


def _gaps(labels: Bytes, holds: Holds, pt: float) -> Iterator[_Place]:
    """Open gaps that would fill in where the ink beside them is wide enough; tell the others."""
    wide_px = holds.gap_pt * pt
    narrow = lines_of(unreached(labels == NO_INK, wide_px, beyond=True), wide_px)
    told = f"Gaps narrower than {holds.gap_pt:g} pt may fill in"
    opened = f"Gaps narrower than {holds.open_pt:g} pt opened to it"
    closing = f"Gaps narrower than {holds.open_pt:g} pt will fill in"
    found: list[_Place] = []
    for box, area in zip(narrow.boxes, narrow.areas, strict=True):
        found += _gap(labels, as_box(box), int(area), holds, pt, (told, opened, closing))
    yield from sorted(found, key=lambda place: (opened, closing, told).index(place.what))


def _gap(
    labels: Bytes,
    box: Box,
    area: int,
    holds: Holds,
    pt: float,
    words: tuple[str, str, str],
) -> Iterator[_Place]:
    told, opened, closing = words
    reach = radius_of(holds.gap_pt * pt) + 2
    crop = around(labels.shape, box, 2 * reach + 2)
    part = labels[crop]
    bare = part == NO_INK
    gap = piece_of(unreached(bare, holds.gap_pt * pt, beyond=True), box, crop, area)
    narrow = unreached(bare, holds.open_pt * pt, beyond=True) & gap
    if narrow.sum() < LINE_AREA * (holds.open_pt * pt / 2) ** 2:
        yield _Place(told, box)
        return
    middle = middle_of(bare, beyond=True) & narrow
    widest = 2 * cv2.distanceTransform(bare.view(np.uint8), cv2.DIST_L2, 5)[middle]
    seam = not middle.any() or np.median(widest) < LEAST_GAP * holds.open_pt * pt
    wide = grown(middle, max(round((holds.open_pt * pt - 1) / 2), 1) + ROUND_PX) & ~bare
    if not holds.mend or seam or _squeezes(part, wide, holds, pt):
        yield _Place(closing, box)
        return
    part[wide] = NO_INK
    yield _Place(opened, box)


def _squeezes(part: Bytes, wide: Mask, holds: Holds, pt: float) -> bool:
    """Whether giving ``wide`` away leaves a line or gap beside it thinner than it holds."""
    for number in np.unique(part[wide]):
        bare = int(number) == NO_INK
        limit = (holds.open_pt if bare else holds.line_pt) * pt
        mask = part == number
        narrow = unreached(mask, limit, beyond=bare)
        lost = np.count_nonzero(narrow & wide)
        rest = unreached(mask & ~wide, limit, beyond=bare)
        before, after = (lines_of(left, limit).areas.sum() for left in (narrow, rest))
        if lost + max(after - before, 0) > (limit / 2) ** 2 or _closes(mask, wide):
            return True
    return False


def _closes(mask: Mask, wide: Mask) -> bool:
    """Whether a whole piece of a mask is given away."""
    _, numbers = cv2.connectedComponents(mask.view(np.uint8), connectivity=8)
    lost, left = np.unique(numbers[mask & wide]), np.unique(numbers[mask & ~wide])
    return bool(np.setdiff1d(lost, left).size)
