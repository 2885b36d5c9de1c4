"""One page taken out of its document: faults of other pages stay there."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    import pikepdf

_NOT_PRINTED = {"/Link", "/Popup", "/Text"}
"""Annotations that are remarks about the page, not part of it."""


def isolated(document: pikepdf.Pdf, number: int) -> pikepdf.Pdf:
    """A document of this page alone, cut at its trim box.

    What decides which of its layers show (optional content) and how its inks are meant (output
    intents) comes along; private data of drawing programs does not.
    """
    import pikepdf

    alone = pikepdf.new()
    alone.pages.append(document.pages[number])
    for key in ("/OCProperties", "/OutputIntents"):
        value = document.Root.get(key)
        if value is not None:
            alone.Root[key] = alone.copy_foreign(_indirect(document, value))
    page = alone.pages[0]
    page.CropBox = pikepdf.Array(trim_box(page))
    for key in ("/PieceInfo", "/AA", "/Thumb", "/Metadata"):
        if key in page.obj:
            del page.obj[key]
    if "/Annots" in page.obj:
        page.Annots = pikepdf.Array([a for a in page.Annots if _is_printed(a)])
    return alone


def _indirect(document: pikepdf.Pdf, value: Any) -> Any:
    """Only whole objects can be copied between documents."""
    return value if value.is_indirect else document.make_indirect(value)


def _is_printed(annotation: Any) -> bool:
    return str(annotation.get("/Subtype", "")) not in _NOT_PRINTED


def has_area(page: pikepdf.Page) -> bool:
    """Whether the page is more than a line; renderers give an empty one a size of their own."""
    left, bottom, right, top = trim_box(page)
    return left < right and bottom < top


def trim_box(page: pikepdf.Page) -> list[float]:
    """The finished page (ISO 32000-1, 14.11.2): trim, else crop, else media box, inside the last.

    Left, bottom, right, top. A box that is empty there is passed over.
    """
    media = _box(page.mediabox)
    assert media is not None
    for candidate in (page.trimbox, page.cropbox):
        box = _box(candidate)
        cut = None if box is None else _common(box, media)
        if cut is not None:
            return cut
    return media


def _box(values: Any) -> list[float] | None:
    try:
        x0, y0, x1, y1 = (float(value) for value in values)
    except (TypeError, ValueError):
        return None
    return [min(x0, x1), min(y0, y1), max(x0, x1), max(y0, y1)]


def _common(one: Sequence[float], other: Sequence[float]) -> list[float] | None:
    low = [max(a, b) for a, b in zip(one[:2], other[:2], strict=True)]
    high = [min(a, b) for a, b in zip(one[2:], other[2:], strict=True)]
    if any(a >= b for a, b in zip(low, high, strict=True)):
        return None
    return [*low, *high]
