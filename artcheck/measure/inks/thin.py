"""Inks that nowhere fill a patch: thin lines, small letters.

Of the pixels that no mixture of the known inks around them explains, those that stand out most in
their surroundings lie in the middle of a line. Where many of them agree on a colour there is an
ink, and it explains its line's blended sides as well.
"""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from artcheck.colour.difference import delta_e_2000
from artcheck.measure.inks.mixtures import (
    ANY_TWO,
    LabelMap,
    Places,
    from_mixture,
    inks_around,
    mixture_distance,
)
from artcheck.measure.inks.palette import Palette, lab_of
from artcheck.measure.inks.working import Floats, Picture

CLEAN_CODES, NOISY_CODES = 10.0, 22.0
"""How far a mixture may be off in clean and in noisy art."""

AGREE_CODES = 26.0
"""Pixels of one line whose colours are this near agree: lines under two pixels wide are blended
along their middle too."""

MOST_MIDDLES = 1200
"""Middles compared with each other."""

LEAST_MIDDLES = 6
"""Fewer say nothing."""

MOST_ROUNDS = 24
"""Candidates looked at."""

DENSE = 0.4
"""Of the densest candidate's support, what a purer colour needs to be preferred."""

MOSTLY = 0.6
"""Share of an ink in a pixel from which it is shown as that ink."""


@dataclass(slots=True)
class _Open:
    """Pixels that nothing explains yet."""

    places: Places
    values: Floats
    around: LabelMap
    off: Floats
    middle: NDArray[np.bool_]

    def without(self, explained: NDArray[np.bool_]) -> _Open:
        rest = ~explained
        return _Open(
            self.places[rest],
            self.values[rest],
            self.around[rest],
            self.off[rest],
            self.middle[rest],
        )


def add_thin_inks(palette: Palette, picture: Picture, least_area: float) -> None:
    """Find the inks of thin lines and add them, or the lines to the inks that they repeat."""
    tolerance = NOISY_CODES if picture.noisy else CLEAN_CODES
    same = 6.0 if picture.noisy else 4.0
    open_ = _unexplained(palette, picture, tolerance)
    for _ in range(MOST_ROUNDS):
        colour = _candidate(open_)
        if colour is None:
            return
        share = _share_of(colour, open_, palette, tolerance)
        apart = delta_e_2000(lab_of(colour[None]), palette.lab) if palette.rgb else np.array([99.0])
        area = float(share.sum())
        if apart.min() < same:
            ink = int(apart.argmin())
        elif area >= least_area:
            ink = len(palette.rgb)
            palette.rgb.append(colour.astype(np.float64))
            palette.area.append(0.0)
        else:
            ink = -1
        if ink >= 0:
            palette.area[ink] += area
            palette.labels.ravel()[open_.places[share > MOSTLY]] = ink + 1
        open_ = open_.without(share > 0)


def _unexplained(palette: Palette, picture: Picture, tolerance: float) -> _Open:
    unknown = (palette.labels == 0) & (picture.visible > 0)
    places = np.flatnonzero(unknown)
    values = picture.rgb.reshape(-1, 3)[places].astype(np.float32)
    around = inks_around(places, palette.labels)
    off = mixture_distance(values, around, palette.colours, ANY_TWO, apart=picture.noisy)
    off[np.isinf(off)] = 255.0
    far = np.flatnonzero(off > tolerance)
    repeated = _with_any_ink(values[far], around[far], palette.colours, apart=picture.noisy)
    off[far] = np.minimum(off[far], repeated)
    stands_out = np.zeros(palette.labels.shape, np.float32)
    stands_out.ravel()[places] = off
    highest = cv2.dilate(stands_out, np.ones((3, 3), np.uint8)).ravel()[places]
    found = _Open(places, values, around, off, off >= highest)
    return found.without(off <= tolerance)


def _with_any_ink(values: Floats, around: LabelMap, inks: Floats, *, apart: bool) -> Floats:
    """Distance from mixtures of an ink around with any ink: thin lines of one known elsewhere."""
    best = np.full(len(values), np.inf, np.float32)
    for ink in inks:
        best = np.minimum(best, np.sqrt(np.square(values - ink).sum(axis=1)))
        for column in around.T:
            known = np.flatnonzero(column > 0)
            start = inks[column[known] - 1]
            end = np.broadcast_to(ink, start.shape)
            off, _ = from_mixture(values[known], start, end, apart=apart)
            best[known] = np.minimum(best[known], off)
    return best


def _candidate(open_: _Open) -> Floats | None:
    """The purest colour that many middles agree on."""
    chosen = np.flatnonzero(open_.middle)
    chosen = chosen[:: max(1, chosen.size // MOST_MIDDLES)]
    values, off = open_.values[chosen], open_.off[chosen]
    if chosen.size < LEAST_MIDDLES:
        return None
    near = np.square(values[:, None] - values[None]).sum(axis=2) < AGREE_CODES**2
    support = near.sum(axis=1)
    if support.max() < LEAST_MIDDLES:
        return None
    dense = support >= max(LEAST_MIDDLES, DENSE * support.max())
    purest = int(np.where(dense, off, -1).argmax())
    return np.asarray(np.median(values[near[purest]], axis=0), np.float32)


def _share_of(colour: Floats, open_: _Open, palette: Palette, tolerance: float) -> Floats:
    """How much of each open pixel is ``colour``, if it and an ink around explain the pixel."""
    inks = palette.colours
    best = np.sqrt(np.square(open_.values - colour).sum(axis=1))
    share = np.where(best < max(tolerance, AGREE_CODES), np.float32(1), np.float32(0))
    best = np.where(share > 0, best, np.inf)
    for column in open_.around.T:
        known = np.flatnonzero(column > 0)
        start = inks[column[known] - 1]
        end = np.broadcast_to(colour, start.shape)
        off, along = from_mixture(open_.values[known], start, end, apart=False)
        better = (off < tolerance) & (off < best[known])
        share[known[better]], best[known[better]] = along[better], off[better]
    return np.asarray(share, np.float32)
