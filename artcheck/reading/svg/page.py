"""The drawing's page: its size from width, height and view box, and whole pixels for it."""

from __future__ import annotations

import math
import re
from xml.etree.ElementTree import Element

from artcheck.units import POINTS_PER_INCH

_LENGTH = re.compile(
    r"\s*([+]?(?:\d+\.?\d*|\.\d+)(?:e[+-]?\d+)?)\s*(px|pt|pc|mm|cm|in|q)?\s*", re.IGNORECASE
)
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

Box = tuple[float, float, float, float]


def page_px(root: Element) -> tuple[float, float]:
    """Page size in CSS pixels: the stated width and height, else the viewBox, else the default."""
    box = view_box(root)
    width, height = css_px(root.get("width")), css_px(root.get("height"))
    if width and height:
        return width, height
    if box:
        if width:
            return width, width * box[3] / box[2]
        if height:
            return height * box[2] / box[3], height
        return box[2], box[3]
    return width or DEFAULT_PAGE_PX[0], height or DEFAULT_PAGE_PX[1]


def css_px(text: str | None) -> float | None:
    """A length in CSS pixels; None for none, shares of a window, and what is no length."""
    found = _LENGTH.fullmatch(text or "")
    if found is None:
        return None
    unit = found[2].lower() if found[2] else None
    value = float(found[1]) * _CSS_PX[unit]
    return value if math.isfinite(value) and value > 0 else None


def view_box(root: Element) -> Box | None:
    """The view box (x, y, width, height), where it is a usable one."""
    try:
        x, y, width, height = map(float, re.split(r"[\s,]+", (root.get("viewBox") or "").strip()))
    except ValueError:
        return None
    finite = all(map(math.isfinite, (x, y, width, height)))
    return (x, y, width, height) if finite and width > 0 and height > 0 else None


def set_page(root: Element, page: tuple[float, float], scale: float) -> None:
    """Whole pixels for the page, the view box kept: nothing is cropped by rounding."""
    if view_box(root) is None:
        root.set("viewBox", f"0 0 {page[0]} {page[1]}")
    root.set("width", str(max(round(page[0] * scale), 1)))
    root.set("height", str(max(round(page[1] * scale), 1)))
