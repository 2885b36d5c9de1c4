"""What a drawing asks for: anything outside itself is refused before a renderer sees it."""

from __future__ import annotations

import re
from collections.abc import Iterator
from xml.etree.ElementTree import Element

from artcheck.errors import ReachingArtError
from artcheck.plain import plain
from artcheck.reading.svg.tags import HREFS, SVG

_XML_BASE = "{http://www.w3.org/XML/1998/namespace}base"
_URL = re.compile(r"url\(\s*(['\"]?)\s*(?!['\"]?#)(?!['\"]?data:)([^)'\"]*)", re.IGNORECASE)
_IMPORT = re.compile(r"@import", re.IGNORECASE)
_STYLESHEET = re.compile(rb"<\?xml-stylesheet", re.IGNORECASE)


def check_reach(root: Element, data: bytes, name: str) -> None:
    """Refuse a drawing that asks for other files or the network.

    Raises
    ------
    ReachingArtError
        The message shows the first thing asked for.
    """
    target = next(_reaches(root, data), None)
    if target is not None:
        raise ReachingArtError(
            f"{name} asks for something outside itself ({plain(target[:60])})."
            " Embed it and export again."
        )


def _reaches(root: Element, data: bytes) -> Iterator[str]:
    if _STYLESHEET.search(data):
        yield "a style sheet"
    for element in root.iter():
        if element.tag != f"{SVG}a":
            yield from _outside_hrefs(element)
        if _XML_BASE in element.attrib:
            yield "xml:base"
        texts = [v for k, v in element.attrib.items() if k not in HREFS]
        if element.tag == f"{SVG}style":
            texts.append(element.text or "")
        for text in texts:
            if _IMPORT.search(text):
                yield "@import"
            yield from (found[2] for found in _URL.finditer(text) if found[2].strip())


def _outside_hrefs(element: Element) -> Iterator[str]:
    for key in HREFS:
        target = element.get(key, "").strip()
        if target and not target.startswith(("#", "data:")):
            yield target
        if target.startswith("data:image/svg"):
            yield "an SVG within the SVG"
