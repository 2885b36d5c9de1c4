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
from artcheck.imaging.medians import median
from artcheck.measure.inks.mixtures import (
    MOST_INKS,
    Blending,
    Explained,
    Mixture,
    Places,
    explain,
    explain_further,
    grouped,
    inks_around,
)
from artcheck.measure.inks.palette import Palette, blending_of, lab_of
from artcheck.measure.inks.working import Floats, Picture

CLEAN_CODES, NOISY_CODES = (10.0, 5.0), (22.0, 12.0)
"""How far a mixture may be off in clean and in noisy art: of inks around, and of any two."""

ALIKE_CODES = (8.0, 14.0)
"""How far a pixel may be from an ink to be shown as it, in clean and in noisy art."""

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
    around: NDArray[np.int64]
    off: Floats
    middle: NDArray[np.bool_]

    def where(self, chosen: NDArray[np.bool_]) -> _Open:
        """The chosen ones."""
        return _Open(
            self.places[chosen],
            self.values[chosen],
            self.around[chosen],
            self.off[chosen],
            self.middle[chosen],
        )


def add_thin_inks(palette: Palette, picture: Picture, least_area: float) -> None:
    """Share out the blended pixels; find the inks of thin lines and add them to the palette."""
    tolerances = NOISY_CODES if picture.noisy else CLEAN_CODES
    same = 6.0 if picture.noisy else 4.0
    before = palette.labels.copy()
    mark_alike(palette, picture)
    _count_marked(palette, picture, before)
    open_ = _unexplained(palette, picture, tolerances)
    cover = picture.coverage.ravel()
    for _ in range(MOST_ROUNDS):
        colour = _candidate(open_)
        if colour is None or len(palette.rgb) >= MOST_INKS:
            return
        share = _share_of(colour, open_, palette, tolerances[0])
        area = float((share * cover[open_.places]).sum()) / 255
        apart = delta_e_2000(lab_of(colour[None]), palette.lab) if palette.rgb else np.array([99.0])
        if apart.min() < same:
            ink = int(apart.argmin())
        elif area >= least_area:
            ink = len(palette.rgb)
            palette.rgb.append(colour.astype(np.float64))
            palette.area.append(0.0)
            palette.thin.add(ink)
        else:
            ink = -1
        if ink >= 0:
            palette.area[ink] += area
            palette.labels.ravel()[open_.places[share > MOSTLY]] = ink + 1
        open_ = open_.where(share == 0)


def mark_alike(palette: Palette, picture: Picture) -> None:
    """Mark unknown pixels that have an ink's colour: narrow parts of it."""
    if not palette.rgb:
        return
    places = np.flatnonzero((palette.labels == 0) & (picture.visible > 0))
    values = picture.rgb.reshape(-1, 3)[places].astype(np.float32)
    nearest = np.full(len(places), ALIKE_CODES[picture.noisy] ** 2, np.float32)
    for number, ink in enumerate(palette.colours):
        off = np.square(values - ink).sum(axis=1)
        near = off < nearest
        nearest[near] = off[near]
        palette.labels.ravel()[places[near]] = number + 1


def _count_marked(palette: Palette, picture: Picture, before: NDArray[np.int16]) -> None:
    """Add newly marked pixels to their inks' areas."""
    new = palette.labels[before != palette.labels]
    cover = picture.coverage[before != palette.labels] / 255
    for ink, area in enumerate(np.bincount(new, cover, len(palette.rgb) + 1)[1:]):
        palette.area[ink] += float(area)


def _unexplained(palette: Palette, picture: Picture, tolerances: tuple[float, float]) -> _Open:
    """Give what mixtures explain to their inks; the rest, with those that stand out marked."""
    unknown = (palette.labels == 0) & (picture.visible > 0)
    places = np.flatnonzero(unknown)
    values = picture.rgb.reshape(-1, 3)[places].astype(np.float32)
    around = inks_around(places, palette.labels)
    blending = blending_of(picture)
    found = explain(values, around, palette.colours, blending)
    explain_further(found, values, around, palette.colours, blending, tolerances)
    _share_out(palette, found, picture.coverage.ravel()[places], tolerances[0])
    off = np.minimum(found.off, 255)
    stands_out = np.zeros(palette.labels.shape, np.float32)
    stands_out.ravel()[places] = off
    highest = cv2.dilate(stands_out, np.ones((3, 3), np.uint8)).ravel()[places]
    return _Open(places, values, around, off, off >= highest).where(off > tolerances[0])


def _share_out(
    palette: Palette, found: Explained, cover: NDArray[np.uint8], tolerance: float
) -> None:
    """Add the explained pixels to the areas of their inks."""
    sure = (found.off <= tolerance) & (found.first >= 0)
    count = len(palette.rgb)
    weight = cover[sure] / 255
    second = weight * found.share[sure]
    areas = np.bincount(found.first[sure], weight - second, count)
    areas += np.bincount(found.second[sure], second, count)
    for ink, area in enumerate(areas):
        palette.area[ink] += float(area)


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
    return np.asarray(median(values[near[purest]], axis=0), np.float32)


def _share_of(colour: Floats, open_: _Open, palette: Palette, tolerance: float) -> Floats:
    """How much of each open pixel is ``colour``, if it and an ink around explain the pixel."""
    inks = palette.colours
    best = np.sqrt(np.square(open_.values - colour).sum(axis=1))
    share = np.where(best < max(tolerance, AGREE_CODES), np.float32(1), np.float32(0))
    best = np.where(share > 0, best, np.inf)
    blending = Blending(apart=False, paper=None)
    found = Explained.nothing(len(best))
    for known, members in grouped(open_.around):
        for ink in known:
            mixture = Mixture(ink, 0, inks[ink], colour, blending)
            found.offer(members, mixture, open_.values[members])
    better = (found.off < tolerance) & (found.off < best)
    share[better] = found.share[better]
    return np.asarray(share, np.float32)
