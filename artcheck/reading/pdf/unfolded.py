"""What shared objects unfold to when a renderer follows each reference, looked at beforehand.

Functions may be stitched from functions, and a layer may show by an expression of expressions (ISO
32000-1, 7.10.4 and 8.11.2.2). Twelve that each name the next ten times are a file of a kilobyte and
a million million of either.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, NamedTuple

from artcheck.errors import TooLargeArtError
from artcheck.reading.budget import MOST_UNFOLDED

if TYPE_CHECKING:
    import pikepdf

_DEPTH = 32
"""References from one to the next; what programs write takes two or three (our choice)."""
_CONDITIONS = ("/And", "/Or", "/Not")


def check_unfolded(document: pikepdf.Pdf, name: str) -> None:
    """Look through all of a document's objects.

    Raises
    ------
    TooLargeArtError
        A function or a condition unfolds to more parts than the budget, or is nested too deep.
    """
    known: dict[tuple[int, int], _Size] = {}
    for obj in document.objects:
        size = _unfolded(obj, known, _DEPTH)
        if size.parts > MOST_UNFOLDED or size.deep > _DEPTH:
            raise TooLargeArtError(
                f"{name} holds a fade or a layer of too many parts within each other. Flatten it,"
                " or send a PNG."
            )


class _Size(NamedTuple):
    parts: int
    deep: int


_CUT = _Size(0, 0)
"""Of what lies within itself: the renderer sees that and stops."""


def _unfolded(obj: Any, known: dict[tuple[int, int], _Size], depth: int) -> _Size:
    """Parts that an object unfolds to, and how deep they lie."""
    parts = _parts(obj)
    if not parts:
        return _Size(1, 1)
    place = obj.objgen if obj.is_indirect else None
    if place in known:
        return known[place]
    if depth == 0:
        return _Size(0, _DEPTH + 1)
    if place:
        known[place] = _CUT
    sizes = [_unfolded(part, known, depth - 1) for part in parts]
    size = _Size(sum(one.parts for one in sizes), 1 + max(one.deep for one in sizes))
    if place:
        known[place] = size
    return size


def _parts(obj: Any) -> list[Any]:
    """What an object is made of, where it is one of the two kinds."""
    import pikepdf

    if isinstance(obj, pikepdf.Dictionary) and obj.get("/FunctionType") == 3:
        functions = obj.get("/Functions")
        return list(functions) if isinstance(functions, pikepdf.Array) else []
    if isinstance(obj, pikepdf.Array) and len(obj) and any(obj[0] == word for word in _CONDITIONS):
        return list(obj)[1:]
    return []
