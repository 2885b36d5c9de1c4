"""Strokes of one ink on another: a black line on a yellow field, a white one left in a solid.

Each ink is a plate. Every pixel goes to its nearest ink; strokes of one plate are found on that
map and measured on the picture itself, between the stroke's ink and what lies on either side.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import cv2
import numpy as np
from numpy.typing import NDArray

from artcheck.colour.spaces import hex_to_srgb8, srgb8_to_lab
from artcheck.domain.base import Box
from artcheck.domain.measurements import InkMeasured
from artcheck.imaging.blocks import blocks
from artcheck.imaging.components import pieces_and_holes
from artcheck.imaging.letters import Row, letter_rows
from artcheck.imaging.medians import median
from artcheck.imaging.strokes import Crossings, Profile, Stroke, sampled_at, thin_strokes
from artcheck.measure.scan import Scan

Bytes = NDArray[np.uint8]
Floats = NDArray[np.floating]

MOST_PLATES = 12
"""Inks looked at, most area first: no press of this trade prints more."""

TILE_PX = 128
"""Tiles that hold one ink only are left to the strokes of the art as a whole."""

SIDE_PLACES = 5
"""Places beyond a stroke's edge at which its surroundings are read: near ones are blends, far ones
may lie beyond a narrow neighbour. The one least like the stroke is taken."""

MOST_OFF = 0.25
"""Distance of the surroundings from every ink and from paper (of 1 from black to full red), from
which the stroke lies in a fade or a texture and is none."""

LEAST_CONTRAST = 0.1
"""Distance between a stroke and its surroundings under which both are one ink with noise."""

RIM_PX = 4.0
"""Up to this width a strip between two inks can be their blend: an edge blurred by a pixel."""

BLEND_OFF = 0.2
"""How far a strip's colour may lie from the line between the inks beside it and still be their
blend, in parts of that line; JPEG moves it by a tenth."""

LEAST_STRIP_PX = 0.5
"""Thinner strips hold no pixel of their ink by half: blends of compression."""

LEAST_PEAK, LEAST_PEAK_BETWEEN = 0.35, 0.75
"""Part of its ink that a strip must reach, between one ink on both sides and between two: a soft
edge touches a third ink in passing."""

DARKER_BY = 10.0
"""L* by which an ink must be darker to close a lighter stroke when it spreads: lighter inks are
printed under darker ones, darker ones around lighter strokes."""

SAME_PLACE = 0.7
"""Part of the larger box that two rows share when they are one row seen twice."""

REVERSED = 1
"""Tag of a stroke left open in darker ink."""


@dataclass(frozen=True, slots=True, eq=False)
class InkAreas:
    """The inks of a part of the art, pixel by pixel.

    Attributes
    ----------
    labels
        (h, w) uint8: 1 + index of the ink, 0 where nothing is inked and in tiles of one ink.
    colours
        (1 + k, 4) float64: paper (or nothing) and the inks, premultiplied red, green, blue and
        alpha, 0-1.
    lightness
        (1 + k,) L* of the same; paper counts as lightest.
    """

    labels: Bytes
    colours: Floats
    lightness: Floats

    @property
    def inks(self) -> range:
        """Labels of the inks."""
        return range(1, len(self.colours))


def find_plates(scan: Scan, box: Box, inks: Sequence[InkMeasured]) -> InkAreas | None:
    """The plates in ``box``; None for art of one ink, which has no ink on another."""
    chosen = inks[:MOST_PLATES]
    if len(chosen) < 2:
        return None
    codes = np.array([hex_to_srgb8(ink.hex) for ink in chosen], np.uint8)
    paper = np.zeros(4) if scan.paper_rgb is None else np.array([*scan.paper_rgb, 255]) / 255
    solid = np.concatenate([codes / 255, np.ones((len(codes), 1))], axis=1)
    return InkAreas(
        labels=_labels(scan, box, codes),
        colours=np.concatenate([paper[None], solid]),
        lightness=np.array([np.inf, *(ink.lab[0] for ink in chosen)]),
    )


def _labels(scan: Scan, box: Box, codes: Bytes) -> Bytes:
    """(h, w) label of each pixel, where more than one ink meets."""
    row0, col0, row1, col1 = box
    rgb, ink = scan.rgb[row0:row1, col0:col1], scan.ink[row0:row1, col0:col1]
    table = _nearest_by_565(codes)
    labels = np.zeros(ink.shape, np.uint8)
    for block in blocks(ink.shape, 0):
        if not cv2.countNonZero(ink[block.own]):
            continue
        packed = np.asarray(cv2.cvtColor(rgb[block.own], cv2.COLOR_RGB2BGR565), np.uint8)
        _label_tiles(labels[block.own], packed.view(np.uint16)[..., 0], ink[block.own], table)
    return labels


def _label_tiles(labels: Bytes, packed: NDArray[np.uint16], ink: Bytes, table: Bytes) -> None:
    """Write the labels of a block's tiles with two inks or more."""
    for row in range(0, labels.shape[0], TILE_PX):
        for col in range(0, labels.shape[1], TILE_PX):
            tile = np.s_[row : row + TILE_PX, col : col + TILE_PX]
            lowest, highest, _, _ = cv2.minMaxLoc(packed[tile])
            if lowest == highest:
                continue
            found = cv2.copyTo(table.take(packed[tile]), ink[tile])
            nothing = cv2.threshold(ink[tile], 0, 255, cv2.THRESH_BINARY_INV)[1]
            if cv2.minMaxLoc(cv2.bitwise_or(found, nothing))[0] < cv2.minMaxLoc(found)[1]:
                labels[tile] = found


def _nearest_by_565(codes: Bytes) -> Bytes:
    """(65536,) label of the nearest colour in CIELAB for every packed 16-bit colour."""
    packed = np.arange(65536, dtype=np.uint16).view(np.uint8).reshape(256, 256, 2)
    rgb = np.asarray(cv2.cvtColor(packed, cv2.COLOR_BGR5652RGB), np.uint8).reshape(-1, 3)
    lab, inks = srgb8_to_lab(rgb), srgb8_to_lab(codes)
    apart = np.stack([np.square(lab - ink).sum(axis=1) for ink in inks])
    return np.asarray(apart.argmin(axis=0) + 1, np.uint8)


def plate_strokes(
    scan: Scan, box: Box, plates: InkAreas, most: int, limit_px: float
) -> list[Stroke]:
    """The thinnest strokes of single inks; those left open in darker ink are tagged `REVERSED`.

    Places are relative to ``box``. Strokes wider than ``limit_px`` are left out.
    """
    found: list[Stroke] = []
    for label in plates.inks:
        profile = _profile(scan, box, plates, label)
        strokes = thin_strokes(_plate(plates, label), most, profile=profile, limit_px=limit_px)
        found += [stroke for stroke in strokes if stroke.width_px >= LEAST_STRIP_PX]
    return sorted(found, key=lambda stroke: (stroke.width_px, stroke.box))


def plate_rows(plates: InkAreas, known: Sequence[Row]) -> list[Row]:
    """Rows of letters of one ink on another that are not ``known``; places as in `InkAreas`."""
    found = list(known)
    for label in plates.inks:
        pieces, _ = pieces_and_holes(_plate(plates, label))
        for row in letter_rows(pieces.boxes, pieces.areas):
            if not any(_same_place(row.box, other.box) for other in found):
                found.append(replace(row, reversed=_lies_in_darker(plates, label, row.box)))
    return found[len(known) :]


def _same_place(first: Box, second: Box) -> bool:
    """Two boxes share most of their area: an outline of letters, or their blended rim."""
    high = min(first[2], second[2]) - max(first[0], second[0])
    wide = min(first[3], second[3]) - max(first[1], second[1])
    shared = max(high, 0) * max(wide, 0)
    areas = [(box[2] - box[0]) * (box[3] - box[1]) for box in (first, second)]
    return shared >= SAME_PLACE * max(areas)


def _lies_in_darker(plates: InkAreas, label: int, box: Box) -> bool:
    """What else stands in a row's box is mostly a darker ink."""
    row0, col0, row1, col1 = box
    counts = np.bincount(plates.labels[row0:row1, col0:col1].ravel(), minlength=len(plates.colours))
    counts[label] = 0
    around = int(counts.argmax())
    return bool(plates.lightness[around] < plates.lightness[label] - DARKER_BY)


def _plate(plates: InkAreas, label: int) -> Bytes:
    """(h, w) uint8, 255 where the picture is of this ink."""
    return np.asarray(cv2.inRange(plates.labels, label, label), np.uint8)


def _profile(scan: Scan, box: Box, plates: InkAreas, label: int) -> Profile:
    """Coverage by one ink, between its colour and that of either side."""
    ink = plates.colours[label]

    def profile(crossings: Crossings) -> tuple[Floats, int] | None:
        colours = _turned_alike(_premultiplied(scan, box, crossings), crossings)
        sides = [_side(colours, crossings, ink, sign) for sign in (-1, 1)]
        around = [_label_of(side, plates.colours) for side in sides]
        if not _stands_alone(ink, sides, around, label):
            return None
        left, right = (_share(colours, side, ink) for side in sides)
        coverage = np.where(crossings.offsets < 0, left, right)
        peak = float(median(coverage.max(axis=1)))
        between = around[0] != around[1]
        if peak < (LEAST_PEAK_BETWEEN if between else LEAST_PEAK):
            return None
        if between and _is_blend(colours, coverage, crossings, sides):
            return None
        closed = all(
            a and plates.lightness[a] < plates.lightness[label] - DARKER_BY for a in around
        )
        return coverage, REVERSED if closed else 0

    return profile


def _premultiplied(scan: Scan, box: Box, crossings: Crossings) -> Floats:
    """(S, K, 4) premultiplied colours 0-1 at the crossings' points."""
    colours = sampled_at(scan.rgb, crossings, origin=box[:2]) / 255
    if scan.alpha is None:
        share = np.ones((*colours.shape[:2], 1))
    else:
        share = sampled_at(scan.alpha, crossings, origin=box[:2])[..., None] / 255
    return np.concatenate([colours * share, share], axis=2)


def _turned_alike(colours: Floats, crossings: Crossings) -> Floats:
    """The same crossings, each from its darker side to its lighter one."""
    beyond = np.abs(crossings.offsets) > crossings.half[:, None]
    level = colours.sum(axis=2) * beyond
    left = (level * (crossings.offsets < 0)).sum(axis=1)
    right = (level * (crossings.offsets > 0)).sum(axis=1)
    return np.where((left > right)[:, None, None], colours[:, ::-1], colours)


def _side(colours: Floats, crossings: Crossings, ink: Floats, sign: int) -> Floats:
    """(4,) the colour beside the stroke, on one side of it."""
    step = float(crossings.offsets[1] - crossings.offsets[0])
    rows = np.arange(len(colours))
    beside = []
    for offset in np.linspace(1.0, crossings.margin_px - 1.0, SIDE_PLACES):
        at = (sign * (crossings.half + offset) - crossings.offsets[0]) / step
        column = np.clip(np.rint(at).astype(np.intp), 0, colours.shape[1] - 1)
        beside.append(median(colours[rows, column], axis=0))
    apart = [float(np.linalg.norm(colour - ink)) for colour in beside]
    return np.asarray(beside[int(np.argmax(apart))])


def _label_of(colour: Floats, colours: Floats) -> int | None:
    """Which ink (or 0, paper) a colour is; None for none of them."""
    apart = np.linalg.norm(colours - colour, axis=1)
    nearest = int(apart.argmin())
    return nearest if apart[nearest] <= MOST_OFF else None


def _stands_alone(ink: Floats, sides: list[Floats], around: list[int | None], label: int) -> bool:
    """On both sides lies something else, and not paper on both (the whole art's strokes)."""
    if None in around or label in around or not any(around):
        return False
    return all(float(np.linalg.norm(side - ink)) >= LEAST_CONTRAST for side in sides)


def _is_blend(colours: Floats, coverage: Floats, crossings: Crossings, sides: list[Floats]) -> bool:
    """A thin strip whose colour lies between two different neighbours is their soft edge."""
    step = float(crossings.offsets[1] - crossings.offsets[0])
    if float(median(coverage.sum(axis=1))) * step > RIM_PX:
        return False
    middle = median(colours[:, np.abs(crossings.offsets) <= 0.5].reshape(-1, 4), axis=0)
    first, second = sides
    axis = second - first
    length = max(float(axis @ axis), 1e-9)
    part = float((middle - first) @ axis) / length
    off = float(np.linalg.norm(first + part * axis - middle))
    return off <= BLEND_OFF * float(np.sqrt(length))


def _share(colours: Floats, side: Floats, ink: Floats) -> Floats:
    """(S, K) part of the ink in its mixture with what lies beside it."""
    axis = ink - side
    return np.clip((colours - side) @ axis / max(float(axis @ axis), 1e-9), 0, 1)
