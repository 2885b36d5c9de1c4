"""PDF and PDF-based vector files: pypdfium2 draws the page, pikepdf tells what it declares."""

from __future__ import annotations

import io
import logging
from dataclasses import dataclass
from typing import Any

import numpy as np

from artcheck.domain.artwork import ArtKind, DeclaredInk, ReadingNote, VectorFacts
from artcheck.errors import ArtFileError, DamagedArtError, EncryptedArtError, UsageError
from artcheck.plain import plain
from artcheck.reading.budget import RENDER_SIDE, check_pixels
from artcheck.reading.decoded import Decoded, meaningful, page_note
from artcheck.reading.drawn import undrawn_note, wraps_note
from artcheck.reading.pdf.contents import Contents, contents_of
from artcheck.reading.pdf.inks import declared_inks
from artcheck.reading.pdf.isolate import has_area, isolated
from artcheck.reading.pdf.packing import check_rows_elsewhere, check_stated_rows
from artcheck.reading.pdf.press import through_press
from artcheck.reading.pdf.unfolded import check_unfolded
from artcheck.units import POINTS_PER_INCH

LONGEST_PAGE_PT = 14_400.0
"""Longest page side that readers must support (ISO 32000-1, annex C): 200 in."""

_END_WITHIN = 4096
"""Bytes at the end among which the end-of-file mark must stand: readers accept 1,024 (annex H)."""


@dataclass(frozen=True, slots=True)
class Page:
    """A rendered page and what the document says of it."""

    decoded: Decoded
    kind: ArtKind
    facts: VectorFacts
    declared_inks: tuple[DeclaredInk, ...]


def render(data: bytes, name: str, page: int, times: float = 1.0) -> Page:
    """One page, cut at its trim box, on a transparent ground (paper is not invented).

    Parameters
    ----------
    page
        Index from 0.
    times
        How many times finer than usual a page is drawn that holds no pictures.

    Raises
    ------
    EncryptedArtError
        A password is needed.
    UsageError
        There is no such page.
    DamagedArtError
        The document cannot be read or drawn.
    TooLargeArtError
        Drawing the page would be more work than the budgets allow.
    """
    logging.getLogger("pikepdf").addHandler(logging.NullHandler())  # it has faults told here
    try:
        return _rendered(data, name, page, times)
    except (ArtFileError, UsageError):
        raise
    except MemoryError:
        raise
    except Exception as fault:
        reason = " ".join(str(fault).split())[:100] or type(fault).__name__
        raise DamagedArtError(f"{name} is a damaged PDF ({reason}). Export it again.") from None


def _rendered(data: bytes, name: str, number: int, times: float) -> Page:
    import pikepdf

    if b"%%EOF" not in data[-_END_WITHIN:]:
        raise DamagedArtError(f"{name} breaks off: its end is missing. Ask for the file again.")
    check_stated_rows(data, name)
    try:
        document = pikepdf.open(io.BytesIO(data))
    except pikepdf.PasswordError:
        raise EncryptedArtError(
            f"{name} is locked with a password. Ask for a file without one."
        ) from None
    with document:
        check_rows_elsewhere(document, data, name)
        pages = len(document.pages)
        if not 0 <= number < pages:
            count = "1 page" if pages == 1 else f"{pages} pages"
            raise UsageError(f"{name} has {count}, not {number + 1}. Choose one with --page.")
        alone = isolated(document, number)
    with alone:
        if not has_area(alone.pages[0]):
            raise DamagedArtError(f"{name} has no usable page size. Export it again.")
        check_unfolded(alone, name)
        content = contents_of(alone.pages[0], name)
        inks = declared_inks(content.spaces)
        profile, press_notes = through_press(alone, content)
        unit = float(alone.pages[0].obj.get("/UserUnit", 1))
        out = io.BytesIO()
        alone.save(out, compress_streams=False)
    wraps = content.wraps_bitmap
    decoded, size_in = _drawn(out.getvalue(), name, unit, content, times)
    decoded.profile = profile
    decoded.notes += [page_note("page", pages, number)] if pages > 1 else []
    decoded.notes += [*press_notes, *_font_notes(content), *undrawn_note(content.undrawn)]
    decoded.notes += wraps_note(content.image_sizes) if wraps else []
    facts = VectorFacts(
        width_in=size_in[0],
        height_in=size_in[1],
        wraps_bitmap=wraps,
        live_fonts=tuple(content.fonts),
        missing_fonts=tuple(content.missing_fonts),
    )
    return Page(decoded, "document" if content.image_sizes else "vector", facts, inks)


# --- drawing ------------------------------------------------------------------------------------


def _drawn(
    data: bytes, name: str, unit: float, content: Contents, times: float
) -> tuple[Decoded, tuple[float, float]]:
    """The picture, and the page's size in inches; ``unit`` is the page's own, in points."""
    import pypdfium2

    document = pypdfium2.PdfDocument(data)
    try:
        page = document[0]
        width, height = page.get_size()
        if max(width, height) * unit > LONGEST_PAGE_PT:
            raise DamagedArtError(f"{name} has no usable page size. Export it again.")
        scale = _scale(max(width, height), content, times)
        check_pixels(round(width * scale), round(height * scale), name)
        bitmap = page.render(
            scale=scale, fill_color=(0, 0, 0, 0), maybe_alpha=True, rev_byteorder=True
        )
        decoded = _straight(bitmap.to_numpy())
    finally:
        document.close()
    decoded.resolution_ppi = scale / unit * POINTS_PER_INCH
    return decoded, (width * unit / POINTS_PER_INCH, height * unit / POINTS_PER_INCH)


def _scale(longest: float, content: Contents, times: float) -> float:
    """Rendering scale: by the long side, up to the resolution of embedded pictures.

    A page that only wraps pictures is drawn at theirs, so that a pixel stays a pixel.
    """
    usual = RENDER_SIDE / longest
    if content.finest is None:
        return usual * times
    if content.wraps_bitmap:
        return min(content.finest, 4 * usual)
    return max(usual, min(content.finest, 4 * usual))


def _straight(pixels: np.ndarray[Any, np.dtype[np.uint8]]) -> Decoded:
    """Pdfium fills (H, W, 4) RGBA premultiplied by nothing: alpha is straight already."""
    pixels = np.array(pixels)
    if pixels.ndim == 2:
        pixels = np.repeat(pixels[..., np.newaxis], 3, axis=2)
    alpha = np.ascontiguousarray(pixels[..., 3]) if pixels.shape[2] == 4 else None
    alpha = meaningful(alpha)
    rgb = np.ascontiguousarray(pixels[..., :3])
    return Decoded(rgb, alpha, alpha is not None, None, None)


def _font_notes(content: Contents) -> list[ReadingNote]:
    if content.missing_fonts:
        names = plain(", ".join(content.missing_fonts))
        text = f"Fonts are not embedded ({names}): text may be lost or differ."
        return [ReadingNote(id="missing-font", text=text)]
    if content.fonts:
        text = "The page holds live text: convert it to outlines before it leaves the shop."
        return [ReadingNote(id="live-text", text=text)]
    return []
