"""The inks of the art: how many, which, where, and how sure.

Where a pixel and its neighbours agree they show an ink unmixed. Everything else is first taken for
a mixture of the inks around it, as anti-aliasing, blur and JPEG make them; what no mixture explains
and lies together is a further ink, of lines too thin to show it unmixed.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import cv2
import numpy as np
from numpy.typing import NDArray

from artcheck.colour.difference import delta_e_2000_single
from artcheck.colour.spaces import lab_to_hex, srgb8_to_lab
from artcheck.domain.base import Box, Lab
from artcheck.domain.measurements import InkMeasured, InksMeasured, ToneMeasured
from artcheck.measure.inks.facing import open_outline
from artcheck.measure.inks.fades import add_fade_ends, without_fades
from artcheck.measure.inks.palette import SAME_INK, Palette, find_palette
from artcheck.measure.inks.plausible import plausible_counts
from artcheck.measure.inks.prune import drop_blends
from artcheck.measure.inks.thin import add_thin_inks
from artcheck.measure.inks.working import Picture, working_picture

if TYPE_CHECKING:
    from artcheck.measure.scan import Scan

INK_SHARE = 0.003
"""Share of the ink area from which a colour is an ink: what covers less is not seen on cloth as a
colour of its own (common practice)."""

FAINT_SHARE = 0.001
"""Share from which a colour may be meant as an ink, though it is not counted as one."""

WHITE: Lab = (100.0, 0.0, 0.0)


def count_inks(scan: Scan, tone: ToneMeasured | None) -> InksMeasured:
    """Count the distinct solid colours.

    Parameters
    ----------
    scan
        The art.
    tone
        What is known of fades and photographs: a fade counts as its end colours, a photograph has
        no ink count. None: neither is looked for.

    Returns
    -------
    InksMeasured
        Most area first; shares are of the inks' common area and sum to 1.
    """
    if tone is not None and tone.kind == "photo":
        return InksMeasured(count=None, count_without_white=None)
    picture = working_picture(scan)
    if tone is not None and tone.fade_places:
        picture = without_fades(scan, picture)
    palette = find_palette(picture)
    add_thin_inks(palette, picture, INK_SHARE * float(picture.coverage.sum()) / 255)
    drop_blends(palette, picture)
    if tone is not None and tone.fade_places:
        add_fade_ends(scan, palette, picture)
    return _measured(scan, picture, palette)


def _measured(scan: Scan, picture: Picture, palette: Palette) -> InksMeasured:
    order = _by_area(palette)
    total = sum(palette.area[ink] for ink in order)
    counted = [ink for ink in order if palette.area[ink] >= INK_SHARE * total]
    faint = [ink for ink in order[len(counted) :] if palette.area[ink] >= FAINT_SHARE * total]
    kept = sum(palette.area[ink] for ink in counted)
    records = {ink: _record(picture, palette, ink, kept) for ink in (*counted, *faint)}
    facing = open_outline(palette, picture)
    inks = [
        records[ink].model_copy(update={"open_outline": round(float(facing[ink]), 4)})
        for ink in counted
    ]
    paper = WHITE if scan.paper_rgb is None else _lab(np.array(scan.paper_rgb, np.uint8))
    return InksMeasured(
        count=len(inks),
        count_without_white=sum(not _is_white(ink.lab, paper) for ink in inks),
        also_plausible=plausible_counts(
            inks,
            [records[ink] for ink in faint],
            [records[ink] for ink in counted if picture.noisy and ink in palette.thin],
            [
                _record(picture, palette, ink, kept, area)
                for ink, area in palette.dropped.items()
                if area >= INK_SHARE * total
            ],
            any(note.id == "enclosed-paper" for note in scan.artwork.notes),
        ),
        inks=tuple(inks),
    )


def _by_area(palette: Palette) -> list[int]:
    """Inks that are not paper, most area first."""
    inks = range(1 if palette.has_paper else 0, len(palette.area))
    return sorted(inks, key=lambda ink: (-palette.area[ink], ink))


def _is_white(lab: Lab, paper: Lab) -> bool:
    return min(delta_e_2000_single(lab, WHITE), delta_e_2000_single(lab, paper)) < SAME_INK


def _lab(rgb: NDArray[np.uint8]) -> Lab:
    lightness, a, b = (round(float(value), 3) + 0.0 for value in srgb8_to_lab(rgb, np.float64))
    return lightness, a, b


def _record(
    picture: Picture, palette: Palette, ink: int, total: float, area: float | None = None
) -> InkMeasured:
    code = np.rint(np.clip(palette.rgb[ink], 0, 255)).astype(np.uint8)
    lab = _lab(code)
    return InkMeasured(
        hex=lab_to_hex(lab),
        lab=lab,
        share=min(1.0, (palette.area[ink] if area is None else area) / max(total, 1e-9)),
        where=_where(picture, palette.labels == ink + 1),
        is_fade_end=ink in palette.fade_ends,
    )


def _where(picture: Picture, mask: NDArray[np.bool_]) -> Box | None:
    """Box in file pixels of a working mask, None where it is empty."""
    col, row, width, height = cv2.boundingRect(mask.view(np.uint8))
    if width == 0:
        return None
    corners = (row, col, row + height, col + width)
    row0, col0, row1, col1 = (round(side / picture.scale) for side in corners)
    down, right = picture.origin
    return row0 + down, col0 + right, row1 + down, col1 + right
