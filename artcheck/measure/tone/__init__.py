"""Tone: flat art, fades, photographs, and screens that the art already carries."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import cv2
import numpy as np
from numpy.typing import NDArray

from artcheck.domain.base import Box
from artcheck.domain.measurements import MAX_PLACES, HalftoneScreen, ToneClass, ToneMeasured
from artcheck.measure.halftone import find_screens, screen_mask
from artcheck.measure.tone.fades import fade_labels
from artcheck.measure.tone.photographs import photo_mask
from artcheck.measure.tone.working import Working, place_of, reduce

if TYPE_CHECKING:
    from artcheck.measure.scan import Scan

Rgb = tuple[int, int, int]

GRADIENT_SHARE = 0.01
"""Share of the ink that must fade before art is called a gradient."""

PHOTO_SHARE = 0.02
"""Share of the ink that must be a photograph before art is called one."""

FADE_END_SHARE = 0.05
"""The colours at these ends of a fade's range are its end colours: the outermost 5 % are rims."""

COVERED, COVERED_SHARE = 0.99, 0.5
"""Coverage of a working pixel without rim, and the share of them from which a fade is opaque."""


@dataclass(frozen=True, slots=True)
class Fade:
    """One fade: its place in the file, its share of the ink and the two colours it runs between.

    An end that is transparent has its colour as it is where coverage runs out.
    """

    where: Box
    share: float
    ends: tuple[Rgb, Rgb]


@dataclass(frozen=True, slots=True, eq=False)
class ToneMap:
    """Where the art fades and where it is a photograph, at working size.

    ``fade`` and ``photo`` are (h, w) bool over ``box``; ``scale`` is working pixels per file pixel.
    """

    fade: NDArray[np.bool_]
    photo: NDArray[np.bool_]
    box: Box
    scale: float
    fades: tuple[Fade, ...]
    gradient_share: float
    photo_share: float
    screens: tuple[HalftoneScreen, ...]


def map_tone(scan: Scan) -> ToneMap:
    """Find screens, fades and photographs; what is screened already is neither of the others."""
    working = reduce(scan)
    labels, regions = fade_labels(working, scan)
    screens = find_screens(scan)
    screened = screen_mask(screens, scan.box, working.coverage.shape)
    photo = photo_mask(working, regions, scan) & ~screened
    fade = (labels > 0) & ~photo & ~screened
    ink = max(float(working.coverage.sum()), 1e-9)
    return ToneMap(
        fade=fade,
        photo=photo,
        box=scan.box,
        scale=working.scale,
        fades=_fades(working, np.where(fade, labels, 0), scan.box),
        gradient_share=float((working.coverage * fade).sum()) / ink,
        photo_share=float((working.coverage * photo).sum()) / ink,
        screens=screens.screens,
    )


def measure_tone(scan: Scan) -> ToneMeasured:
    """Flat, gradient or photo, with shares of the ink and the places of fades, largest first."""
    tone = scan.tone_map
    return ToneMeasured(
        kind=_kind(tone),
        gradient_share=min(1.0, tone.gradient_share),
        photo_share=min(1.0, tone.photo_share),
        fade_places=tuple(fade.where for fade in tone.fades[:MAX_PLACES]),
        halftone=tone.screens or None,
    )


def fade_mask(scan: Scan, size: tuple[int, int] | None = None) -> NDArray[np.bool_]:
    """Fades over the art's box as (h, w) bool, at working size or resized to ``size`` (h, w)."""
    mask = scan.tone_map.fade
    if size is None or size == mask.shape:
        return mask
    resized = cv2.resize(mask.astype(np.uint8), size[::-1], interpolation=cv2.INTER_NEAREST)
    return np.asarray(resized > 0)


def _kind(tone: ToneMap) -> ToneClass:
    if tone.photo_share >= PHOTO_SHARE:
        return "photo"
    return "gradient" if tone.gradient_share >= GRADIENT_SHARE else "flat"


def _fades(working: Working, labels: NDArray[np.int32], box: Box) -> tuple[Fade, ...]:
    """Every fade with place, share and ends, largest first."""
    chosen = np.flatnonzero(labels)
    if not chosen.size:
        return ()
    ink = float(working.coverage.sum())
    order = chosen[np.argsort(labels.ravel()[chosen], kind="stable")]
    _, starts = np.unique(labels.ravel()[order], return_index=True)
    groups = np.split(order, starts[1:])
    coverage = working.coverage.ravel()
    found = [
        Fade(place_of(g, working, box), float(coverage[g].sum()) / ink, _ends(g, working))
        for g in groups
    ]
    return tuple(sorted(found, key=lambda fade: (-fade.share, fade.where)))


def _ends(members: NDArray[np.intp], working: Working) -> tuple[Rgb, Rgb]:
    """Colours near both ends of the line along which a fade's colours lie most."""
    values = working.picture.reshape(-1, working.picture.shape[2])[members].astype(np.float64)
    covered = working.coverage.ravel()[members] >= COVERED
    # The rim's coverage varies more than any colour: it would be taken for the fade's line. A
    # fade to transparency has little that is covered, and there coverage is the line.
    if covered.mean() >= COVERED_SHARE:
        values = values[covered]
    away = values - values.mean(axis=0)
    axis = np.linalg.eigh(away.T @ away)[1][:, -1]
    along = away @ axis
    low, high = np.quantile(along, [FADE_END_SHARE, 1 - FADE_END_SHARE])
    return _colour(values[along <= low]), _colour(values[along >= high])


def _colour(values: NDArray[np.float64]) -> Rgb:
    """The mean colour of premultiplied or plain values."""
    mean = values.mean(axis=0)
    rgb = mean[:3] * 255 / max(mean[3], 1.0) if mean.size == 4 else mean
    red, green, blue = np.clip(np.rint(rgb), 0, 255).astype(int)
    return int(red), int(green), int(blue)
