"""Rectangles and words on one page, written as PDF, SVG or PNG: the same bytes for the same page.

The PDF needs no system library and no font file: it uses Helvetica, which every reader has
(ISO 32000-1:2008, 9.6.2.2), so words are limited to the Latin letters of Windows code page 1252.
"""

from __future__ import annotations

import io
import zlib
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field
from html import escape

GLYPH_WIDTH = 0.56
"""Share of the type size that a character is taken to be wide: a little above Helvetica's average
over prices and words, so that fitted text does not run over."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Rect:
    """A box from its upper left corner, in points. Colours are ``#rrggbb``; None draws none."""

    x: float
    y: float
    width: float
    height: float
    fill: str | None = None
    line: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Words:
    """One line of text from its left end on its base line, in points."""

    x: float
    y: float
    text: str
    size: float
    bold: bool = False
    colour: str = "#000000"


@dataclass(frozen=True, slots=True)
class Page:
    """A page of so many points, drawn in the order of its parts."""

    width: float
    height: float
    parts: Sequence[Rect | Words] = field(default_factory=tuple)


def fitted(text: str, width: float, size: float) -> str:
    """The text cut to a width in points, with an ellipsis where something is lost."""
    most = int(width / (size * GLYPH_WIDTH))
    return text if len(text) <= most else text[: max(most - 1, 0)].rstrip() + "…"


def fitting_size(texts: Iterable[str], width: float, size: float, least: float) -> float:
    """The largest type size up to ``size`` at which every text fits a width, at least ``least``."""
    longest = max((len(text) for text in texts), default=0)
    return max(min(size, width / (max(longest, 1) * GLYPH_WIDTH)), least)


def to_svg(page: Page) -> str:
    """The page as an SVG file."""
    size = f'width="{page.width:g}pt" height="{page.height:g}pt"'
    view = f'viewBox="0 0 {page.width:g} {page.height:g}"'
    parts = "\n".join(_svg(part) for part in page.parts)
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" {size} {view}'
        f' font-family="Helvetica, Arial, Liberation Sans, sans-serif">\n'
        f'<rect width="100%" height="100%" fill="#ffffff"/>\n{parts}\n</svg>\n'
    )


def _svg(part: Rect | Words) -> str:
    if isinstance(part, Rect):
        return (
            f'<rect x="{part.x:g}" y="{part.y:g}" width="{part.width:g}" height="{part.height:g}"'
            f' fill="{part.fill or "none"}" stroke="{part.line or "none"}" stroke-width=".5"/>'
        )
    weight = ' font-weight="bold"' if part.bold else ""
    return (
        f'<text x="{part.x:g}" y="{part.y:g}" font-size="{part.size:g}" fill="{part.colour}"'
        f"{weight}>{escape(part.text)}</text>"
    )


def to_pdf(page: Page, title: str) -> bytes:
    """The page as a PDF file of one page; no date, no random id."""
    import pikepdf
    from pikepdf import Dictionary, Name

    pdf = pikepdf.new()
    pdf.add_blank_page(page_size=(page.width, page.height))
    fonts = {
        f"/F{number}": pdf.make_indirect(
            Dictionary(
                Type=Name.Font, Subtype=Name.Type1, BaseFont=face, Encoding=Name.WinAnsiEncoding
            )
        )
        for number, face in enumerate((Name.Helvetica, Name("/Helvetica-Bold")))
    }
    made = pdf.pages[0].obj
    made.Resources = Dictionary(Font=Dictionary(fonts))
    content = b"\n".join(_operators(page))
    made.Contents = pdf.make_stream(zlib.compress(content), Filter=Name.FlateDecode)
    pdf.docinfo["/Title"] = title
    written = io.BytesIO()
    pdf.save(written, deterministic_id=True, object_stream_mode=pikepdf.ObjectStreamMode.disable)
    return written.getvalue()


def to_png(pdf: bytes, width_px: int) -> bytes:
    """A PDF file's first page as PNG, so many pixels wide.

    Drawn from the PDF, not from the SVG: pdfium brings its own faces for Helvetica, so the picture
    does not depend on the fonts of the machine.
    """
    import pypdfium2

    with pypdfium2.PdfDocument(pdf) as document:
        page = document[0]
        image = page.render(scale=width_px / page.get_width()).to_pil()
    written = io.BytesIO()
    image.save(written, "PNG")
    return written.getvalue()


def _operators(page: Page) -> Iterator[bytes]:
    """PDF measures from the foot of the page."""
    yield b"0.5 w"
    for part in page.parts:
        if isinstance(part, Words):
            yield _text(part, page.height)
            continue
        box = f"{part.x:g} {page.height - part.y - part.height:g} {part.width:g} {part.height:g} re"
        if part.fill is not None:
            yield f"{_rgb(part.fill)} rg {box} f".encode()
        if part.line is not None:
            yield f"{_rgb(part.line)} RG {box} S".encode()


def _text(words: Words, height: float) -> bytes:
    text = pdf_text(words.text)
    font = f"{_rgb(words.colour)} rg BT /F{int(words.bold)} {words.size:g} Tf"
    place = f"{words.x:g} {height - words.y:g} Td ("
    return f"{font} {place}".encode() + text + b") Tj ET"


def pdf_text(text: str) -> bytes:
    """A PDF string's bytes in Windows code page 1252, without its parentheses."""
    data = text.encode("cp1252", "replace")
    for special in (b"\\", b"(", b")"):
        data = data.replace(special, b"\\" + special)
    return data


def _rgb(hex_text: str) -> str:
    return " ".join(f"{byte / 255:.3f}" for byte in bytes.fromhex(hex_text.removeprefix("#")))
