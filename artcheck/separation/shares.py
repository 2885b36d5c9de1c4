"""How much of each pixel every ink covers, read from the art at its own resolution.

Where a pixel and its neighbours agree they show one colour, and the plan's nearest ink prints it.
All other pixels lie on an edge or in a thin stroke: each is explained as a mixture of two of the
colours that stand around it, so that a blend of red and white is never taken for a pink ink. Bare
cloth counts as one more ink.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from itertools import combinations

import cv2
import numpy as np
from numpy.typing import NDArray

from artcheck.colour.difference import delta_e_2000
from artcheck.colour.spaces import LUMA, hex_to_lab, lab_to_srgb8, srgb8_to_lab
from artcheck.domain.artwork import Cutout
from artcheck.domain.base import Box, Lab
from artcheck.domain.separation import SpotInk
from artcheck.imaging.level import is_noisy

Bytes = NDArray[np.uint8]
Floats = NDArray[np.float32]

SOLID = 255
"""Coverage of a pixel that is all ink."""

CLEAN_LEVEL, NOISY_LEVEL = 6, 18
"""Spread of neighbours, in codes, under which they show one colour: a fade of the whole range over
40 pixels is still level, a JPEG file of quality 60 wanders so far beside its edges."""

ALIKE_CODES = 12.0
"""How far a square of 2 x 2 pixels may be from every colour that fills 3 x 3 somewhere: two rows
that a line straddles are level too, in a colour that is none of the art's."""

CLEAN_REACH_PX, NOISY_REACH_PX = 3.0, 6.0
"""How far the colours of a mixture may lie from it: JPEG spreads colour further than light."""

FAR_CODES, PER_PX_CODES = 8.0, 0.5
"""What a colour that is not within reach costs as an explanation, and each pixel of its distance,
in codes of misfit."""

UNEXPLAINED_CODES = 14.0
"""Misfit from which a pixel is taken for what it looks like: a thin stroke of its own colour."""

NOISY_COLOUR = 0.35
"""Weight of colour beside light in JPEG files, which keep colour coarsely."""

PAPER_WITHIN = 5.0
"""CIEDE2000 to removed paper within which what was left of it prints in no ink (an ink that is
nearer still keeps it)."""

OTHER_COLOUR = 5.0
"""CIEDE2000 to the nearest ink beyond which the cloth may stand for a colour amid ink (common
practice: beyond this people call it another colour)."""

AMID_SHARE = 0.7
"""Part of what stands around an area that must be ink for the area to be seen when left open."""

LUT_BITS = 6
"""Bits a channel in which colours are told apart when they get their ink."""


@dataclass(frozen=True, slots=True, eq=False)
class _Art:
    """The art's box, with what lies right around it in the picture.

    ``mixed`` (h, w, 4) uint8 is the colour as it mixes with bare cloth, and the coverage; ``box``
    the art's box in these arrays.
    """

    rgb: Bytes
    coverage: Bytes
    mixed: Bytes
    noisy: bool
    box: Box


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
    art = _art_of(cutout)
    nearest = _NearestInk(inks, _bare_colours(cutout, garment_lab, knock_out_within), garment_lab)
    labels = _core_labels(art, nearest)
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


UNKNOWN = 254
"""Label of pixels that belong to no core."""


def _art_of(cutout: Cutout) -> _Art:
    """The outermost pixels of the art are mixed with paper that lies beyond its box."""
    row0, col0, row1, col1 = cutout.box
    reach = int(NOISY_REACH_PX)
    top, left = max(row0 - reach, 0), max(col0 - reach, 0)
    around = np.s_[top : row1 + reach, left : col1 + reach]
    rgb = np.ascontiguousarray(cutout.rgb[around])
    coverage = np.ascontiguousarray(cutout.coverage[around])
    mixed = rgb
    if cutout.paper_hex is None:
        weight = cv2.cvtColor(coverage, cv2.COLOR_GRAY2RGB)
        mixed = np.asarray(cv2.multiply(rgb, weight, scale=1 / SOLID), np.uint8)
    else:
        coverage = _beside_paper(coverage)
    noisy = is_noisy(rgb, (coverage == SOLID).astype(np.uint8))
    box = row0 - top, col0 - left, row1 - top, col1 - left
    return _Art(rgb, coverage, np.dstack([mixed, coverage]), noisy, box)


def _beside_paper(coverage: Bytes) -> Bytes:
    """Coverage where removed paper is within reach, all ink elsewhere.

    Where colours are mixed with paper, coverage was read from them; inside the art, without pure
    paper near, that is a guess that ringing of JPEG files can mislead.
    """
    reach = np.ones((2 * int(NOISY_REACH_PX) + 1,) * 2, np.uint8)
    near = cv2.dilate((coverage == 0).astype(np.uint8), reach)
    return np.where(near > 0, coverage, np.uint8(SOLID))


def _bare_colours(
    cutout: Cutout, garment_lab: Lab | None, knock_out_within: float
) -> list[tuple[Lab, float]]:
    """Colours that are left to the cloth, and the CIEDE2000 within which they are."""
    found = []
    if garment_lab is not None:
        found.append((garment_lab, knock_out_within))
    if cutout.paper_hex is not None:
        found.append((hex_to_lab(cutout.paper_hex), PAPER_WITHIN))
    return found


# --- which ink prints a colour ------------------------------------------------------------------


class _NearestInk:
    """The plan's nearest ink to any colour, or bare cloth where the garment is nearer still."""

    def __init__(
        self,
        inks: Sequence[SpotInk],
        bare_colours: Sequence[tuple[Lab, float]],
        garment_lab: Lab | None,
    ) -> None:
        self.bare = len(inks)
        self.labs = np.array([ink.lab for ink in inks], np.float64).reshape(-1, 1, 3)
        self.rgb = lab_to_srgb8(self.labs[:, 0]).astype(np.float32)
        self._bare_colours = bare_colours
        self._garment = garment_lab

    def of(self, rgb: Bytes) -> Bytes:
        """(n,) labels of (n, 3) colours."""
        return _by_colour(rgb, self._of_few)

    def nearer_to_cloth(self, rgb: Bytes) -> NDArray[np.bool_]:
        """(n,) whether the garment is nearer to (n, 3) colours than any ink, and no ink near."""
        if self._garment is None:
            return np.zeros(len(rgb), np.bool_)
        return _by_colour(rgb, self._cloth_is_nearer).view(np.bool_)

    def _of_few(self, rgb: Bytes) -> Bytes:
        lab = srgb8_to_lab(rgb, np.float64)
        apart = np.asarray(delta_e_2000(self.labs, lab[None]), np.float64)
        nearest = apart.argmin(axis=0).astype(np.uint8)
        for colour, within in self._bare_colours:
            bare = np.asarray(delta_e_2000(lab, np.array(colour)), np.float64)
            nearest[(bare <= within) & (bare < apart.min(axis=0))] = self.bare
        return np.asarray(nearest, np.uint8)

    def _cloth_is_nearer(self, rgb: Bytes) -> Bytes:
        lab = srgb8_to_lab(rgb, np.float64)
        apart = np.asarray(delta_e_2000(self.labs, lab[None]), np.float64).min(axis=0)
        cloth = np.asarray(delta_e_2000(lab, np.array(self._garment)), np.float64)
        return np.asarray((apart > OTHER_COLOUR) & (cloth < apart), np.bool_).view(np.uint8)


def _by_colour(rgb: Bytes, answer: Callable[[Bytes], Bytes]) -> Bytes:
    """(n,) the answer for each of (n, 3) colours, asked once for each small bin of them."""
    bins = rgb.astype(np.int32) >> (8 - LUT_BITS)
    keys = (bins[:, 0] << 2 * LUT_BITS) | (bins[:, 1] << LUT_BITS) | bins[:, 2]
    size = 1 << 3 * LUT_BITS
    counts = np.bincount(keys, minlength=size)
    sums = np.stack([np.bincount(keys, rgb[:, c], size) for c in range(3)], axis=1)
    held = np.flatnonzero(counts)
    means = np.rint(sums[held] / counts[held, None]).astype(np.uint8)
    table = np.zeros(size, np.uint8)
    table[held] = answer(means)
    return np.asarray(table[keys], np.uint8)


# --- left to the cloth --------------------------------------------------------------------------


def _leave_open(art: _Art, labels: Bytes, nearest: _NearestInk) -> tuple[Box, ...]:
    """Give cores amid ink to the cloth where it is nearer than any ink; their boxes."""
    inked = (labels != UNKNOWN) & (labels != nearest.bare)
    open_ = np.zeros(labels.shape, np.uint8)
    open_[inked] = nearest.nearer_to_cloth(art.rgb[inked])
    if not open_.any():
        return ()
    count, pieces, stats, _ = cv2.connectedComponentsWithStats(open_, connectivity=8)
    reach = int(NOISY_REACH_PX)
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


# --- cores --------------------------------------------------------------------------------------


def _core_labels(art: _Art, nearest: _NearestInk) -> Bytes:
    """(h, w) the ink of each pixel that shows one colour, `UNKNOWN` elsewhere."""
    labels = np.full(art.coverage.shape, UNKNOWN, np.uint8)
    sure = _level(art, 3)
    solid = art.coverage == SOLID
    _label(labels, art, sure & solid, nearest)
    labels[sure & (art.coverage == 0)] = nearest.bare
    if not art.noisy:
        likely = _level(art, 2) & solid & (labels == UNKNOWN)
        likely[likely] = _is_known(art.rgb[likely], art.rgb[sure & solid], nearest.rgb)
        _label(labels, art, likely, nearest)
    return labels


def _label(labels: Bytes, art: _Art, chosen: NDArray[np.bool_], nearest: _NearestInk) -> None:
    rgb = art.rgb
    if art.noisy:
        rgb = np.asarray(cv2.blur(rgb, (3, 3)), np.uint8)
    if chosen.any():
        labels[chosen] = nearest.of(rgb[chosen])


def _level(art: _Art, size: int) -> NDArray[np.bool_]:
    """Pixels of a ``size`` x ``size`` square whose spread is small; for 3 its middle alone."""
    square = np.ones((size, size), np.uint8)
    apart = cv2.subtract(cv2.dilate(art.mixed, square), cv2.erode(art.mixed, square))
    limit = NOISY_LEVEL if art.noisy else CLEAN_LEVEL
    level = (apart.max(axis=2) <= limit).astype(np.uint8)
    if size == 2:
        level = np.asarray(cv2.dilate(level, square, anchor=(0, 0)), np.uint8)
    return np.asarray(level > 0, np.bool_)


def _is_known(rgb: Bytes, sure: Bytes, inks: Floats) -> NDArray[np.bool_]:
    """Whether each colour is near one of those seen in cores, or of an ink."""
    known = np.concatenate([_common(sure), inks])
    keys, inverse = np.unique(rgb, axis=0, return_inverse=True)
    near = np.zeros(len(keys), np.bool_)
    for colour in known:
        near |= np.square(keys - colour).sum(axis=1) <= ALIKE_CODES**2
    return np.asarray(near[inverse.ravel()], np.bool_)


def _common(rgb: Bytes) -> Floats:
    """(n, 3) a colour for each bin of 16 codes that any of these falls in."""
    if not len(rgb):
        return np.zeros((0, 3), np.float32)
    bins = rgb.astype(np.int32) >> 4
    keys = (bins[:, 0] << 8) | (bins[:, 1] << 4) | bins[:, 2]
    counts = np.bincount(keys, minlength=4096)
    sums = np.stack([np.bincount(keys, rgb[:, c], 4096) for c in range(3)], axis=1)
    held = counts > 0
    return np.asarray(sums[held] / counts[held, None], np.float32)


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


def _explained(
    art: _Art, labels: Bytes, places: NDArray[np.intp], nearest: _NearestInk
) -> _Mixtures:
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
    art: _Art, labels: Bytes, places: NDArray[np.intp], nearest: _NearestInk, axes: Floats
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
