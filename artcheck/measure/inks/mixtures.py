"""Whether a pixel is a mixture of the inks around it, and in what shares."""

from __future__ import annotations

from collections.abc import Collection, Iterator
from dataclasses import dataclass
from itertools import combinations

import numpy as np
from numpy.typing import NDArray

from artcheck.colour.spaces import LUMA
from artcheck.measure.inks.working import Floats

Places = NDArray[np.intp]
LabelMap = NDArray[np.int16]

REACH_PX = 4
"""How far an ink may lie from a pixel that is a mixture with it."""

DIRECTIONS = ((0, 1), (1, 1), (1, 0), (1, -1), (0, -1), (-1, -1), (-1, 0), (-1, 1))
"""(down, right), around the compass."""

MOST_INKS = 60
"""Inks that a set in one integer can hold; art with more is not flat."""

SEAM_PAPER = 0.3
"""Most paper that shows through where two shapes meet, each anti-aliased for itself: (1 - a)(1 - b)
for coverages a + b = 1 is a quarter at most; renderers round coverages."""

LIGHT = np.array(LUMA, np.float32)
"""Weights of red, green and blue in a colour's light."""

EVEN_LIGHT = 3.0
"""An even change of three channels by 1 is a distance of the root of 3."""


def inks_around(places: Places, labels: LabelMap) -> NDArray[np.int64]:
    """The set of known inks that are met first in the eight `DIRECTIONS`, within `REACH_PX`.

    Parameters
    ----------
    places
        (n,) flat indices into ``labels``.
    labels
        (h, w) int16: 0 where no ink is known, else 1 + its index.

    Returns
    -------
    (n,) int64; bit i is set where ink i is met.
    """
    height, width = labels.shape
    rows, cols = np.divmod(places, width)
    found = np.zeros(len(places), np.int64)
    for down, right in DIRECTIONS:
        met = np.zeros(len(places), np.int16)
        for step in range(1, REACH_PX + 1):
            r = np.clip(rows + step * down, 0, height - 1)
            c = np.clip(cols + step * right, 0, width - 1)
            np.copyto(met, labels[r, c], where=met == 0)
        found |= np.left_shift(1, met.astype(np.int64)) >> 1
    return found


def grouped(around: NDArray[np.int64]) -> Iterator[tuple[list[int], NDArray[np.intp]]]:
    """Each set of inks that occurs, with the indices of the pixels that have it around them."""
    if not around.size:
        return
    order = np.argsort(around, kind="stable")
    sets, starts = np.unique(around[order], return_index=True)
    for members, inks in zip(np.split(order, starts[1:]), sets, strict=True):
        yield [ink for ink in range(MOST_INKS) if int(inks) >> ink & 1], members


@dataclass(slots=True)
class Explained:
    """What each of n pixels is best explained as.

    ``off`` (n,) distance from the explanation in codes; ``first`` and ``second`` (n,) the inks, -1
    where there is none; ``share`` (n,) how much of the pixel is the second, 0-1.
    """

    off: Floats
    first: LabelMap
    second: LabelMap
    share: Floats

    @classmethod
    def nothing(cls, count: int) -> Explained:
        """No explanation yet."""
        none = np.full(count, -1, np.int16)
        off = np.full(count, np.inf, np.float32)
        return cls(off, none, none.copy(), np.zeros(count, np.float32))

    def offer(self, members: NDArray[np.intp], mixture: Mixture, values: Floats) -> None:
        """Take a mixture's explanation of ``members`` where it is nearer; ``values`` are theirs."""
        off, share = mixture.distance(values)
        nearer = off < self.off[members]
        chosen = members[nearer]
        self.off[chosen], self.share[chosen] = off[nearer], share[nearer]
        self.first[chosen], self.second[chosen] = mixture.first, mixture.second


@dataclass(frozen=True, slots=True)
class Blending:
    """How colours blend in a picture.

    ``apart``: light and colour may mix in different shares, as they do in JPEG files, which store
    colour more coarsely, so that it runs over an edge where light does not. ``paper``: the colour
    that shows through the seam where two shapes meet, each anti-aliased for itself; None where
    nothing does.
    """

    apart: bool
    paper: Floats | None


@dataclass(frozen=True, slots=True)
class Mixture:
    """Two inks and their colours."""

    first: int
    second: int
    start: Floats
    end: Floats
    blending: Blending

    def distance(self, values: Floats) -> tuple[Floats, Floats]:
        """Distance of each value from the mixtures, codes, and the second ink's share there."""
        if self.blending.apart:
            off, share = _off_apart(values, self.start, self.end)
        else:
            off, share = _off_segment(values, self.start, self.end)
        if self.blending.paper is not None and self.first != self.second:
            self._try_seams(values, self.blending.paper, off, share)
        return np.sqrt(off), share

    def _try_seams(self, values: Floats, paper: Floats, off: Floats, share: Floats) -> None:
        """Where the seam of two shapes with paper behind it explains a value better, take that."""
        axes = np.stack([self.end - self.start, paper - self.start])
        from_start = values - self.start
        through = (from_start @ np.linalg.pinv(axes))[:, 1]
        through = np.clip(through, 0, SEAM_PAPER)[:, None]
        rest = (from_start - through * axes[1]) @ axes[0] / max(float(axes[0] @ axes[0]), 1e-6)
        second = np.clip(rest[:, None], 0, 1 - through)
        seam_off = np.square(from_start - through * axes[1] - second * axes[0]).sum(axis=1)
        better = seam_off < off
        off[better] = seam_off[better]
        share[better] = (second / (1 - through))[better, 0]


def _off_apart(values: Floats, start: Floats, end: Floats) -> tuple[Floats, Floats]:
    colour, _ = _off_segment(*(_without_light(each) for each in (values, start, end)))
    light, share = _off_segment(*((each @ LIGHT)[..., None] for each in (values, start, end)))
    return colour + EVEN_LIGHT * light, share


def _without_light(rgb: Floats) -> Floats:
    return rgb - (rgb @ LIGHT)[..., None]


def _off_segment(values: Floats, start: Floats, end: Floats) -> tuple[Floats, Floats]:
    """Squared distance of each value from the segment, and how far along it is nearest (0-1)."""
    axis = end - start
    length = max(float(axis @ axis), 1e-6)
    along = np.clip((values - start) @ axis / length, 0, 1).astype(np.float32)
    off = values - start - along[:, None] * axis
    return np.square(off).sum(axis=1).astype(np.float32), along


def explain(
    values: Floats,
    around: NDArray[np.int64],
    inks: Floats,
    blending: Blending,
) -> Explained:
    """Explain each pixel by the inks around it: as one of them or as a mixture of two.

    Parameters
    ----------
    values
        (n, 3) float32 colours, 0-255.
    around
        (n,) from `inks_around`.
    inks
        (k, 3) float32 colours of the inks.
    """
    found = Explained.nothing(len(values))
    for known, members in grouped(around):
        mine = values[members]
        pairs = combinations(known, 2) if len(known) > 1 else ((ink, ink) for ink in known)
        for one, other in pairs:
            found.offer(members, Mixture(one, other, inks[one], inks[other], blending), mine)
    return found


def explain_further(
    found: Explained,
    values: Floats,
    around: NDArray[np.int64],
    inks: Floats,
    blending: Blending,
    tolerances: tuple[float, float],
) -> None:
    """Explain what is off by more than the first tolerance by inks known from elsewhere.

    First as mixtures of an ink around with any ink, then, by the second, stricter tolerance, of
    any two: lines so thin that no pixel shows their ink, side by side.
    """
    explain_from_afar(found, values, around, inks, blending, tolerances[0])
    open_ = np.flatnonzero(found.off > tolerances[0])
    last = Explained.nothing(open_.size)
    for one, other in combinations(range(len(inks)), 2):
        mixture = Mixture(one, other, inks[one], inks[other], blending)
        last.offer(np.arange(open_.size), mixture, values[open_])
    taken = last.off < tolerances[1]
    chosen = open_[taken]
    found.off[chosen], found.share[chosen] = last.off[taken], last.share[taken]
    found.first[chosen], found.second[chosen] = last.first[taken], last.second[taken]


def explain_from_afar(
    found: Explained,
    values: Floats,
    around: NDArray[np.int64],
    inks: Floats,
    blending: Blending,
    tolerance: float,
    barred: Collection[int] = (),
) -> None:
    """Explain what is off by more than the tolerance as mixtures of an ink around with any ink.

    That is how a line looks that is too thin to show its ink unmixed. ``barred``: inks that may
    not explain.
    """
    allowed = [ink for ink in range(len(inks)) if ink not in barred]
    open_ = np.flatnonzero(found.off > tolerance)
    for known, within in grouped(around[open_]):
        members = open_[within]
        mine = values[members]
        for one in known:
            for other in allowed:
                if other != one:
                    mixture = Mixture(one, other, inks[one], inks[other], blending)
                    found.offer(members, mixture, mine)


def explain_as_lines(
    found: Explained,
    values: Floats,
    around: NDArray[np.int64],
    inks: Floats,
    tolerance: float,
    barred: Collection[int],
) -> None:
    """The same as mixtures of two inks around with any third: a thin line where they meet.

    ``first`` is the one of the two that has more of the pixel.
    """
    open_ = np.flatnonzero(found.off > tolerance)
    for known, within in grouped(around[open_]):
        members = open_[within]
        mine = values[members]
        for one, other in combinations(known, 2):
            for line in range(len(inks)):
                if line not in (one, other, *barred):
                    _offer_line(found, members, mine, inks, (one, other, line))


def _offer_line(
    found: Explained,
    members: NDArray[np.intp],
    values: Floats,
    inks: Floats,
    corners: tuple[int, int, int],
) -> None:
    one, other, line = corners
    axes = np.stack([inks[other] - inks[one], inks[line] - inks[one]])
    from_one = values - inks[one]
    parts = np.clip(from_one @ np.linalg.pinv(axes), 0, 1)
    off = np.sqrt(np.square(from_one - parts @ axes).sum(axis=1))
    nearer = (off < found.off[members]) & (parts.sum(axis=1) <= 1)
    chosen = members[nearer]
    found.off[chosen], found.share[chosen] = off[nearer], parts[nearer, 1]
    more_of_other = parts[nearer, 0] > 1 - parts[nearer].sum(axis=1)
    found.first[chosen] = np.where(more_of_other, other, one)
    found.second[chosen] = line
