"""The art for a paper: in the inks it is printed in, on the garment's colour."""

from __future__ import annotations

import cv2
import numpy as np
from numpy.typing import NDArray

from artcheck.colour.mixing import codes_of, light_of
from artcheck.colour.spaces import hex_to_srgb8, lab_to_hex
from artcheck.domain.artwork import Cutout
from artcheck.domain.base import Lab
from artcheck.domain.check import InkReport, Report
from artcheck.domain.order import Print
from artcheck.domain.separation import NO_INK, SpotInk
from artcheck.domain.shop import Shop
from artcheck.matching import garment_look
from artcheck.report.pictures import UNKNOWN_GARMENT_HEX, Picture, picture_of, picture_on
from artcheck.report.words import chosen_method
from artcheck.separation.cores import SOLID
from artcheck.separation.fades import enlarged_tints, keep_fades
from artcheck.separation.regions import enlarged
from artcheck.separation.shares import ink_shares
from artcheck.separation.standing_alone import printed_alone

PAPER_PPI = 300
"""Pixels an inch on paper: what office printers show."""

LONGEST_PX = 2100
"""Long side of a picture on paper: seven inches at `PAPER_PPI`, all that a page has room for."""

TIMES = 2
"""Plates are drawn this much larger and averaged, so that edges are smooth."""

LEFT_OPEN = 0.005
"""Part of the art's area from which it is said that the garment shows for it: less is edges."""


GARMENT_SHOWS = "Where the art has the garment's colour, the garment shows."
AS_DOTS = "Fades are printed as fine dots, shown here as they look from afar."

BAND_ROWS = 256
"""Rows mixed at a time, so that no large picture lies in memory as light."""

CutArt = tuple[Cutout, NDArray[np.bool_]]
"""A print's art, and where it fades: (h, w) bool over its box, at any size."""


def in_inks(report: Report) -> bool:
    """Whether the art is shown in separate inks: nothing shows a photograph in some."""
    method = chosen_method(report)
    if method is None or method.inks is None or all(i.is_garment for i in report.inks.list):
        return False
    return report.tone.kind != "photo"


def paper_picture(
    art: CutArt, report: Report, print_: Print, shop: Shop, shown_in: float
) -> tuple[Picture, tuple[str, ...]]:
    """The printed box, sharp enough to be ``shown_in`` inches long on paper; what to say of it.

    Art in separate inks is drawn in those inks, as its plates print them; other art as the file
    has it.
    """
    longest_px = max(1, min(LONGEST_PX, round(shown_in * PAPER_PPI)))
    if in_inks(report):
        return _in_inks(art, report, print_, shop, longest_px)
    return picture_on(art[0], report.garment.hex, longest_px=longest_px), ()


def _in_inks(
    art: CutArt, report: Report, print_: Print, shop: Shop, longest_px: int
) -> tuple[Picture, tuple[str, ...]]:
    """Separated as `artcheck separate` does, but for traps, cleaning and the dots themselves."""
    cutout, fades = art
    inks = [_spot_ink(ink, report) for ink in report.inks.list if not ink.is_garment]
    colour = report.garment.colour
    cloth = garment_look(colour, shop.garment_colours).lab if colour else None
    within = shop.limits.garment_match.change
    if len(print_.inks) == 1:
        cutout, _ = printed_alone(cutout, inks, cloth, within)
    planes, _ = ink_shares(cutout, inks, cloth, within)
    notes = (GARMENT_SHOWS,) if _left_open(cutout, planes[-1]) else ()
    tints = keep_fades(cutout, inks, fades, planes, dots=_has_dots(report, shop))
    height, width = planes.shape[1:]
    scale = min(1.0, longest_px / max(height, width))
    size = max(1, round(width * scale)), max(1, round(height * scale))
    labels = enlarged(planes, (size[0] * TIMES, size[1] * TIMES))
    colours = np.empty((NO_INK + 1, 3), np.uint8)
    colours[:] = hex_to_srgb8(report.garment.hex or UNKNOWN_GARMENT_HEX)
    colours[: len(inks)] = [hex_to_srgb8(ink.hex) for ink in inks]
    drawn = colours[labels]
    for number, tint in enumerate(enlarged_tints(tints, labels, len(inks))):
        if tint is not None:
            _lay_over(drawn, tint, colours[number])
    small = cv2.resize(drawn, size, interpolation=cv2.INTER_AREA)
    picture = picture_of(np.asarray(small, np.uint8), cutout.box)
    return picture, (*notes, AS_DOTS) if tints.kept else notes


def _has_dots(report: Report, shop: Shop) -> bool:
    chosen = chosen_method(report)
    assert chosen is not None
    method = shop.method(chosen.id)
    return method.fades == "halftone" and method.halftone_lpi is not None


def _lay_over(drawn: NDArray[np.uint8], tint: NDArray[np.uint8], ink: NDArray[np.uint8]) -> None:
    """Mix an ink into a picture, in place: its dots and what lies between them add up as light."""
    light = light_of(ink)
    for top in range(0, len(drawn), BAND_ROWS):
        rows = np.s_[top : top + BAND_ROWS]
        partly = tint[rows] > 0
        share = tint[rows][partly, None].astype(np.float32) / np.float32(SOLID)
        under = light_of(drawn[rows][partly])
        drawn[rows][partly] = codes_of(share * light + (1 - share) * under)


def _left_open(cutout: Cutout, bare: NDArray[np.uint8]) -> bool:
    """Whether enough of the art is left to the garment, removed paper apart."""
    row0, col0, row1, col1 = cutout.box
    covered = cutout.coverage[row0:row1, col0:col1] == SOLID
    open_px, of_px = (int(np.count_nonzero(m)) for m in (covered & (bare == SOLID), covered))
    return cutout.paper_hex is None and open_px > LEFT_OPEN * of_px


def _spot_ink(ink: InkReport, report: Report) -> SpotInk:
    lab = printed_lab(ink, report)
    return SpotInk(name=ink.name, hex=lab_to_hex(lab), lab=lab, stock=ink.plan == "stock")


def printed_lab(ink: InkReport, report: Report) -> Lab:
    """The colour in which a spot method prints this ink (CIELAB, D50).

    The shelf's ink; mixed: what the customer named, else the art's own.
    """
    if ink.plan == "stock" and ink.stock is not None and ink.stock.lab is not None:
        return ink.stock.lab
    asked = (b.target_lab for b in report.brand_colours if b.name == ink.name and b.plan == "mixed")
    return next(asked, ink.lab)
