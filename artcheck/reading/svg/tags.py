"""Names of SVG's elements: which draw, and which no renderer of still pages draws."""

from __future__ import annotations

import re
from collections.abc import Iterator
from xml.etree.ElementTree import Element

SVG = "{http://www.w3.org/2000/svg}"
URL_TARGET = re.compile(r"url\(\s*['\"]?#([^)'\"]*)")
"""A reference within the drawing; group 1 is the id."""

HREFS = ("href", "{http://www.w3.org/1999/xlink}href")

DRAWN_SHAPES = frozenset(
    {"path", "rect", "circle", "ellipse", "line", "polyline", "polygon", "text", "image"}
)

_UNDRAWN = {
    "foreignObject": "embedded page content",
    "flowRoot": "flowed text",
    "meshgradient": "a mesh gradient",
    "meshGradient": "a mesh gradient",
    "hatch": "a hatch",
    "video": "a video",
    "canvas": "a canvas",
    "iframe": "a frame",
    "script": "a script",
}
"""Elements that resvg leaves out (tests/reading draws each of them), in words."""


def local(element: Element) -> str:
    """The element's name without SVG's namespace; comments and the like have none."""
    return element.tag.removeprefix(SVG) if isinstance(element.tag, str) else ""


def undrawn(root: Element) -> Iterator[str]:
    """Parts that are not in the rendering, in words.

    In a ``switch`` page content stands beside what is drawn instead of it.
    """
    replaced = {id(child) for switch in root.iter(f"{SVG}switch") for child in switch}
    for element in root.iter():
        words = _UNDRAWN.get(local(element).rsplit("}", 1)[-1])
        if words and id(element) not in replaced and _holds_something(element):
            yield words


def _holds_something(element: Element) -> bool:
    """An empty one leaves nothing out."""
    return len(element) > 0 or bool((element.text or "").strip()) or bool(element.attrib)
