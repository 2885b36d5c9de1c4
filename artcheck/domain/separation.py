"""The simplified version: which inks, what they lose, and which pixel prints in which of them."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from artcheck.domain.base import Box, Lab, Record

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

NO_INK = 255
"""The label of pixels where nothing prints: transparent, paper, or garment knocked out."""


class SpotInk(Record):
    """One ink of the simplified version. ``stock`` is False for an ink mixed to order."""

    name: str
    hex: str
    lab: Lab
    stock: bool


class Loss(Record):
    """How far the simplified version is from the art, in CIEDE2000.

    The mean and the 95th percentile are weighted by area; the worst region is the worst of those
    large enough to be seen as a colour of their own.
    """

    mean_delta_e_2000: float
    p95_delta_e_2000: float
    worst_region_delta_e_2000: float


class Change(Record):
    """Something that was altered, and where: pixels of the output raster, inside the art's box."""

    what: str
    where: Box | None


class InkPlan(Record):
    """The art in so many inks, most area first; ``locked`` names those that had to be in."""

    inks: tuple[SpotInk, ...]
    loss: Loss
    locked: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Separated:
    """The art with one ink at every pixel, at the size it is printed. Arrays are read-only.

    Attributes
    ----------
    inks
        The inks that ``labels`` counts.
    labels
        (H, W) uint8, index into ``inks``; `NO_INK` where nothing prints. H and W are the art's
        printed box at ``ppi``: ``height_in * ppi`` and ``width_in * ppi``, rounded. No marks, no
        margin. Where an ink prints as a tint, the label is the ink that lies solid under it.
    tints
        Per ink (H, W) uint8, the wanted tint, 0-255, where the ink prints as a halftone over what
        ``labels`` says, and 0 elsewhere; None when the ink has only solids. A fade from one ink to
        another is the lighter one solid and a tint of the darker over it.
    ppi
        Pixels per printed inch.
    width_in, height_in
        Printed size.
    loss
        How far this is from the art.
    changes
        What was altered on the way.
    warnings
        What the designer must know besides.
    """

    inks: tuple[SpotInk, ...]
    labels: NDArray[np.uint8]
    tints: tuple[NDArray[np.uint8] | None, ...]
    ppi: float
    width_in: float
    height_in: float
    loss: Loss
    changes: tuple[Change, ...] = ()
    warnings: tuple[str, ...] = ()

    def __post_init__(self) -> None:
        for array in (self.labels, *self.tints):
            if array is not None:
                array.setflags(write=False)


def inks_words(count: int) -> str:
    """A number of inks."""
    return "1 ink" if count == 1 else f"{count} inks"
