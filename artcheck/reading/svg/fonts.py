"""Live text: the families it asks for, and those of them that are not here."""

from __future__ import annotations

import functools
import io
import re
from collections.abc import Iterator
from xml.etree.ElementTree import Element

from PIL import Image

from artcheck.domain.artwork import ReadingNote
from artcheck.reading.svg.tags import SVG

_GENERIC = {"serif", "sans-serif", "monospace", "cursive", "fantasy", "system-ui"}
_DEFAULT = "Times New Roman"
"""Family of text that names none: resvg's own default."""

_MOST_FAMILIES = 40
"""Families looked for; each costs a small rendering. More fonts than that are no drawing's."""


def fonts_of(root: Element) -> tuple[tuple[str, ...], tuple[str, ...]]:
    """Families that live text asks for, and those of them that are not installed here."""
    if not any(e.tag == f"{SVG}text" and "".join(e.itertext()).strip() for e in root.iter()):
        return (), ()
    wanted = list(dict.fromkeys(f for e in root.iter() for f in _families(e)))[:_MOST_FAMILIES]
    named = tuple(family for family in wanted if family not in _GENERIC) or (_DEFAULT,)
    return named, tuple(family for family in named if not _installed(family))


def _families(element: Element) -> Iterator[str]:
    """The first family of each list: what was designed, before anything that may replace it."""
    style = element.get("style", "") + (element.text or "" if element.tag == f"{SVG}style" else "")
    texts = re.findall(r"font-family\s*:\s*([^;}]+)", style)
    if element.get("font-family"):
        texts.append(element.get("font-family", ""))
    for text in texts:
        first = text.split(",")[0].strip().strip("'\"")
        if first:
            yield first


@functools.cache
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


def text_notes(fonts: tuple[str, ...], missing: tuple[str, ...]) -> list[ReadingNote]:
    """What to tell of live text."""
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
