"""Fades that other shapes cut into strips, as a sun's lower half is by stripes of open ground.

A strip holds too little of the fade's range to show it by itself. It belongs to the fade when the
fade's own colours, carried on to where the strip lies, are the strip's, and travel across it
at the same rate. Stripes of solid inks may lie on that path by chance, but they do not travel.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from artcheck.measure.tone.working import Floats, Labels, Regions, Working

LEAST_FADE_PX = 400
"""Working pixels from which a fade's course is known well enough to be carried on."""

COURSE_ERROR = 3.0
"""Levels (root mean square) by which a fade may leave its fitted course."""

STRIP_ERROR = 6.0
"""Levels by which a strip's mean may miss the course carried on to it: about 2 CIEDE2000."""

LEAST_TRAVEL = 0.6
"""Levels (standard deviation) that the course must travel across a strip for its rate to be read:
a strip that shows less could be a solid."""

RATE = (0.6, 1.4)
"""A strip's own rate over the course's: 0 for a solid, 1 for the fade."""

STRIP_NOISE = 4.0
"""Levels (root mean square) by which a strip may leave its own course: what JPEG adds."""


@dataclass(frozen=True, slots=True)
class _Course:
    """How a fade's colours, (n, C), go with the place: a quadratic surface a channel."""

    centre: NDArray[np.float64]
    unit: float
    terms: NDArray[np.float64]

    def at(self, place: NDArray[np.float64]) -> NDArray[np.float64]:
        return _terms((place - self.centre) / self.unit) @ self.terms


def joined_strips(working: Working, regions: Regions, fades: Labels) -> Labels:
    """(h, w) int32: the fades, each with the strips that continue it under its own label."""
    strips = _strips(regions, fades)
    if not strips.size:
        return fades
    joined = fades.copy()
    members = _members(regions.labels, strips)
    width = fades.shape[1]
    colours = working.picture.reshape(-1, working.picture.shape[2])
    for label, inside in _by_size(fades):
        read = _thinned(inside)
        course = _course_of(_places(read, width), colours[read])
        if course is None:
            continue
        for strip, flat in list(members.items()):
            read = _thinned(flat)
            if _continues(course, _places(read, width), colours[read]):
                joined.ravel()[flat] = label
                del members[strip]
    return joined


def _strips(regions: Regions, fades: Labels) -> NDArray[np.intp]:
    """Labels of the regions that are large enough to have a rate, and are no fades."""
    is_fade = np.zeros(regions.size.size, np.bool_)
    is_fade[fades] = True
    large = (regions.inner >= MIN_STRIP_PX) & ~is_fade
    large[0] = False
    return np.flatnonzero(large) if is_fade[1:].any() else np.zeros(0, np.intp)


MIN_STRIP_PX = 60
"""Inner working pixels that a strip needs: its rate is read through noise and rounding."""


def _members(labels: Labels, strips: NDArray[np.intp]) -> dict[int, NDArray[np.intp]]:
    """Flat indices (n,) of every strip's pixels."""
    wanted = np.zeros(int(labels.max()) + 1, np.bool_)
    wanted[strips] = True
    chosen = np.flatnonzero(wanted[labels])
    own = labels.ravel()[chosen]
    order = np.argsort(own, kind="stable")
    if not own.size:
        return {}
    found, starts = np.unique(own[order], return_index=True)
    groups = np.split(chosen[order], starts[1:])
    return {int(label): flat for label, flat in zip(found, groups, strict=True)}


def _thinned(flat: NDArray[np.intp]) -> NDArray[np.intp]:
    """Evenly chosen members, `MOST_READ` at most: a course needs no more."""
    return flat[:: max(1, flat.size // MOST_READ)]


def _places(flat: NDArray[np.intp], width: int) -> NDArray[np.float64]:
    """(n, 2) row and col of flat indices."""
    return np.stack(np.divmod(flat, width), axis=1).astype(np.float64)


MOST_READ = 2000
"""Pixels read of a fade or a strip: the mean of so many has a fiftieth of one's noise."""


def _by_size(fades: Labels) -> list[tuple[int, NDArray[np.intp]]]:
    """Label and pixels of the fades that can be fitted, largest first."""
    sizes = np.bincount(fades.ravel())
    sizes[0] = 0
    members = _members(fades, np.flatnonzero(sizes >= LEAST_FADE_PX))
    return sorted(members.items(), key=lambda item: (-item[1].size, item[0]))


def _course_of(place: NDArray[np.float64], colours: Floats) -> _Course | None:
    """The course of one fade; None where its colours keep to none."""
    centre = place.mean(axis=0)
    unit = float(np.abs(place - centre).max())
    basis = _terms((place - centre) / unit)
    terms = np.asarray(np.linalg.lstsq(basis, colours, rcond=None)[0], np.float64)
    if _rms(colours - basis @ terms) > COURSE_ERROR:
        return None
    return _Course(centre, unit, terms)


def _continues(course: _Course, place: NDArray[np.float64], colours: Floats) -> bool:
    """Whether a strip lies on the course, in its mean and in its rate."""
    expected = course.at(place)
    if np.abs(expected.mean(axis=0) - colours.mean(axis=0)).max() > STRIP_ERROR:
        return False
    travel = expected - expected.mean(axis=0)
    if np.sqrt((travel**2).mean(axis=0)).max() < LEAST_TRAVEL:
        return False
    own = colours - colours.mean(axis=0)
    rate = float((own * travel).sum() / (travel**2).sum())
    return RATE[0] <= rate <= RATE[1] and _rms(own - rate * travel) <= STRIP_NOISE


def _rms(values: NDArray[np.floating]) -> float:
    return float(np.sqrt((values**2).mean(axis=0)).max())


def _terms(place: NDArray[np.float64]) -> NDArray[np.float64]:
    """(n, 6) terms of a quadratic surface."""
    down, right = place.T
    return np.stack([np.ones_like(down), down, right, down**2, right**2, down * right], axis=1)
