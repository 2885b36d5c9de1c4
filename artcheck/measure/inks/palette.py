"""From patches to inks: the surest first, each later one an old ink, a mixture or a new ink."""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from artcheck.colour.difference import delta_e_2000
from artcheck.colour.spaces import srgb8_to_lab
from artcheck.measure.inks.cores import Patches, exact_patches, smooth_patches
from artcheck.measure.inks.mixtures import MOST_INKS, Blending, explain, inks_around
from artcheck.measure.inks.working import Floats, Picture

SAME_INK = 2.0
"""CIEDE2000 under which two colours are one ink: what a trained eye just tells side by side."""

NOISY_SAME_INK = 2.6
"""The same in noisy art, whose areas of one ink wander by that much."""

MOST_WANDER = 5.0
"""CIEDE2000 that the mean of a small uneven patch may be further off: even one pixel of an ink is
not shifted more by compression of quality 60."""

NOISY_LEVELS = (2, 5, 9, 14, 20)
"""Tolerances in codes at which noisy art is searched for patches, surest first."""

LEAST_SHARE = 0.0025
"""Share of the ink area from which a colour is an ink, measured without its blended rims."""

SAMPLE = 400
"""Pixels of a candidate that are asked whether they are mixtures."""


@dataclass(slots=True)
class Palette:
    """Inks found so far, and which pixels are known to be which.

    Attributes
    ----------
    labels
        (h, w) int16: 0 unknown, else 1 + ink.
    has_paper
        The first ink is the paper.
    rgb, area
        Mean colour, 0-255, and working pixels of each ink.
    thin
        Inks that are seen in thin lines alone.
    dropped
        Inks taken for blends after all, with the area they had.
    fade_ends
        Inks that are the end of a fade and no solid.
    """

    labels: NDArray[np.int16]
    has_paper: bool
    rgb: list[NDArray[np.float64]] = field(default_factory=list)
    area: list[float] = field(default_factory=list)
    thin: set[int] = field(default_factory=set)
    dropped: dict[int, float] = field(default_factory=dict)
    fade_ends: set[int] = field(default_factory=set)

    @property
    def colours(self) -> Floats:
        """(k, 3) float32 mean colours, 0-255."""
        return np.asarray(self.rgb, np.float32).reshape(-1, 3)

    @property
    def lab(self) -> NDArray[np.floating]:
        """(k, 3) the same in CIELAB."""
        return lab_of(self.colours)


def lab_of(rgb: NDArray[np.floating]) -> NDArray[np.floating]:
    """CIELAB of mean colours, (n, 3), rounded to codes."""
    return srgb8_to_lab(np.rint(np.clip(rgb, 0, 255)).astype(np.uint8))


def find_palette(picture: Picture) -> Palette:
    """Every ink that shows itself unmixed somewhere."""
    palette = Palette(picture.paper.astype(np.int16), picture.paper_rgb is not None)
    if picture.paper_rgb is not None:
        palette.rgb.append(np.array(picture.paper_rgb, np.float64))
        palette.area.append(float(np.count_nonzero(picture.paper)))
    ink_area = float(picture.coverage.sum()) / 255
    for tolerance in NOISY_LEVELS if picture.noisy else (0,):
        free = ((palette.labels == 0) & (picture.visible > 0)).astype(np.uint8)
        if tolerance == 0:
            patches = exact_patches(picture, free)
        else:
            patches = smooth_patches(picture, free, tolerance)
        _absorb(palette, picture, patches, tolerance, LEAST_SHARE * ink_area)
    return palette


def _absorb(
    palette: Palette, picture: Picture, patches: Patches, tolerance: int, least_area: float
) -> None:
    """Give every patch its ink; groups of patches that are none yet become inks, largest first."""
    lab = lab_of(patches.rgb)
    ink_of = np.full(len(lab), -1)
    order = np.argsort(-patches.area, kind="stable")
    _join(palette, patches, lab, ink_of, tolerance)
    _mark(palette, patches, ink_of)
    refused = np.zeros(len(lab), bool)
    for leader in order:
        if ink_of[leader] >= 0 or refused[leader] or len(palette.rgb) >= MOST_INKS:
            continue
        near = (ink_of < 0) & ~refused
        near &= delta_e_2000(lab[leader], lab) < _limit(patches.area, tolerance)
        near[leader] = True
        area = float(patches.area[near].sum())
        if area < least_area / 4 or _is_mixture(palette, picture, patches, near, tolerance):
            refused |= near
            continue
        palette.rgb.append(np.average(patches.rgb[near], axis=0, weights=patches.area[near]))
        palette.area.append(area)
        ink_of[near] = len(palette.rgb) - 1
        _join(palette, patches, lab, ink_of, tolerance)
        _mark(palette, patches, ink_of)


def _limit(area: NDArray[np.intp], tolerance: int) -> NDArray[np.floating]:
    """CIEDE2000 within which a patch is an ink: its mean wanders when it is small and uneven."""
    base = NOISY_SAME_INK if tolerance else SAME_INK
    return base + np.minimum(tolerance / np.sqrt(np.maximum(area, 1) / 16), MOST_WANDER)


def _join(
    palette: Palette,
    patches: Patches,
    lab: NDArray[np.floating],
    ink_of: NDArray[np.int_],
    tolerance: int,
) -> None:
    open_ = np.flatnonzero(ink_of < 0)
    if not open_.size or not palette.rgb:
        return
    apart = delta_e_2000(lab[open_][:, None], palette.lab[None])
    nearest = apart.argmin(axis=1)
    joined = apart.min(axis=1) < _limit(patches.area[open_], tolerance)
    ink_of[open_[joined]] = nearest[joined]
    for ink, area in zip(nearest[joined], patches.area[open_[joined]], strict=True):
        palette.area[ink] += float(area)


def _mark(palette: Palette, patches: Patches, ink_of: NDArray[np.int_]) -> None:
    """Write the patches' inks into the map of known pixels, which are none of other patches."""
    if (ink_of < 0).all():
        return
    table = np.concatenate([[0], ink_of + 1]).astype(np.int16)
    np.maximum(palette.labels, table.take(patches.labels, mode="clip"), out=palette.labels)


def _is_mixture(
    palette: Palette,
    picture: Picture,
    patches: Patches,
    members: NDArray[np.bool_],
    tolerance: int,
) -> bool:
    """Whether most of the candidate's pixels are blends of the inks on either side of them."""
    table = np.concatenate([[False], members])
    places = np.flatnonzero(table[patches.labels])
    places = places[:: max(1, places.size // SAMPLE)]
    values = picture.rgb.reshape(-1, 3)[places].astype(np.float32)
    around = inks_around(places, palette.labels)
    found = explain(values, around, palette.colours, blending_of(picture))
    return bool(((found.off < 6 + tolerance) & (found.first != found.second)).mean() > 0.5)


def blending_of(picture: Picture) -> Blending:
    """How colours blend in this picture."""
    paper = picture.paper_rgb
    return Blending(
        apart=picture.noisy, paper=None if paper is None else np.array(paper, np.float32)
    )
