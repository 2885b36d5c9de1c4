"""SVG through resvg, after a look at what it asks for: no files, no network, no entities."""

from __future__ import annotations

from dataclasses import dataclass
from xml.etree.ElementTree import Element, tostring

from artcheck.domain.artwork import VectorFacts
from artcheck.errors import DamagedArtError
from artcheck.reading.bitmap import decode
from artcheck.reading.budget import RENDER_SIDE
from artcheck.reading.decoded import Decoded
from artcheck.reading.drawn import undrawn_note, wraps_note
from artcheck.reading.quiet import unheard
from artcheck.reading.svg.bitmaps import Embedded, embedded, own_density
from artcheck.reading.svg.fonts import fonts_of, text_notes
from artcheck.reading.svg.layers import check_layers
from artcheck.reading.svg.page import CSS_PX_PER_INCH, page_px, set_page
from artcheck.reading.svg.reach import check_reach
from artcheck.reading.svg.source import parsed, unpacked
from artcheck.reading.svg.tags import DRAWN_SHAPES, local, undrawn
from artcheck.reading.svg.work import check_work


@dataclass(frozen=True, slots=True)
class Drawing:
    """A rendered SVG and what its geometry says."""

    decoded: Decoded
    facts: VectorFacts


def render(data: bytes, name: str, times: float = 1.0) -> Drawing:
    """The drawing as pixels, at an integer page size (resvg rounds the page before scaling).

    ``times``: how many times finer than usual.

    Raises
    ------
    ReachingArtError
        It asks for other files or the network, or declares entities.
    DamagedArtError
        It is no SVG that can be drawn.
    TooLargeArtError
        It is over a budget.
    """
    data = unpacked(data, name)
    root = parsed(data, name)
    check_reach(root, data, name)
    check_work(root, name)
    images = embedded(root, name)
    page = page_px(root)
    wraps = _only_bitmaps(root)
    scale = _scale(root, page, images if wraps else (), times)
    check_layers(root, page, scale, name)
    set_page(root, page, scale)
    fonts, missing = fonts_of(root)
    decoded = decode(_drawn(root, name), name)
    decoded.resolution_ppi = CSS_PX_PER_INCH * scale
    decoded.notes += text_notes(fonts, missing)
    decoded.notes += undrawn_note([*undrawn(root), *(i.fault for i in images if i.fault)])
    if wraps:
        decoded.notes += wraps_note([image.size for image in images if image.size])
    facts = VectorFacts(
        width_in=page[0] / CSS_PX_PER_INCH,
        height_in=page[1] / CSS_PX_PER_INCH,
        wraps_bitmap=wraps,
        live_fonts=fonts,
        missing_fonts=missing,
    )
    return Drawing(decoded, facts)


def _scale(
    root: Element, page: tuple[float, float], images: tuple[Embedded, ...], times: float
) -> float:
    """Rendered pixels per CSS pixel: by the long side, or an only bitmap's own."""
    usual = RENDER_SIDE * times / max(page)
    return own_density(root, page, images) or usual


def _drawn(root: Element, name: str) -> bytes:
    import resvg_py

    try:
        with unheard():
            return bytes(resvg_py.svg_to_bytes(svg_string=tostring(root, encoding="unicode")))
    except (ValueError, RuntimeError) as fault:
        reason = " ".join(str(fault).split())[:100]
        raise DamagedArtError(f"{name} cannot be drawn ({reason}). Export it again.") from None
    except BaseException as stop:
        if not _is_panic(stop):
            raise
        raise DamagedArtError(
            f"{name} cannot be drawn: the renderer stops at a shape in it, as at sizes far beyond"
            " the page. Mend it, or send a PNG."
        ) from None


def _is_panic(stop: BaseException) -> bool:
    """The renderer's own stop, where its arithmetic does not hold: no error class to import."""
    return type(stop).__module__ == "pyo3_runtime"


def _only_bitmaps(root: Element) -> bool:
    return {kind for kind in map(local, root.iter()) if kind in DRAWN_SHAPES} == {"image"}
