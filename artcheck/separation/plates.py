"""From labels to plates: what each screen prints, in order of printing."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from artcheck.domain.base import Lab
from artcheck.domain.separation import Separated
from artcheck.errors import NothingToPrintError
from artcheck.separation.trapping import order_of_printing, solid_masks
from artcheck.separation.underbase import (
    LOST_UNDERBASE_SHARE,
    UNDERBASE_NAME,
    WHITE_LAB,
    thin_warning,
    uncovered_share,
    underbase,
)
from artcheck.units import POINTS_PER_INCH

Mask = NDArray[np.bool_]
Screen = Callable[[NDArray[np.uint8]], Mask]
"""A wanted tint, (H, W) uint8 0-255, becomes dots, (H, W) bool."""

Role = Literal["ink", "underbase"]

HALF_TINT = 128
"""Tint from which a drawing without dots shows the ink."""

SMALLEST_TRAP_PX = 1.0
"""A trap that is wanted is a pixel at least."""


@dataclass(frozen=True, slots=True, kw_only=True)
class PlateSettings:
    """How the method wants its plates. Lengths in points.

    ``screen`` turns tints into dots; None where the method prints solids only.
    """

    trap_pt: float = 0.0
    choke_pt: float = 0.0
    white_under: bool = False
    screen: Screen | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Plate:
    """What one screen prints.

    Attributes
    ----------
    order
        Place in the order of printing, from 1.
    name, hex, lab
        The ink's.
    stock
        False for an ink mixed to order.
    role
        "underbase" for white under the inks.
    mask
        (H, W) bool, True where ink prints. Read-only.
    flat
        (H, W) bool, the same with tints from a half as solid areas, for drawings that hold no dots;
        the mask itself where the ink has no tint.
    tint
        (H, W) uint8, the tint that its dots are to give in print, 0-255; None where it has none.
        Read-only.
    solid
        (H, W) bool, the mask without its dots; the mask itself where the ink has no tint.
    """

    order: int
    name: str
    hex: str
    lab: Lab
    stock: bool
    role: Role
    mask: Mask
    flat: Mask
    solid: Mask
    tint: NDArray[np.uint8] | None = None

    def __post_init__(self) -> None:
        for mask in (self.mask, self.flat, self.solid):
            mask.setflags(write=False)


@dataclass(frozen=True, slots=True, kw_only=True)
class Plates:
    """All plates of one print, in order of printing, all of one size: the art's box at ``ppi``."""

    plates: tuple[Plate, ...]
    ppi: float
    width_in: float
    height_in: float
    trap_pt: float
    choke_pt: float
    has_dots: bool
    warnings: tuple[str, ...] = ()

    @property
    def shape(self) -> tuple[int, int]:
        """(rows, columns) of every plate."""
        height, width = self.plates[0].mask.shape
        return height, width


def make_plates(separated: Separated, settings: PlateSettings) -> Plates:
    """Trap, screen, and lay white under where it is wanted.

    An ink that has nothing left to print makes no plate.

    Raises
    ------
    NothingToPrintError
        No ink prints anywhere.
    """
    inked = list(_inked(separated, settings))
    if not inked:
        raise NothingToPrintError(
            "No ink is left to print: all of the art is garment or paper."
            " Choose another garment colour, or send art with ink on it."
        )
    white = list(_white(separated, settings, [drawn.mask for drawn in inked]))
    plates = [_plate(drawn, separated, place) for place, drawn in enumerate([*white, *inked], 1)]
    return Plates(
        plates=tuple(plates),
        ppi=separated.ppi,
        width_in=separated.width_in,
        height_in=separated.height_in,
        trap_pt=settings.trap_pt,
        choke_pt=settings.choke_pt if white else 0.0,
        has_dots=_has_tints(separated),
        warnings=tuple(_warnings(separated, settings, plates)),
    )


def length_px(length_pt: float, ppi: float) -> float:
    """Pixels of a length on a plate."""
    return length_pt / POINTS_PER_INCH * ppi


def _has_tints(separated: Separated) -> bool:
    return any(tint is not None and tint.any() for tint in separated.tints)


@dataclass(frozen=True, slots=True)
class _Drawn:
    """What one ink (None: white under the others) prints."""

    index: int | None
    mask: Mask
    flat: Mask
    solid: Mask
    tint: NDArray[np.uint8] | None = None


def _plate(drawn: _Drawn, separated: Separated, place: int) -> Plate:
    ink = None if drawn.index is None else separated.inks[drawn.index]
    return Plate(
        order=place,
        name=ink.name if ink else UNDERBASE_NAME,
        hex=ink.hex if ink else "#ffffff",
        lab=ink.lab if ink else WHITE_LAB,
        stock=ink is None or ink.stock,
        role="ink" if ink else "underbase",
        mask=drawn.mask,
        flat=drawn.flat,
        solid=drawn.solid,
        tint=drawn.tint,
    )


def _inked(separated: Separated, settings: PlateSettings) -> Iterator[_Drawn]:
    """Every ink in order of printing, those that print nothing left out."""
    trap_px = _trap_px(settings.trap_pt, separated.ppi)
    order = order_of_printing(separated.inks)
    for index, solid in solid_masks(separated.labels, order, trap_px):
        tint = separated.tints[index]
        if tint is None or not tint.any():
            if solid.any():
                yield _Drawn(index, solid, solid, solid)
            continue
        assert settings.screen is not None, "tints need a screen"
        mask = solid | settings.screen(tint)
        if mask.any():
            yield _Drawn(index, mask, solid | (tint >= HALF_TINT), solid, tint)


def _trap_px(trap_pt: float, ppi: float) -> float:
    return max(length_px(trap_pt, ppi), SMALLEST_TRAP_PX) if trap_pt else 0.0


def _white(separated: Separated, settings: PlateSettings, masks: list[Mask]) -> Iterator[_Drawn]:
    if not settings.white_under:
        return
    mask = underbase(masks, length_px(settings.choke_pt, separated.ppi))
    if mask.any():
        yield _Drawn(None, mask, mask, mask)


def _warnings(separated: Separated, settings: PlateSettings, plates: list[Plate]) -> Iterator[str]:
    if not settings.white_under:
        return
    inks = [plate.mask for plate in plates if plate.role == "ink"]
    whites = [plate.mask for plate in plates if plate.role == "underbase"]
    if not whites:
        yield "No line is wide enough for white under it: the garment shows through the ink."
        return
    lost = uncovered_share(inks, whites[0], length_px(settings.choke_pt, separated.ppi))
    if lost > LOST_UNDERBASE_SHARE:
        yield thin_warning(lost, settings.choke_pt)
