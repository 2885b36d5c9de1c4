"""PDF and PDF-based vector files: pypdfium2 draws the page, pikepdf tells what it declares."""

from __future__ import annotations

import io
from collections.abc import Iterator
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np

from artcheck.domain.artwork import ArtKind, DeclaredInk, ReadingNote, VectorFacts
from artcheck.domain.base import Lab
from artcheck.errors import ArtFileError, DamagedArtError, EncryptedArtError, UsageError
from artcheck.reading.bitmap import Decoded
from artcheck.reading.budget import RENDER_SIDE, check_pixels
from artcheck.units import POINTS_PER_INCH

if TYPE_CHECKING:
    import pikepdf

LONGEST_PAGE_PT = 14_400.0
"""Longest page side that readers must support (ISO 32000-1, annex C): 200 in."""

_PROCESS = {"All", "None", "Cyan", "Magenta", "Yellow", "Black"}
_DEPTH = 6
"""Form XObjects nested deeper than this hold no ink that matters."""


@dataclass(frozen=True, slots=True)
class Page:
    """A rendered page and what the document says of it."""

    decoded: Decoded
    kind: ArtKind
    facts: VectorFacts
    declared_inks: tuple[DeclaredInk, ...]


def render(data: bytes, name: str, page: int) -> Page:
    """One page on a transparent ground (paper is not invented).

    Parameters
    ----------
    page
        Index from 0.

    Raises
    ------
    EncryptedArtError
        A password is needed.
    UsageError
        There is no such page.
    DamagedArtError
        The document cannot be read or drawn.
    """
    try:
        return _rendered(data, name, page)
    except (ArtFileError, UsageError):
        raise
    except MemoryError:
        raise
    except Exception as fault:
        reason = " ".join(str(fault).split())[:100] or type(fault).__name__
        raise DamagedArtError(f"{name} is a damaged PDF ({reason}). Export it again.") from None


def _rendered(data: bytes, name: str, number: int) -> Page:
    import pikepdf

    try:
        document = pikepdf.open(io.BytesIO(data))
    except pikepdf.PasswordError:
        raise EncryptedArtError(
            f"{name} is locked with a password. Ask for a file without one."
        ) from None
    with document:
        pages = len(document.pages)
        if not 0 <= number < pages:
            raise UsageError(f"{name} has {pages} pages, not {number + 1}. Choose one with --page.")
        content = _contents(document.pages[number])
        inks = _declared(document.pages[number])
    decoded, size_in = _drawn(data, name, number, content)
    decoded.notes += _notes(pages, number, content)
    facts = VectorFacts(
        width_in=size_in[0],
        height_in=size_in[1],
        wraps_bitmap=content.images > 0 and content.shapes == 0 and not content.fonts,
        live_fonts=content.fonts,
        missing_fonts=content.missing_fonts,
    )
    kind: ArtKind = "document" if content.images else "vector"
    return Page(decoded, kind, facts, inks)


# --- drawing ------------------------------------------------------------------------------------


def _drawn(
    data: bytes, name: str, number: int, content: _Content
) -> tuple[Decoded, tuple[float, float]]:
    import pypdfium2

    document = pypdfium2.PdfDocument(data)
    try:
        page = document[number]
        width, height = page.get_size()
        if not 0 < max(width, height) <= LONGEST_PAGE_PT or min(width, height) <= 0:
            raise DamagedArtError(f"{name} has no usable page size. Export it again.")
        scale = _scale(max(width, height), content)
        check_pixels(round(width * scale), round(height * scale), name)
        bitmap = page.render(
            scale=scale, fill_color=(0, 0, 0, 0), maybe_alpha=True, rev_byteorder=True
        )
        decoded = _straight(bitmap.to_numpy())
    finally:
        document.close()
    decoded.resolution_ppi = scale * POINTS_PER_INCH
    return decoded, (width / POINTS_PER_INCH, height / POINTS_PER_INCH)


def _scale(longest_pt: float, content: _Content) -> float:
    """Rendering scale: by the long side, or up to the resolution of an embedded picture."""
    scale = RENDER_SIDE / longest_pt
    if content.images:
        scale = max(scale, min(content.widest_image / longest_pt, 4 * scale))
    return scale


def _straight(pixels: np.ndarray[Any, np.dtype[np.uint8]]) -> Decoded:
    """Pdfium fills (H, W, 4) RGBA premultiplied by nothing: alpha is straight already."""
    pixels = np.array(pixels)
    if pixels.ndim == 2:
        pixels = np.repeat(pixels[..., np.newaxis], 3, axis=2)
    alpha = np.ascontiguousarray(pixels[..., 3]) if pixels.shape[2] == 4 else None
    if alpha is not None and int(alpha.min()) == 255:
        alpha = None
    rgb = np.ascontiguousarray(pixels[..., :3])
    return Decoded(rgb, alpha, alpha is not None, None, None)


# --- what the document says ---------------------------------------------------------------------


@dataclass(slots=True)
class _Content:
    """What a page is made of."""

    images: int = 0
    shapes: int = 0
    widest_image: int = 0
    fonts: tuple[str, ...] = ()
    missing_fonts: tuple[str, ...] = ()


_PAINTING = {"f", "F", "f*", "B", "B*", "b", "b*", "S", "s", "sh"}


def _contents(page: pikepdf.Page) -> _Content:
    import pikepdf

    found = _Content()
    for instruction in pikepdf.parse_content_stream(page):
        if str(instruction.operator) in _PAINTING:
            found.shapes += 1
        elif str(instruction.operator) == "INLINE IMAGE":
            found.images += 1
    for resources in _resources(page.obj, _DEPTH):
        _count_xobjects(resources, found)
        _count_fonts(resources, found)
    return found


def _count_xobjects(resources: Any, found: _Content) -> None:
    for stream in dict(resources.get("/XObject", {})).values():
        if stream.get("/Subtype") == "/Image":
            found.images += 1
            found.widest_image = max(found.widest_image, int(stream.get("/Width", 0)))
        elif stream.get("/Subtype") == "/Form":
            data = bytes(stream.read_bytes())
            found.shapes += sum(data.count(b" " + op.encode()) for op in ("f", "S", "B"))


def _count_fonts(resources: Any, found: _Content) -> None:
    for font in dict(resources.get("/Font", {})).values():
        name = str(font.get("/BaseFont", "/unnamed")).lstrip("/")
        inner = font.get("/DescendantFonts")
        descriptor = (inner[0] if inner else font).get("/FontDescriptor", {})
        embedded = any(key in descriptor for key in ("/FontFile", "/FontFile2", "/FontFile3"))
        found.fonts = (*found.fonts, name)
        if not embedded and font.get("/Subtype") != "/Type3":
            found.missing_fonts = (*found.missing_fonts, name)


def _resources(obj: Any, depth: int) -> Iterator[Any]:
    """The resources of a page and of the forms within it."""
    resources = obj.get("/Resources")
    if resources is None or depth == 0:
        return
    yield resources
    for stream in dict(resources.get("/XObject", {})).values():
        if stream.get("/Subtype") == "/Form":
            yield from _resources(stream, depth - 1)


def _declared(page: pikepdf.Page) -> tuple[DeclaredInk, ...]:
    """Spot inks of Separation and DeviceN colour spaces, in the order they are met."""
    found: dict[str, DeclaredInk] = {}
    for resources in _resources(page.obj, _DEPTH):
        for space in dict(resources.get("/ColorSpace", {})).values():
            for ink in _inks_of(space):
                found.setdefault(ink.name, ink)
    return tuple(found.values())


def _inks_of(space: Any) -> Iterator[DeclaredInk]:
    import pikepdf

    if not isinstance(space, pikepdf.Array) or len(space) < 4:
        return
    if space[0] == "/Separation":
        names = [str(space[1]).lstrip("/")]
    elif space[0] == "/DeviceN":
        names = [str(part).lstrip("/") for part in space[1]]
    else:
        return
    for name in names:
        if name not in _PROCESS:
            yield DeclaredInk(name=name, lab=_full_tint(space) if len(names) == 1 else None)


def _full_tint(space: Any) -> Lab | None:
    """The ink's own colour: its alternate colour at a tint of 1, for exponential functions."""
    function, alternate = space[3], space[2]
    values = function.get("/C1") if function.get("/FunctionType") == 2 else None
    if values is None:
        return None
    numbers = [float(v) for v in values]
    kind = str(alternate[0] if not str(alternate).startswith("/") else alternate)
    return _as_lab(kind, numbers)


def _as_lab(kind: str, numbers: list[float]) -> Lab | None:
    if kind == "/Lab" and len(numbers) == 3:
        return numbers[0], numbers[1], numbers[2]
    if kind in ("/DeviceRGB", "/CalRGB", "/ICCBased") and len(numbers) == 3:
        from artcheck.colour.spaces import srgb8_to_lab

        codes = np.rint(np.clip(numbers, 0, 1) * np.float64(255)).astype(np.uint8)
        lab = srgb8_to_lab(codes[np.newaxis])[0]
        return float(lab[0]), float(lab[1]), float(lab[2])
    if kind in ("/DeviceCMYK", "/ICCBased") and len(numbers) == 4:
        from artcheck.colour.print_model import packaged_model

        lab = packaged_model("tr006").lab([numbers])[0]
        return float(lab[0]), float(lab[1]), float(lab[2])
    return None


def _notes(pages: int, number: int, content: _Content) -> list[ReadingNote]:
    notes = []
    if pages > 1:
        text = f"The document has {pages} pages; page {number + 1} is read."
        notes.append(ReadingNote(id="several-pages", text=text))
    if content.missing_fonts:
        names = ", ".join(dict.fromkeys(content.missing_fonts))
        text = f"Fonts are not embedded ({names}): text may be lost or differ."
        notes.append(ReadingNote(id="missing-font", text=text))
    elif content.fonts:
        text = "The page holds live text: convert it to outlines before it leaves the shop."
        notes.append(ReadingNote(id="live-text", text=text))
    return notes
