"""The art for a paper: in the inks it is printed in, on the garment's colour."""

from __future__ import annotations

import cv2
import numpy as np

from artcheck.colour.spaces import hex_to_srgb8, lab_to_hex
from artcheck.domain.artwork import Cutout
from artcheck.domain.base import Lab
from artcheck.domain.check import InkReport, Report
from artcheck.report.pictures import UNKNOWN_GARMENT_HEX, Picture, picture_of, picture_on
from artcheck.report.words import chosen_method
from artcheck.separation.flat_plates import flat_plates

PAPER_PPI = 300
"""Pixels an inch on paper: what office printers show."""

LONGEST_PX = 2100
"""Long side of a picture on paper: seven inches at `PAPER_PPI`, all that a page has room for."""

TIMES = 2
"""Plates are drawn this much larger and averaged, so that edges are smooth."""


def in_inks(report: Report) -> bool:
    """Whether the art can be shown in its inks: separate inks, and no fade that needs dots."""
    method = chosen_method(report)
    if method is None or method.inks is None or not report.inks.list:
        return False
    return report.tone.kind == "flat" or len(report.inks.list) == 1


def paper_picture(cutout: Cutout, report: Report, shown_in: float) -> Picture:
    """The printed box, sharp enough to be ``shown_in`` inches long on paper.

    Flat art in separate inks is drawn in those inks; other art as the file has it.
    """
    longest_px = max(1, min(LONGEST_PX, round(shown_in * PAPER_PPI)))
    if not in_inks(report):
        return picture_on(cutout, report.garment.hex, longest_px=longest_px)
    row0, col0, row1, col1 = cutout.box
    scale = min(1.0, longest_px / max(row1 - row0, col1 - col0))
    size = max(1, round((col1 - col0) * scale)), max(1, round((row1 - row0) * scale))
    inks = report.inks.list
    plates = flat_plates(cutout, [ink.hex for ink in inks], (size[0] * TIMES, size[1] * TIMES))
    drawn = np.empty((*plates[0].shape, 3), np.uint8)
    drawn[:] = hex_to_srgb8(report.garment.hex or UNKNOWN_GARMENT_HEX)
    for ink, plate in zip(inks, plates, strict=True):
        if not ink.is_garment:
            drawn[plate] = hex_to_srgb8(lab_to_hex(printed_lab(ink, report)))
    small = cv2.resize(drawn, size, interpolation=cv2.INTER_AREA)
    return picture_of(np.asarray(small, np.uint8), cutout.box)


def printed_lab(ink: InkReport, report: Report) -> Lab:
    """The colour in which a spot method prints this ink (CIELAB, D50).

    The shelf's ink; mixed: what the customer named, else the art's own.
    """
    if ink.plan == "stock" and ink.stock is not None and ink.stock.lab is not None:
        return ink.stock.lab
    asked = (b.target_lab for b in report.brand_colours if b.name == ink.name and b.plan == "mixed")
    return next(asked, ink.lab)
