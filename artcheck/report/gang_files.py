"""The files of a gang: of every layout a picture to look at and a sheet to print."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from typing import Protocol

from artcheck.domain.artwork import Cutout
from artcheck.domain.gang import GangLayout
from artcheck.pricing.gangs import GangSheet
from artcheck.report.gang_picture import gang_picture
from artcheck.report.gang_sheet import DesignArt, sheet_pdf
from artcheck.report.pictures import picture_on

PICTURE_PX = 500
"""Long side of a design in the picture: it is looked at, not printed."""


class Page(Protocol):
    """One layout to draw."""

    @property
    def name(self) -> str:
        """Its files' name without suffix."""

    @property
    def layout(self) -> GangLayout:
        """What is told of it."""

    @property
    def sheet(self) -> GangSheet:
        """Where everything lies."""

    @property
    def arts(self) -> Mapping[str, DesignArt]:
        """Each design's art by its name; one without art leaves its place free."""


def gang_files(
    pages: Iterable[Page], cutouts: Mapping[str, Cutout], garment_hex: str | None
) -> Iterator[tuple[str, bytes]]:
    """Name and bytes of each file. ``cutouts``: the designs' art, for the pictures."""
    pictures = {
        name: picture_on(cutout, garment_hex, longest_px=PICTURE_PX)
        for name, cutout in cutouts.items()
    }
    for page in pages:
        yield f"{page.name}.svg", gang_picture(page.layout, pictures).encode()
        yield f"{page.name}.pdf", sheet_pdf(page.sheet, page.arts)
