"""What every reader gives: one picture in sRGB, and what the file said of itself."""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from artcheck.domain.artwork import DeclaredInk, ReadingNote

LIKELY_PPI = (10.0, 2600.0)
"""A resolution tag outside this range is a default or a slip, and says nothing."""

SAME_PPI = 0.01
"""Share by which the two directions of a tag may differ: rounding to whole dots per centimetre."""


@dataclass(slots=True)
class Decoded:
    """A decoded picture: see `Artwork` for the arrays."""

    rgb: NDArray[np.uint8]
    alpha: NDArray[np.uint8] | None
    had_alpha: bool
    resolution_ppi: float | None
    profile: str | None
    notes: list[ReadingNote] = field(default_factory=list)
    declared_inks: tuple[DeclaredInk, ...] = ()


def meaningful(alpha: NDArray[np.uint8] | None) -> NDArray[np.uint8] | None:
    """Alpha (H, W) uint8, or None where every pixel is opaque."""
    return None if alpha is None or int(alpha.min(initial=255)) == 255 else alpha


def usable_ppi(resolution: tuple[float, float] | None) -> float | None:
    """A tag (across, down) in pixels per inch, where both agree and it is no default or slip."""
    if resolution is None:
        return None
    across, down = resolution
    likely = LIKELY_PPI[0] <= across <= LIKELY_PPI[1]
    agree = abs(across - down) <= SAME_PPI * max(abs(across), abs(down))
    return across if likely and agree else None


def page_note(words: str, count: int, page: int) -> ReadingNote:
    """Which of several pages or frames was read; ``page`` from 0."""
    return ReadingNote(
        id="several-pages",
        text=f"The file has {count} {words}s; {words} {page + 1} is read.",
    )
