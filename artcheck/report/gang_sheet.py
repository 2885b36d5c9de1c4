"""A ganged sheet as a PDF at exact size: art, cut marks and labels.

Film carries each design as sRGB pixels with a soft mask. Spot sheets carry one Separation colour
space for each ink and one-bit masks painted in it, so that every ink comes out on a plate of its
own. Marks and labels lie in the gutters, on a layer that can be switched off; on spot sheets they
are in the colour "All", which prints on every plate.
"""

from __future__ import annotations

import io
import zlib
from collections.abc import Iterator, Mapping, Sequence
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from artcheck.domain.base import Lab
from artcheck.pricing.gangs import GangSheet, Placement
from artcheck.report.flat_page import pdf_text
from artcheck.report.spot_space import colorants, separation_space
from artcheck.separation.film import Film
from artcheck.separation.plates import Plate
from artcheck.units import POINTS_PER_INCH

if TYPE_CHECKING:
    from pikepdf import Object, Pdf

MOST_UNITS = 14_400
"""Longest side of a page in its own units (ISO 32000-1:2008, Annex C): beyond it the unit grows."""

MARK_GAP_IN, MARK_IN = 0.02, 0.1
"""Distance of a cut mark from its piece, and its length: two of them fit a gutter of 1/4 in."""

LABEL_PT = 5.0
"""Size of a label: fits a gutter of 1/8 in."""

LABEL_GUTTER_IN = 0.11
"""Narrowest gutter that holds a label of `LABEL_PT` with room above and below."""

_GLYPH_WIDTH = 0.6
"""Share of the type size that a character is taken to be wide: above Helvetica's average, so that a
label does not run past its piece."""


DesignArt = Film | Sequence[Plate]


def sheet_pdf(sheet: GangSheet, arts: Mapping[str, DesignArt]) -> bytes:
    """One page as large as the sheet; the same input gives the same bytes.

    ``arts`` holds each design's art by its name; a design without art leaves its place free, with
    marks and label.
    """
    import pikepdf

    pdf = pikepdf.new()
    page = _Page(pdf, sheet)
    for name, art in arts.items():
        if any(place.design.name == name for place in sheet.placements):
            page.add_design(name, art)
    page.finish(spot=any(not isinstance(art, Film) for art in arts.values()))
    written = io.BytesIO()
    pdf.save(written, deterministic_id=True, object_stream_mode=pikepdf.ObjectStreamMode.disable)
    return written.getvalue()


class _Page:
    """The page while it is made: its resources, and what is drawn."""

    def __init__(self, pdf: Pdf, sheet: GangSheet) -> None:
        self._pdf, self._sheet = pdf, sheet
        longest = max(sheet.sheet_in) * POINTS_PER_INCH
        self._unit = max(1, -(-int(np.ceil(longest)) // MOST_UNITS))
        self._k = POINTS_PER_INCH / self._unit
        self._spaces: dict[str, tuple[str, Object]] = {}
        self._images: dict[str, Object] = {}
        self._painting: dict[str, list[str]] = {}

    # --- art ---

    def add_design(self, name: str, art: DesignArt) -> None:
        """Its pixels once, however often it lies on the sheet."""
        if isinstance(art, Film):
            image = f"Im{len(self._images)}"
            self._images[image] = _film_image(self._pdf, art)
            self._painting[name] = [f"/{image} Do"]
            return
        self._painting[name] = []
        for plate in art:
            image = f"Im{len(self._images)}"
            self._images[image] = _mask_image(self._pdf, plate.mask)
            space = self._space(plate.name, plate.lab)
            self._painting[name].append(f"/{space} cs 1 scn /{image} Do")

    def _space(self, ink: str, lab: Lab) -> str:
        if ink not in self._spaces:
            name = colorants([*self._spaces, ink])[-1]
            made = separation_space(name, lab)
            self._spaces[ink] = (f"Cs{len(self._spaces)}", self._pdf.make_indirect(made))
        return self._spaces[ink][0]

    # --- the page ---

    def finish(self, *, spot: bool) -> None:
        """Draw everything and add the page."""
        from pikepdf import Array, Dictionary, Name

        width, height = (side * self._k for side in self._sheet.sheet_in)
        self._pdf.add_blank_page(page_size=(width, height))
        page = self._pdf.pages[0]
        page.obj.MediaBox = page.obj.TrimBox = Array([0, 0, _dec(width), _dec(height)])
        if self._unit > 1:
            page.obj.UserUnit = self._unit
        spaces = dict(self._spaces.values())
        if spot:
            spaces["CsAll"] = self._pdf.make_indirect(separation_space("All", (0.0, 0.0, 0.0)))
        layer = self._pdf.make_indirect(
            Dictionary(Type=Name.OCG, Name="cut marks and labels", Intent=Name.View)
        )
        self._pdf.Root.OCProperties = Dictionary(
            OCGs=Array([layer]), D=Dictionary(Order=Array([layer]), ON=Array([layer]))
        )
        font = Dictionary(
            Type=Name.Font,
            Subtype=Name.Type1,
            BaseFont=Name.Helvetica,
            Encoding=Name.WinAnsiEncoding,
        )
        page.obj.Resources = Dictionary(
            XObject=Dictionary({f"/{n}": image for n, image in self._images.items()}),
            ColorSpace=Dictionary({f"/{n}": space for n, space in spaces.items()}),
            Font=Dictionary(F0=self._pdf.make_indirect(font)),
            Properties=Dictionary(Marks=layer),
        )
        black = "/CsAll CS /CsAll cs 1 SCN 1 scn" if spot else "0 G 0 g"
        text = b"\n".join(self._drawn(black))
        page.obj.Contents = self._pdf.make_stream(zlib.compress(text), Filter=Name.FlateDecode)

    def _drawn(self, black: str) -> Iterator[bytes]:
        for placement in self._sheet.placements:
            for paint in self._painting.get(placement.design.name, []):
                yield f"q {self._matrix(placement)} cm {paint} Q".encode()
        yield b"/OC /Marks BDC q"
        yield f"{black} {0.25 / self._unit:g} w".encode()
        for placement in self._sheet.placements:
            yield from self._marks(placement)
            yield self._label(placement)
        yield b"Q EMC"

    def _matrix(self, placement: Placement) -> str:
        """From the unit square of an image to its place; a turn is counter-clockwise."""
        x, y, width, height = self._rectangle(placement)
        if placement.rotated:
            return _numbers(0, height, -width, 0, x + width, y)
        return _numbers(width, 0, 0, height, x, y)

    def _rectangle(self, placement: Placement) -> tuple[float, float, float, float]:
        """(left, bottom, width, height) in the page's units."""
        box = placement.box
        bottom = self._sheet.sheet_in[1] - box.row_in - box.height_in
        return tuple(side * self._k for side in (box.col_in, bottom, box.width_in, box.height_in))  # type: ignore[return-value]

    def _marks(self, placement: Placement) -> Iterator[bytes]:
        """Two short lines at every corner, outside the piece."""
        length = min(MARK_IN, self._sheet.gutter_in / 2 - MARK_GAP_IN) * self._k
        if length <= 0:
            return
        x, y, width, height = self._rectangle(placement)
        gap = MARK_GAP_IN * self._k
        for at_x, out_x in ((x, -1), (x + width, 1)):
            for at_y, out_y in ((y, -1), (y + height, 1)):
                across = (at_x + out_x * gap, at_y, at_x + out_x * (gap + length), at_y)
                along = (at_x, at_y + out_y * gap, at_x, at_y + out_y * (gap + length))
                for x0, y0, x1, y1 in (across, along):
                    yield f"{_numbers(x0, y0)} m {_numbers(x1, y1)} l S".encode()

    def _label(self, placement: Placement) -> bytes:
        """The design's name below its piece, above it at the sheet's foot."""
        x, y, width, height = self._rectangle(placement)
        size = LABEL_PT / self._unit
        room = LABEL_GUTTER_IN * self._k
        if self._sheet.gutter_in < LABEL_GUTTER_IN:
            return b""
        base = y - room + size / 3
        if base < 0:
            base = y + height + size / 2
            if base + size > self._sheet.sheet_in[1] * self._k:
                return b""
        letters = int((width - 2 * size) / (size * _GLYPH_WIDTH))
        name = placement.design.name[: max(letters, 0)]
        text = pdf_text(name)
        place = _numbers(x + size, base)
        return f"BT /F0 {size:g} Tf {place} Td (".encode() + text + b") Tj ET"


# --- pixels -------------------------------------------------------------------------


def _film_image(pdf: Pdf, film: Film) -> Object:
    from pikepdf import Name

    height, width = film.alpha.shape
    common: dict[str, Any] = {
        "Type": Name.XObject,
        "Subtype": Name.Image,
        "Width": width,
        "Height": height,
        "BitsPerComponent": 8,
        "Filter": Name.FlateDecode,
    }
    mask = pdf.make_stream(
        zlib.compress(film.alpha.tobytes()), ColorSpace=Name.DeviceGray, **common
    )
    return pdf.make_stream(
        zlib.compress(film.rgb.tobytes()), ColorSpace=Name.DeviceRGB, SMask=mask, **common
    )


def _mask_image(pdf: Pdf, mask: NDArray[np.bool_]) -> Object:
    from pikepdf import Name

    return pdf.make_stream(
        zlib.compress(np.packbits(mask, axis=1).tobytes()),
        Type=Name.XObject,
        Subtype=Name.Image,
        Width=mask.shape[1],
        Height=mask.shape[0],
        ImageMask=True,
        BitsPerComponent=1,
        Decode=[1, 0],
        Filter=Name.FlateDecode,
    )


def _numbers(*values: float) -> str:
    return " ".join(f"{value:.4f}".rstrip("0").rstrip(".") for value in values)


def _dec(value: float) -> Any:
    """A number as PDF writes it: short, the same everywhere."""
    from decimal import Decimal

    return Decimal(f"{value:.4f}").normalize() if value else 0
