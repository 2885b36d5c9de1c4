"""The colours of an art and how much of it each covers: what an ink palette is chosen for."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from artcheck.colour.difference import delta_e_2000_single
from artcheck.domain.base import Lab
from artcheck.domain.measurements import InkMeasured

FADE_STEPS = 9
"""Colours that stand for a fade, its ends among them: a fade of 24 CIEDE2000 in steps of 3."""


@dataclass(frozen=True, slots=True, eq=False)
class ArtColours:
    """Colours of an art.

    Attributes
    ----------
    lab
        (n, 3) float64.
    share
        (n,) float64, share of the ink area, sums to 1.
    region_share
        (n,) float64, share of the whole region that shows the colour: for a solid its own, for a
        colour of a fade the fade's.
    """

    lab: NDArray[np.float64]
    share: NDArray[np.float64]
    region_share: NDArray[np.float64]


def art_colours(inks: Sequence[InkMeasured]) -> ArtColours:
    """The measured inks with their shares; each fade as the range of colours it runs through.

    Records only. A fade's ends are known, not which two belong together: ends of like share are
    taken for a pair, one left over runs to the solid nearest in colour.
    """
    fades = list(_fades(inks))
    taken = {id(end) for pair in fades for end in pair if end.is_fade_end}
    rows = [(ink.lab, ink.share, ink.share) for ink in inks if id(ink) not in taken]
    for one, other in fades:
        share = sum(end.share for end in (one, other) if end.is_fade_end)
        rows += [(lab, share / FADE_STEPS, share) for lab in _range(one.lab, other.lab)]
    return _colours(rows)


def _colours(rows: Sequence[tuple[Lab, float, float]]) -> ArtColours:
    share = np.array([row[1] for row in rows], np.float64)
    total = max(float(share.sum()), 1e-12)
    return ArtColours(
        lab=np.array([row[0] for row in rows], np.float64).reshape(-1, 3),
        share=share / total,
        region_share=np.array([row[2] for row in rows], np.float64) / total,
    )


def _fades(inks: Sequence[InkMeasured]) -> Iterator[tuple[InkMeasured, InkMeasured]]:
    ends = [ink for ink in inks if ink.is_fade_end]
    solids = [ink for ink in inks if not ink.is_fade_end]
    while ends:
        one = ends.pop(0)
        if ends:
            other = min(ends, key=lambda end: abs(end.share - one.share))
            ends.remove(other)
        elif solids:
            other = min(solids, key=lambda solid: delta_e_2000_single(solid.lab, one.lab))
        else:
            return
        yield one, other


def _range(one: Lab, other: Lab) -> list[Lab]:
    steps = np.linspace(one, other, FADE_STEPS)
    return [(float(c), float(a), float(b)) for c, a, b in steps]
