"""Pictures embedded in a drawing: their size is checked before a renderer decodes them."""

from __future__ import annotations

import base64
import binascii
import io
import math
import re
from dataclasses import dataclass
from urllib.parse import unquote_to_bytes
from xml.etree.ElementTree import Element

from PIL import Image

from artcheck.reading.budget import MOST_PIXELS, check_pixels
from artcheck.reading.svg.page import css_px, view_box
from artcheck.reading.svg.tags import HREFS, SVG

_DRAWN_FORMATS = ("PNG", "JPEG", "GIF", "WEBP")
"""Formats that resvg decodes."""

_STEP = re.compile(r"(\w+)\s*\(([^)]*)\)")


@dataclass(frozen=True, slots=True)
class Embedded:
    """One ``image``: its pixels, or why it is not drawn."""

    element: Element
    size: tuple[int, int] | None = None
    fault: str | None = None


def embedded(root: Element, name: str) -> tuple[Embedded, ...]:
    """Every picture within the drawing.

    Raises
    ------
    TooLargeArtError
        One has more pixels than the budget; only its header was read.
    """
    return tuple(_looked_at(element, name) for element in root.iter(f"{SVG}image"))


def _looked_at(element: Element, name: str) -> Embedded:
    data = _data_of(element)
    try:
        with Image.open(io.BytesIO(data), formats=_DRAWN_FORMATS) as image:
            size = image.size
    except (OSError, SyntaxError, ValueError, Image.DecompressionBombError) as fault:
        if isinstance(fault, Image.DecompressionBombError):
            check_pixels(MOST_PIXELS, 2, name)
        return Embedded(element, fault="a picture that cannot be decoded")
    check_pixels(*size, name)
    return Embedded(element, size)


def _data_of(element: Element) -> bytes:
    """The bytes of a data URL (RFC 2397), empty where it is none."""
    target = next((t for key in HREFS if (t := element.get(key, "").strip())), "")
    head, comma, body = target.partition(",")
    if not (head.startswith("data:") and comma):
        return b""
    raw = unquote_to_bytes(body)
    if not head.endswith(";base64"):
        return raw
    try:
        return base64.b64decode(b"".join(raw.split()) + b"==")
    except binascii.Error:
        return b""


def own_density(
    root: Element, page: tuple[float, float], images: tuple[Embedded, ...]
) -> float | None:
    """Rendered pixels per CSS pixel at which the finest embedded picture keeps its own pixels.

    None where there is none, where it lies askew, or where the page would be over the budget.
    """
    box = view_box(root) or (0.0, 0.0, *page)
    units_per_px = max(box[2] / page[0], box[3] / page[1])
    found = [_px_per_unit(root, image) for image in images if image.size]
    known = [density for density in found if density is not None]
    if not known or len(known) < len(found):
        return None
    density = max(known) * units_per_px
    return density if 1 <= page[0] * page[1] * density**2 <= MOST_PIXELS else None


def _px_per_unit(root: Element, image: Embedded) -> float | None:
    """Pixels of the picture on one unit of the view box."""
    assert image.size is not None
    width = css_px(image.element.get("width")) or float(image.size[0])
    enlarged = _enlargement(root, image.element)
    return image.size[0] / width / enlarged if enlarged else None


def _enlargement(root: Element, element: Element) -> float | None:
    """By how much the transforms around an element enlarge it; None for turned or skewed ones."""
    parents = {id(child): parent for parent in root.iter() for child in parent}
    factor, at = 1.0, element
    while at is not root:
        for kind, numbers in _STEP.findall(at.get("transform", "")):
            step = _step(kind, numbers)
            if step is None:
                return None
            factor *= step
        at = parents[id(at)]
    return factor if math.isfinite(factor) and factor > 0 else None


def _step(kind: str, numbers: str) -> float | None:
    try:
        values = [float(number) for number in re.split(r"[\s,]+", numbers.strip())]
    except ValueError:
        return None
    if kind == "translate":
        return 1.0
    if kind == "scale" and values:
        return abs(values[0])
    if kind == "matrix" and len(values) == 6 and values[1] == values[2] == 0:
        return abs(values[0])
    return None
