"""SVG through resvg, after a look at what it asks for: no files, no network, no entities."""

from __future__ import annotations

import gzip
import io
import math
import re
import zlib
from collections.abc import Iterator
from dataclasses import dataclass
from xml.etree.ElementTree import Element, tostring

from PIL import Image

from artcheck.domain.artwork import ReadingNote, VectorFacts
from artcheck.errors import DamagedArtError, ReachingArtError, TooLargeArtError
from artcheck.reading.bitmap import Decoded, decode
from artcheck.reading.budget import MOST_ELEMENTS, MOST_SVG_BYTES, RENDER_SIDE
from artcheck.units import POINTS_PER_INCH

_SVG = "{http://www.w3.org/2000/svg}"
_HREFS = ("href", "{http://www.w3.org/1999/xlink}href")
_XML_BASE = "{http://www.w3.org/XML/1998/namespace}base"
_URL = re.compile(r"url\(\s*(['\"]?)\s*(?!['\"]?#)(?!['\"]?data:)([^)'\"]*)", re.IGNORECASE)
_IMPORT = re.compile(r"@import", re.IGNORECASE)
_STYLESHEET = re.compile(rb"<\?xml-stylesheet", re.IGNORECASE)
_LENGTH = re.compile(r"\s*([\d.]+(?:e[+-]?\d+)?)\s*(px|pt|pc|mm|cm|in|q)?\s*", re.IGNORECASE)
_CSS_PX = {
    None: 1.0,
    "px": 1.0,
    "pt": 96 / POINTS_PER_INCH,
    "pc": 16.0,
    "mm": 96 / 25.4,
    "cm": 960 / 25.4,
    "in": 96.0,
    "q": 24 / 25.4,
}
"""CSS pixels in each unit (CSS Values and Units Level 4, section 6.2)."""

CSS_PX_PER_INCH = 96.0
DEFAULT_PAGE_PX = (300.0, 150.0)
"""Page of an SVG that states neither size nor viewBox (CSS 2.2, section 10.3.2)."""

FONT_FALLBACKS = {"serif", "sans-serif", "monospace", "cursive", "fantasy", "system-ui"}


@dataclass(frozen=True, slots=True)
class Drawing:
    """A rendered SVG and what its geometry says."""

    decoded: Decoded
    facts: VectorFacts


def render(data: bytes, name: str) -> Drawing:
    """The drawing as pixels, at an integer page size (resvg rounds the page before scaling).

    Raises
    ------
    ReachingArtError
        It asks for other files or the network, or declares entities.
    DamagedArtError
        It is no SVG that can be drawn.
    TooLargeArtError
        It is over a budget.
    """
    data = _unpacked(data, name)
    root = _parsed(data, name)
    _check_reach(root, data, name)
    _check_size(root, name)
    page = _page_px(root)
    scale = RENDER_SIDE / max(page)
    _set_page(root, page, scale)
    fonts, missing = _fonts(root)
    decoded = decode(_drawn(root, name), name)
    decoded.resolution_ppi = CSS_PX_PER_INCH * scale
    decoded.notes += _text_notes(fonts, missing)
    facts = VectorFacts(
        width_in=page[0] / CSS_PX_PER_INCH,
        height_in=page[1] / CSS_PX_PER_INCH,
        wraps_bitmap=_only_bitmaps(root),
        live_fonts=fonts,
        missing_fonts=missing,
    )
    return Drawing(decoded, facts)


def _unpacked(data: bytes, name: str) -> bytes:
    if data.startswith(b"\x1f\x8b"):
        try:
            with gzip.open(io.BytesIO(data)) as packed:
                data = packed.read(MOST_SVG_BYTES + 1)
        except (OSError, EOFError, zlib.error):
            raise DamagedArtError(f"{name} is a damaged packed SVG. Ask for it again.") from None
    if len(data) > MOST_SVG_BYTES:
        raise TooLargeArtError(
            f"{name} is an SVG of more than {MOST_SVG_BYTES // 1024**2} MB. Send it as PDF or PNG."
        )
    return data


def _parsed(data: bytes, name: str) -> Element:
    from defusedxml import ElementTree
    from defusedxml.common import DefusedXmlException

    try:
        root: Element = ElementTree.fromstring(data, forbid_dtd=False)
    except DefusedXmlException:
        raise ReachingArtError(
            f"{name} declares entities, as harmful files do. Export it again as plain SVG."
        ) from None
    except (ElementTree.ParseError, ValueError, LookupError, RecursionError) as fault:
        raise DamagedArtError(f"{name} is no readable SVG ({fault}). Export it again.") from None
    if root.tag not in (f"{_SVG}svg", "svg"):
        raise DamagedArtError(f"{name} is XML but not an SVG drawing. Export it as SVG.")
    return root


# --- what it asks for ---------------------------------------------------------------------------


def _check_reach(root: Element, data: bytes, name: str) -> None:
    target = next(_reaches(root, data), None)
    if target is not None:
        raise ReachingArtError(
            f"{name} asks for something outside itself ({target[:60]}). Embed it and export again."
        )


def _reaches(root: Element, data: bytes) -> Iterator[str]:
    if _STYLESHEET.search(data):
        yield "a style sheet"
    for element in root.iter():
        if element.tag != f"{_SVG}a":
            yield from _outside_hrefs(element)
        if _XML_BASE in element.attrib:
            yield "xml:base"
        texts = [v for k, v in element.attrib.items() if k not in _HREFS]
        if element.tag == f"{_SVG}style":
            texts.append(element.text or "")
        for text in texts:
            if _IMPORT.search(text):
                yield "@import"
            yield from (found[2] for found in _URL.finditer(text) if found[2].strip())


def _outside_hrefs(element: Element) -> Iterator[str]:
    for key in _HREFS:
        target = element.get(key, "").strip()
        if target and not target.startswith(("#", "data:")):
            yield target
        if target.startswith("data:image/svg"):
            yield "an SVG within the SVG"


def _check_size(root: Element, name: str) -> None:
    """Count elements with every ``use`` followed, so that nesting cannot multiply work."""
    by_id = {e.get("id"): e for e in root.iter() if e.get("id")}
    known: dict[int, int] = {}
    for element in _children_first(root):
        known[id(element)] = 1 + sum(known[id(child)] for child in element)
    weights: dict[str, int] = {}

    def weight(key: str, within: frozenset[str]) -> int:
        if key in within:
            raise DamagedArtError(f"{name} refers to itself in a circle. Export it again.")
        if key not in weights and key in by_id:
            inner = sum(weight(target, within | {key}) for target in _use_targets(by_id[key]))
            weights[key] = min(known[id(by_id[key])] + inner, MOST_ELEMENTS + 1)
        return weights.get(key, 0)

    total = known[id(root)] + sum(weight(t, frozenset()) for t in _use_targets(root))
    if total > MOST_ELEMENTS:
        raise TooLargeArtError(
            f"{name} draws more than {MOST_ELEMENTS:,} elements. Flatten it, or send a PNG."
        )


def _children_first(root: Element) -> list[Element]:
    return list(root.iter())[::-1]


def _use_targets(element: Element) -> list[str]:
    uses = element.iter(f"{_SVG}use")
    return [
        target[1:] for use in uses for key in _HREFS if (target := use.get(key, "")).startswith("#")
    ]


# --- page and rendering -------------------------------------------------------------------------


def _page_px(root: Element) -> tuple[float, float]:
    """Page size in CSS pixels: the stated width and height, else the viewBox, else the default."""
    box = _view_box(root)
    width, height = _css_px(root.get("width")), _css_px(root.get("height"))
    if width and height:
        return width, height
    if box:
        if width:
            return width, width * box[3] / box[2]
        if height:
            return height * box[2] / box[3], height
        return box[2], box[3]
    return width or DEFAULT_PAGE_PX[0], height or DEFAULT_PAGE_PX[1]


def _css_px(text: str | None) -> float | None:
    found = _LENGTH.fullmatch(text or "")
    if found is None:
        return None
    unit = found[2].lower() if found[2] else None
    value = float(found[1]) * _CSS_PX[unit]
    return value if math.isfinite(value) and value > 0 else None


def _view_box(root: Element) -> tuple[float, float, float, float] | None:
    try:
        x, y, width, height = map(float, re.split(r"[\s,]+", (root.get("viewBox") or "").strip()))
    except ValueError:
        return None
    finite = all(map(math.isfinite, (x, y, width, height)))
    return (x, y, width, height) if finite and width > 0 and height > 0 else None


def _set_page(root: Element, page: tuple[float, float], scale: float) -> None:
    """Whole pixels for the page, the view box kept: nothing is cropped by rounding."""
    if _view_box(root) is None:
        root.set("viewBox", f"0 0 {page[0]} {page[1]}")
    root.set("width", str(max(round(page[0] * scale), 1)))
    root.set("height", str(max(round(page[1] * scale), 1)))


def _drawn(root: Element, name: str) -> bytes:
    import resvg_py

    try:
        return bytes(resvg_py.svg_to_bytes(svg_string=tostring(root, encoding="unicode")))
    except (ValueError, RuntimeError) as fault:
        reason = " ".join(str(fault).split())[:100]
        raise DamagedArtError(f"{name} cannot be drawn ({reason}). Export it again.") from None


def _only_bitmaps(root: Element) -> bool:
    drawn = {"path", "rect", "circle", "ellipse", "line", "polyline", "polygon", "text", "image"}
    kinds = [e.tag.removeprefix(_SVG) for e in root.iter() if isinstance(e.tag, str)]
    shapes = [kind for kind in kinds if kind in drawn]
    return bool(shapes) and set(shapes) == {"image"}


# --- live text ----------------------------------------------------------------------------------


def _fonts(root: Element) -> tuple[tuple[str, ...], tuple[str, ...]]:
    """Families that live text asks for, and those of them that are not installed here."""
    if not any(e.tag == f"{_SVG}text" and "".join(e.itertext()).strip() for e in root.iter()):
        return (), ()
    wanted = dict.fromkeys(
        family for e in root.iter() for family in _families(e) if family not in FONT_FALLBACKS
    )
    missing = tuple(family for family in wanted if not _installed(family))
    return tuple(wanted) or ("default",), missing


def _families(element: Element) -> Iterator[str]:
    style = element.get("style", "") + (element.text or "" if element.tag == f"{_SVG}style" else "")
    texts = re.findall(r"font-family\s*:\s*([^;}]+)", style)
    if element.get("font-family"):
        texts.append(element.get("font-family", ""))
    for text in texts:
        first = text.split(",")[0].strip().strip("'\"")
        if first:
            yield first


def _installed(family: str) -> bool:
    """Whether text in this family draws anything by itself, with no family to fall back on."""
    import resvg_py

    safe = re.sub(r"[^\w .-]", "", family)
    page = (
        '<svg xmlns="http://www.w3.org/2000/svg" width="40" height="20">'
        f'<text y="15" font-family="{safe}">Hx</text></svg>'
    )
    nothing = "no such family"
    try:
        png = resvg_py.svg_to_bytes(
            svg_string=page, font_family=nothing, serif_family=nothing, sans_serif_family=nothing
        )
    except ValueError:
        return False
    with Image.open(io.BytesIO(bytes(png))) as image:
        return image.getbbox() is not None


def _text_notes(fonts: tuple[str, ...], missing: tuple[str, ...]) -> list[ReadingNote]:
    if missing:
        names = ", ".join(missing)
        return [
            ReadingNote(
                id="missing-font",
                text=f"The text asks for fonts not installed here ({names}): it may be lost.",
            )
        ]
    if fonts:
        text = "The drawing holds live text: convert it to outlines before it leaves the shop."
        return [ReadingNote(id="live-text", text=text)]
    return []
