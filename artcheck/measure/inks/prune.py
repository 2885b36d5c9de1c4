"""Inks that turn out to be blends once all their neighbours are known."""

from __future__ import annotations

import cv2
import numpy as np
from numpy.typing import NDArray

from artcheck.colour.difference import delta_e_2000
from artcheck.measure.inks.mixtures import (
    LIGHT,
    Explained,
    Places,
    explain,
    explain_as_lines,
    explain_from_afar,
    inks_around,
)
from artcheck.measure.inks.palette import Palette, blending_of
from artcheck.measure.inks.working import Floats, Picture

SMALL_SHARE = 0.06
"""Share of the ink area above which no blend of two inks gets."""

SOLID_SHARE = 0.15
"""Share of an ink's pixels that lie inside it (all eight neighbours its own) from which it is no
rim of others."""

BLEND_CODES = (6.0, 16.0)
"""How far a blend may be off in clean and in noisy art."""

BLENDED_SHARE = 0.5
"""Share of its pixels that must be blends."""

FAR_SHARE = (0.02, 0.05)
"""Share of the ink area, in clean and in noisy art, up to which it may be a blend with an ink that
is not beside it: keylines that nowhere show their ink unmixed reach 0.016 and 0.047."""

FEW_INKS = (60, 8)
"""Inks, paper included, up to which that is asked in clean and in noisy art. Of many inks two lie
on a line with any third by chance, as skin tones do, and noise makes the line wide."""


NEAR_TWIN, TWIN_SHARE = 9.0, 0.02
"""CIEDE2000 within which a thin ink of noisy art is another ink whose colour compression shifted,
and the share of the ink area up to which: such twins lie 7.1 to 8.7 apart, true thin inks of that
size 12 and more."""

SAME_LIGHT, SHIFTED_COLOUR = 3.0, 28.0
"""Codes of luma and of chroma within which two inks are one where colour was stored coarsely: a
JPEG file of quality 60 keeps light to 3 codes and shifts the colour of strokes by up to 27."""


def drop_blends(palette: Palette, picture: Picture) -> None:
    """Give the area of thin small inks that lie between two others back to these."""
    total = sum(palette.area[1 if palette.has_paper else 0 :])
    order = np.argsort(palette.area, kind="stable")
    for ink in order:
        if palette.area[ink] <= 0 or (ink == 0 and palette.has_paper):
            continue
        if palette.area[ink] > SMALL_SHARE * total or _is_solid(palette, int(ink)):
            continue
        _try_drop(palette, picture, int(ink), palette.area[ink] / total)
    if picture.noisy:
        join_twins(palette, picture.soft_colour, total)


def join_twins(palette: Palette, soft_colour: bool, total: float) -> None:
    """Give inks that compression split off to the larger ones that they belong to."""
    first = int(palette.has_paper)
    for ink in sorted(range(first, len(palette.area)), key=lambda ink: palette.area[ink]):
        larger = [k for k in range(first, len(palette.area)) if palette.area[k] > palette.area[ink]]
        if not palette.area[ink] or not larger:
            continue
        apart = delta_e_2000(palette.lab[ink], palette.lab[larger])
        alike = np.zeros(len(larger), bool)
        if ink in palette.thin and palette.area[ink] <= TWIN_SHARE * total:
            alike |= apart < NEAR_TWIN
        if soft_colour:
            alike |= _shifted(palette.colours[ink], palette.colours[larger])
        if alike.any():
            _give_all(palette, ink, larger[int(np.where(alike, apart, np.inf).argmin())])


def _shifted(rgb: Floats, others: Floats) -> NDArray[np.bool_]:
    """Which others differ in colour alone, and little."""
    chroma = np.sqrt(np.square(_chroma(others) - _chroma(rgb)).sum(axis=1))
    light = np.abs((others - rgb) @ LIGHT)
    return np.asarray((light < SAME_LIGHT) & (chroma < SHIFTED_COLOUR))


def _chroma(rgb: Floats) -> Floats:
    """(..., 2) Cb and Cr of JPEG (ITU-R BT.601)."""
    light = rgb @ LIGHT
    blue, red = (rgb[..., 2] - light) / 1.772, (rgb[..., 0] - light) / 1.402
    return np.asarray(np.stack([blue, red], axis=-1), np.float32)


def _give_all(palette: Palette, ink: int, twin: int) -> None:
    areas = palette.area[twin], palette.area[ink]
    palette.rgb[twin] = np.average([palette.rgb[twin], palette.rgb[ink]], axis=0, weights=areas)
    palette.area[twin], palette.area[ink] = sum(areas), 0.0
    palette.dropped[ink] = areas[1]
    palette.labels[palette.labels == ink + 1] = twin + 1


def _is_solid(palette: Palette, ink: int) -> bool:
    mask = (palette.labels == ink + 1).view(np.uint8)
    inside = cv2.erode(mask, np.ones((3, 3), np.uint8), borderValue=0)
    return cv2.countNonZero(inside) > SOLID_SHARE * max(1, cv2.countNonZero(mask))


def _try_drop(palette: Palette, picture: Picture, ink: int, share: float) -> None:
    mine = palette.labels == ink + 1
    places = np.flatnonzero(mine)
    if not places.size:
        return
    without = np.where(mine, np.int16(0), palette.labels)
    found = _explained(palette, picture, ink, share, places, inks_around(places, without))
    blended = (found.off < BLEND_CODES[picture.noisy]) & (found.first != found.second)
    if blended.mean() > BLENDED_SHARE:
        palette.labels = without
        if picture.noisy:
            palette.dropped[ink] = palette.area[ink]
        _give_back(palette, ink, found, blended)


def _explained(
    palette: Palette,
    picture: Picture,
    ink: int,
    share: float,
    places: Places,
    around: NDArray[np.int64],
) -> Explained:
    """The pixels of an ink explained without it, by blends of ever more distant inks."""
    values = picture.rgb.reshape(-1, 3)[places].astype(np.float32)
    inks, blending, tolerance = palette.colours, blending_of(picture), BLEND_CODES[picture.noisy]
    found = explain(values, around, inks, blending)
    gone = {ink, *(other for other, area in enumerate(palette.area) if area <= 0)}
    few = len(inks) - len(gone) < FEW_INKS[picture.noisy]
    if few and share <= FAR_SHARE[picture.noisy]:
        found.off[found.first == found.second] = np.inf  # near an ink alone is no blend yet
        explain_from_afar(found, values, around, inks, blending, tolerance, gone)
        if ink in palette.thin and not picture.noisy:
            explain_as_lines(found, values, around, inks, tolerance, gone)
    return found


def _give_back(palette: Palette, ink: int, found: Explained, blended: NDArray[np.bool_]) -> None:
    """Share the dropped ink's area out among the inks that it is a blend of."""
    count = len(palette.rgb)
    share = found.share[blended]
    parts = np.bincount(found.first[blended], 1 - share, count)
    parts += np.bincount(found.second[blended], share, count)
    area, palette.area[ink] = palette.area[ink], 0.0
    for other, part in enumerate(parts / parts.sum()):
        palette.area[other] += area * float(part)
