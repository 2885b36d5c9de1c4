"""Fades kept as tints: the lighter of two inks solid, the darker in dots over it.

A fade to nothing is one ink in dots on bare cloth. What lies beside a fade keeps its edge: only
pixels whose colour can be had from the two inks are taken.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import combinations

import cv2
import numpy as np
from numpy.typing import NDArray

from artcheck.colour.difference import delta_e_2000
from artcheck.colour.mixing import blends
from artcheck.colour.spaces import hex_to_srgb8, srgb8_to_lab
from artcheck.domain.artwork import Cutout
from artcheck.domain.base import Box
from artcheck.domain.separation import NO_INK, SpotInk

Bytes = NDArray[np.uint8]
Mask = NDArray[np.bool_]
Floats = NDArray[np.floating]

NO_FADE = 254
"""Where nothing fades, in the map of what lies under a tint."""

BLEND_STEPS = 33
"""Shares at which the blend of two inks is looked at."""

SAMPLE = 600
"""Pixels of a fade by which its inks are chosen."""

LEAST_GAIN = 1.0
"""CIEDE2000 on the average by which dots must come nearer than flat inks: less is not noticed
(common practice)."""

ON_BLEND = 14.0
"""Distance in CIELAB from the blend within which a pixel belongs to its fade: a fade between two
inks seldom runs quite as their dots do, and lettering on it stands farther off."""

LEAST_TINT, MOST_TINT = 0.03, 0.97
"""Tints beyond these print as bare and solid: a dot of 3 % at 45 lines is a tenth of a point wide
(common practice keeps 10-90 % and loses the rest without planning)."""

PARTLY_SHARE = 0.5
"""Part of a fade's pixels that are partly covered from which it fades to nothing."""

BESIDE_PX = 2
"""Working pixels by which the place of a fade may be off: its edge is found pixel by pixel."""

RIM_PX = 2
"""Pixels of the art over which a tint is carried on into an edge."""


@dataclass(frozen=True, slots=True)
class Tints:
    """Fades over the art's box, at its own resolution.

    Attributes
    ----------
    tint
        (h, w) uint8, the tint of the ink that fades, 0-255.
    over, under
        (h, w) uint8, that ink and what lies solid under it (`NO_INK`: cloth); `NO_FADE` elsewhere.
    kept, flattened
        Boxes of fades, in pixels of the art's box, kept with the two inks, or left flat.
    """

    tint: Bytes
    over: Bytes
    under: Bytes
    kept: tuple[tuple[Box, int, int], ...]
    flattened: tuple[Box, ...]


def keep_fades(
    cutout: Cutout, inks: Sequence[SpotInk], fades: Mask, planes: Bytes, *, dots: bool = True
) -> Tints:
    """Take fades out of the inks' shares and give their tints.

    Parameters
    ----------
    cutout, inks
        The art, and the inks that print it.
    fades
        (a, b) bool over the art's box at any size: where it fades.
    planes
        (k + 1, h, w) uint8, shares of every ink and of bare cloth. Changed: where a fade is kept,
        all ink is the one that lies under the dots.
    dots
        False where the method prints no tints: every fade is left flat.
    """
    shape = planes.shape[1:]
    found = Tints(
        tint=np.zeros(shape, np.uint8),
        over=np.full(shape, NO_FADE, np.uint8),
        under=np.full(shape, NO_FADE, np.uint8),
        kept=(),
        flattened=(),
    )
    kept: list[tuple[Box, int, int]] = []
    flattened: list[Box] = []
    for place, region, own in _regions(fades, shape):
        one = _Fade(cutout, inks, planes, place, region, own)
        pair = one.pair() if dots else None
        if pair is None:
            flattened.append(place)
            continue
        one.take(pair, found)
        kept.append((place, *pair))
    return Tints(found.tint, found.over, found.under, tuple(kept), tuple(flattened))


def enlarged_tints(found: Tints, labels: Bytes, count: int) -> tuple[Bytes | None, ...]:
    """The tint of each of ``count`` inks at the output's resolution, None where it has none."""
    size = labels.shape[::-1]
    how = cv2.INTER_LINEAR if size[0] >= found.tint.shape[1] else cv2.INTER_AREA
    under = cv2.resize(found.under, size, interpolation=cv2.INTER_NEAREST)
    over = cv2.resize(found.over, size, interpolation=cv2.INTER_NEAREST)
    tint = np.asarray(cv2.resize(found.tint, size, interpolation=how), np.uint8)
    tint[labels != under] = 0
    inks = set(np.unique(found.over).tolist()) - {NO_FADE}
    return tuple(
        np.where(over == number, tint, np.uint8(0)) if number in inks else None
        for number in range(count)
    )


def _regions(fades: Mask, shape: tuple[int, ...]) -> list[tuple[Box, Mask, Mask]]:
    """Each fade's box in the art and, in that, its (h, w) place widened a little, and its own.

    Largest first.
    """
    count, numbers, stats, _ = cv2.connectedComponentsWithStats(fades.astype(np.uint8))
    order = sorted(range(1, count), key=lambda n: (-int(stats[n, cv2.CC_STAT_AREA]), n))
    square = np.ones((2 * BESIDE_PX + 1,) * 2, np.uint8)
    down, across = (side / small for side, small in zip(shape, fades.shape, strict=True))
    found = []
    for number in order:
        own = (numbers == number).astype(np.uint8)
        wide = np.asarray(cv2.dilate(own, square))
        rows, cols = (np.flatnonzero(wide.any(axis=axis)) for axis in (1, 0))
        row0, row1 = int(rows[0]), int(rows[-1]) + 1
        col0, col1 = int(cols[0]), int(cols[-1]) + 1
        box = (
            round(row0 * down),
            round(col0 * across),
            round(row1 * down),
            round(col1 * across),
        )
        size = box[3] - box[1], box[2] - box[0]
        wide_there, own_there = (
            np.asarray(
                cv2.resize(mask[row0:row1, col0:col1], size, interpolation=cv2.INTER_NEAREST) > 0
            )
            for mask in (wide, own)
        )
        found.append((box, wide_there, own_there))
    return found


def _reached(mask: Mask, own: Mask) -> Mask:
    """The pieces of a mask that hold some of a fade's own pixels.

    A solid in one of the fade's two inks, across a gap that is narrower than the widening, is none.
    """
    count, pieces = cv2.connectedComponents(mask.astype(np.uint8), connectivity=8)
    held = np.zeros(count, np.bool_)
    held[np.unique(pieces[own & mask])] = True
    return np.asarray(held[pieces], np.bool_)


class _Fade:
    """One fade: its pixels, and what they are printed in."""

    def __init__(
        self,
        cutout: Cutout,
        inks: Sequence[SpotInk],
        planes: Bytes,
        place: Box,
        region: Mask,
        own: Mask,
    ) -> None:
        top, left = cutout.box[:2]
        art = np.s_[top + place[0] : top + place[2], left + place[1] : left + place[3]]
        self.rgb = np.ascontiguousarray(cutout.rgb[art])
        self.coverage = cutout.coverage[art]
        self.inks = inks
        self.paper_hex = cutout.paper_hex
        self.place = np.s_[place[0] : place[2], place[1] : place[3]]
        self.planes = planes[:, place[0] : place[2], place[1] : place[3]]
        self.region, self.own = region, own

    def pair(self) -> tuple[int, int] | None:
        """What lies under and the ink that fades over it; None where flat inks do as well."""
        inside = self.region & (self.coverage > 0)
        if not inside.any():
            return None
        partly = (self.coverage < 255) & inside
        opaque = inside & ~partly
        if partly.sum() >= PARTLY_SHARE * inside.sum():
            return NO_INK, self._nearest(self._sample(inside))
        lab = self._sample(opaque)
        flat = self._apart(lab).min(axis=0).mean()
        scores = {pair: self._apart_blend(lab, pair) for pair in self._pairs()}
        best = min(scores, key=lambda pair: (scores[pair], pair), default=None)
        return best if best is not None and flat - scores[best] >= LEAST_GAIN else None

    def _pairs(self) -> Iterator[tuple[int, int]]:
        """What may lie under, and what over it: the darker ink, or any on bare cloth.

        Removed paper stands for the cloth that shows in its place.
        """
        order = sorted(range(len(self.inks)), key=lambda number: -self.inks[number].lab[0])
        yield from combinations(order, 2)
        if self.paper_hex is not None:
            yield from ((NO_INK, number) for number in order)

    def take(self, pair: tuple[int, int], found: Tints) -> None:
        """Write the fade's tint, and give its place to what lies under."""
        under, over = pair
        share: Floats
        if under == NO_INK and self.paper_hex is None:
            share = np.asarray(self.coverage, np.float32) / np.float32(255)
            mine = self.region & (self.coverage < 255) & (self.coverage > 0)
        else:
            share, apart = self._shares(pair)
            mine = self.region & (apart <= ON_BLEND) & (self.coverage > 0)
        mine = _reached(mine, self.own)
        if not mine.any():
            return
        weight = mine.astype(np.float32)
        size = (2 * RIM_PX + 1,) * 2
        carried = cv2.blur(share * weight, size) / np.maximum(cv2.blur(weight, size), 1e-6)
        fine = (3, 3)
        smooth = cv2.blur(share * weight, fine) / np.maximum(cv2.blur(weight, fine), 1e-6)
        tint = np.where(mine, smooth, carried)
        tint = np.where(tint < LEAST_TINT, 0, np.where(tint > MOST_TINT, 1, tint))
        free = found.under[self.place] == NO_FADE
        wide = cv2.dilate(weight.astype(np.uint8), np.ones(size, np.uint8)) > 0
        edge = wide & (self.planes.max(axis=0) < 255) & (under != NO_INK)
        # Beyond the edge too, where nothing prints it: enlarged, the tint stays whole to the rim.
        found.tint[self.place][wide & free] = np.rint(tint * 255).astype(np.uint8)[wide & free]
        here = (mine | edge) & free
        found.over[self.place][here] = over
        found.under[self.place][here] = under
        self._give(under, mine & here)

    def _give(self, under: int, mine: Mask) -> None:
        bare = self.planes[-1][mine] if under != NO_INK else np.uint8(255)
        self.planes[:-1, mine] = 0
        self.planes[-1][mine] = bare
        if under != NO_INK:
            self.planes[under][mine] = 255 - bare

    def _sample(self, chosen: Mask) -> NDArray[np.float64]:
        """(n, 3) Lab of some of the chosen pixels, evenly spread."""
        rgb = self.rgb[chosen]
        step = max(1, len(rgb) // SAMPLE)
        return np.asarray(srgb8_to_lab(np.ascontiguousarray(rgb[::step]), np.float64), np.float64)

    def _apart(self, lab: NDArray[np.float64]) -> Floats:
        labs = np.array([ink.lab for ink in self.inks], np.float64)
        return np.asarray(delta_e_2000(labs[:, None], lab[None]))

    def _nearest(self, lab: NDArray[np.float64]) -> int:
        return int(self._apart(lab).mean(axis=1).argmin())

    def _blend(self, pair: tuple[int, int], steps: int) -> NDArray[np.float64]:
        one, other = (
            hex_to_srgb8(self.inks[number].hex if number != NO_INK else self.paper_hex or "#ffffff")
            for number in pair
        )
        return np.asarray(srgb8_to_lab(blends(one, other, steps), np.float64), np.float64)

    def _apart_blend(self, lab: NDArray[np.float64], pair: tuple[int, int]) -> float:
        blend = self._blend(pair, BLEND_STEPS)
        return float(np.asarray(delta_e_2000(blend[:, None], lab[None])).min(axis=0).mean())

    def _shares(self, pair: tuple[int, int]) -> tuple[NDArray[np.float32], NDArray[np.float32]]:
        """(h, w) share of the second ink that shows each pixel's colour, and how far off that is.

        Along the line between the two inks in CIELAB; the blend of their dots bends away from it.
        """
        blend = self._blend(pair, 256)
        axis = blend[-1] - blend[0]
        length = max(float(axis @ axis), 1e-9)
        along = (blend - blend[0]) @ axis / length
        lab = srgb8_to_lab(self.rgb)
        at = (lab - blend[0].astype(np.float32)) @ (axis / length).astype(np.float32)
        step = np.interp(at.ravel(), np.maximum.accumulate(along), np.arange(256))
        nearest = blend.astype(np.float32)[np.rint(step).astype(np.intp)].reshape(lab.shape)
        apart = np.sqrt(np.square(lab - nearest).sum(axis=2))
        share = (step / 255).reshape(at.shape)
        return share.astype(np.float32), np.asarray(apart, np.float32)
