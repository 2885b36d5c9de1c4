"""How much of each pixel every ink covers, read from the art at its own resolution.

Where a pixel and its neighbours agree they show one colour, and the plan's nearest ink prints it.
All other pixels lie on an edge or in a thin stroke: each is explained as a mixture of two of the
colours that stand around it, so that a blend of red and white is never taken for a pink ink. Bare
cloth counts as one more ink.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import combinations

import cv2
import numpy as np
from numpy.typing import NDArray

from artcheck.colour.spaces import LUMA
from artcheck.domain.artwork import Cutout
from artcheck.domain.base import Box, Lab
from artcheck.domain.separation import SpotInk
from artcheck.separation.cores import REACH_PX, SOLID, UNKNOWN, Art, art_of, core_labels
from artcheck.separation.nearest_ink import NearestInk, bare_colours

Bytes = NDArray[np.uint8]
Floats = NDArray[np.float32]

CLEAN_REACH_PX, NOISY_REACH_PX = 3.0, float(REACH_PX)
"""How far the colours of a mixture may lie from it: JPEG spreads colour further than light."""

FAR_CODES, PER_PX_CODES = 8.0, 0.5
"""What a colour that is not within reach costs as an explanation, and each pixel of its distance,
in codes of misfit."""

UNEXPLAINED_CODES = 14.0
"""Misfit from which a pixel is taken for what it looks like: a thin stroke of its own colour."""

NOISY_COLOUR = 0.35
"""Weight of colour beside light in JPEG files, which keep colour coarsely."""

AMID_SHARE = 0.7
"""Part of what stands around an area that must be ink for the area to be seen when left open."""


def ink_shares(
    cutout: Cutout, inks: Sequence[SpotInk], garment_lab: Lab | None, knock_out_within: float
) -> tuple[Bytes, tuple[Box, ...]]:
    """The share of each pixel of the art's box that each ink covers, and bare cloth.

    Returns
    -------
    planes
        (k + 1, h, w) uint8, 0-255, which sum to 255; the last is bare cloth's.
    opened
        Boxes of areas amid ink that are left open although the garment is another colour: no ink
        is as near, and printed they could not be told from what stands around them.
    """
    art = art_of(cutout)
    nearest = NearestInk(inks, bare_colours(cutout, garment_lab, knock_out_within), garment_lab)
    labels = core_labels(art, nearest)
    opened = _leave_open(art, labels, nearest) if garment_lab is not None else ()
    planes = np.zeros((len(inks) + 1, *labels.shape), np.uint8)
    for number in range(len(inks) + 1):
        planes[number][labels == number] = SOLID
    places = np.flatnonzero(labels == UNKNOWN)
    if places.size:
        mixtures = _explained(art, labels, places, nearest)
        flat = planes.reshape(len(planes), -1)
        part = np.rint(mixtures.share * SOLID).astype(np.uint8)
        flat[mixtures.second, places] = part
        flat[mixtures.first, places] += SOLID - part
    row0, col0, row1, col1 = art.box
    return planes[:, row0:row1, col0:col1], tuple(_within(box, art.box) for box in opened)


def _within(box: Box, whole: Box) -> Box:
    """What of a box lies in another, counted from that one's corner."""
    row0, col0, row1, col1 = whole
    return (
        max(box[0], row0) - row0,
        max(box[1], col0) - col0,
        min(box[2], row1) - row0,
        min(box[3], col1) - col0,
    )


# --- left to the cloth --------------------------------------------------------------------------


def _leave_open(art: Art, labels: Bytes, nearest: NearestInk) -> tuple[Box, ...]:
    """Give cores amid ink to the cloth where it is nearer than any ink; their boxes."""
    inked = (labels != UNKNOWN) & (labels != nearest.bare)
    open_ = np.zeros(labels.shape, np.uint8)
    open_[inked] = nearest.nearer_to_cloth(art.rgb[inked])
    if not open_.any():
        return ()
    count, pieces, stats, _ = cv2.connectedComponentsWithStats(open_, connectivity=8)
    reach = REACH_PX
    square = np.ones((2 * reach + 1,) * 2, np.uint8)
    found = []
    for piece in range(1, count):
        left, top, width, height = (int(value) for value in stats[piece, :4])
        crop = np.s_[
            max(top - reach, 0) : top + height + reach, max(left - reach, 0) : left + width + reach
        ]
        mine = pieces[crop] == piece
        ring = (cv2.dilate(mine.view(np.uint8), square) > 0) & (open_[crop] == 0)
        beside = labels[crop][ring & (labels[crop] != UNKNOWN)]
        if beside.size and np.count_nonzero(beside != nearest.bare) >= AMID_SHARE * beside.size:
            found.append((mine, crop, (top, left, top + height, left + width)))
    for mine, crop, _ in found:
        labels[crop][mine] = nearest.bare
    return tuple(box for _, _, box in found)


# --- edges --------------------------------------------------------------------------------------


@dataclass(slots=True)
class _Mixtures:
    """What n pixels are best explained as.

    ``first`` and ``second`` label, ``share`` of the second, and the cost of that in codes.
    """

    first: Bytes
    second: Bytes
    share: Floats
    cost: Floats

    def offer(
        self, members: NDArray[np.intp], pair: tuple[int, int], share: Floats, cost: Floats
    ) -> None:
        """Take this explanation of ``members`` where it costs less."""
        better = cost < self.cost[members]
        chosen = members[better]
        self.cost[chosen], self.share[chosen] = cost[better], share[better]
        self.first[chosen], self.second[chosen] = pair


@dataclass(frozen=True, slots=True, eq=False)
class _Around:
    """The colours around each of n pixels.

    For each label: its colour beside each (n, 4), how far off (n,) in pixels, and whether that is
    within reach (n,).
    """

    colours: list[Floats]
    distance: list[Floats]
    near: list[NDArray[np.bool_]]


def _explained(art: Art, labels: Bytes, places: NDArray[np.intp], nearest: NearestInk) -> _Mixtures:
    axes = _axes(art.noisy)
    values = art.mixed.reshape(-1, 4)[places].astype(np.float32) @ axes
    around = _around(art, labels, places, nearest, axes)
    looks = nearest.of(art.rgb.reshape(-1, 3)[places])
    amid = np.logical_or.reduce(around.near[:-1])
    looks[amid & nearest.nearer_to_cloth(art.rgb.reshape(-1, 3)[places])] = nearest.bare
    looks[art.coverage.ravel()[places] < SOLID // 2] = nearest.bare
    found = _Mixtures(
        looks,
        looks.copy(),
        np.zeros(len(places), np.float32),
        np.full(len(places), UNEXPLAINED_CODES, np.float32),
    )
    found.cost += FAR_CODES
    near = around.near
    for one, other in combinations(range(nearest.bare + 1), 2):
        _offer_pair(found, values, around, (one, other), near[one] & near[other], 0)
    for number, here in enumerate(near):
        _offer_pair(found, values, around, (number, number), here, 0)
    open_ = found.cost > FAR_CODES
    for one, other in combinations(range(nearest.bare + 1), 2):
        _offer_pair(
            found, values, around, (one, other), open_ & (near[one] ^ near[other]), FAR_CODES
        )
    return found


def _offer_pair(
    found: _Mixtures,
    values: Floats,
    around: _Around,
    pair: tuple[int, int],
    chosen: NDArray[np.bool_],
    penalty: float,
) -> None:
    members = np.flatnonzero(chosen)
    if not members.size:
        return
    start = around.colours[pair[0]][members]
    axis = around.colours[pair[1]][members] - start
    from_start = values[members] - start
    length = np.maximum(np.square(axis).sum(axis=1), 1e-3)
    share = np.clip((from_start * axis).sum(axis=1) / length, 0, 1)
    off = np.sqrt(np.square(from_start - share[:, None] * axis).sum(axis=1))
    one, other = (around.distance[number][members] for number in pair)
    cost = off + penalty + PER_PX_CODES * ((1 - share) * one + share * other)
    found.offer(members, pair, share.astype(np.float32), cost.astype(np.float32))


def _axes(noisy: bool) -> Floats:
    """(4, 5) from mixed colour and coverage to light, colour and coverage, to measure misfit in."""
    weight = NOISY_COLOUR if noisy else 1.0
    light = np.array([*LUMA, 0], np.float32)
    colour = np.eye(4, dtype=np.float32)
    colour[:3] -= light
    colour[:3] *= weight
    return np.stack([light * np.sqrt(3), *colour], axis=1).astype(np.float32)


def _around(
    art: Art, labels: Bytes, places: NDArray[np.intp], nearest: NearestInk, axes: Floats
) -> _Around:
    reach = NOISY_REACH_PX if art.noisy else CLEAN_REACH_PX
    colours, distances = [], []
    typical = np.concatenate([nearest.rgb, np.zeros((1, 3), np.float32)])
    mixed = art.mixed
    if art.noisy:
        mixed = np.asarray(cv2.blur(mixed, (3, 3)), np.uint8)
    for number in range(nearest.bare + 1):
        core = labels == number
        if core.any():
            colour, distance = _nearest_core(core, mixed, places)
            colour[distance > reach] = art.mixed[core].mean(axis=0)
        else:
            cover = 0.0 if number == nearest.bare else float(SOLID)
            colour = np.tile(np.append(typical[number], cover), (len(places), 1))
            distance = np.full(len(places), np.inf, np.float32)
        colours.append(np.asarray(colour @ axes, np.float32))
        distances.append(distance)
    near = [distance <= reach for distance in distances]
    return _Around(colours, [np.minimum(distance, reach) for distance in distances], near)


def _nearest_core(
    core: NDArray[np.bool_], mixed: Bytes, places: NDArray[np.intp]
) -> tuple[Floats, Floats]:
    """Colour of the core pixel nearest to each place, and its distance."""
    distance, owner = cv2.distanceTransformWithLabels(
        (~core).view(np.uint8), cv2.DIST_L2, 5, labelType=cv2.DIST_LABEL_PIXEL
    )
    inside = np.flatnonzero(core)
    table = np.zeros((len(inside) + 1, 4), np.float32)
    table[owner.ravel()[inside]] = mixed.reshape(-1, 4)[inside]
    return table[owner.ravel()[places]], np.asarray(distance.ravel()[places], np.float32)
