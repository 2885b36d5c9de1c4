"""Content streams, each parsed once; of their instructions, those that matter here.

Operators are those of ISO 32000-1, annex A.
"""

from __future__ import annotations

import warnings
from collections.abc import Iterator
from dataclasses import dataclass, replace
from typing import Any, Final

from artcheck.reading.pdf.salvage import blank, contents_of_page, keep_sound

Matrix = tuple[float, float, float, float]

Place = tuple[int, int]
"""What tells an object of a document from the others; negative for one that is part of another."""

WHOLE: Final[Matrix] = (1, 0, 0, 1)

PAINTING: Final = frozenset({"f", "F", "f*", "B", "B*", "b", "b*", "S", "s", "sh"})
SHOWING: Final = frozenset({"Tj", "TJ", "'", '"'})
FILL_COLOURS: Final = frozenset({"g", "rg", "k", "cs", "sc", "scn"})
STROKE_COLOURS: Final = frozenset({"G", "RG", "K", "CS", "SC", "SCN"})
INLINE_IMAGE: Final = "INLINE IMAGE"

_NAMING: Final = frozenset({"Do", "gs", "Tf", "cs", "CS", "sc", "SC", "scn", "SCN"})
_BARE: Final = PAINTING | FILL_COLOURS | STROKE_COLOURS | {"q", "Q"}


class DamagedStreamError(Exception):
    """Not all of a content stream is instructions."""


@dataclass(frozen=True, slots=True)
class Steps:
    """``operators`` counts all. ``kept`` pairs an operator with what it is given.

    That is a name for what names a resource (``None`` for a colour without one), a `Matrix` for
    ``cm``, the number of bytes for text that is shown, width and height for a picture in line.
    """

    operators: int = 0
    kept: tuple[tuple[str, Any], ...] = ()
    damaged: bool = False


class Streams:
    """The steps of every stream that was asked for."""

    def __init__(self) -> None:
        self._known: dict[Place, Steps] = {}

    def steps(self, stream: Any) -> Steps:
        """Of a stream or a page."""
        place = place_of(stream)
        if place not in self._known:
            self._known[place] = _parsed(stream)
        return self._known[place]


def is_stream(obj: Any) -> bool:
    """Whether an object carries data."""
    import pikepdf

    return isinstance(obj, pikepdf.Stream)


def is_dictionary(obj: Any) -> bool:
    """Whether an object has named entries and no data."""
    import pikepdf

    return isinstance(obj, pikepdf.Dictionary)


def place_of(stream: Any) -> Place:
    """Of a page, or of an object that stands by itself."""
    import pikepdf

    obj = stream.obj if isinstance(stream, pikepdf.Page) else stream
    number, generation = obj.objgen
    return int(number), int(generation)


def strict_instructions(stream: Any) -> list[Any]:
    """The instructions of a stream or a page.

    Raises
    ------
    DamagedStreamError
        Some of it is none.
    """
    import pikepdf

    try:
        with warnings.catch_warnings():
            warnings.simplefilter("error")  # that a stream ends too early is one; of a page none is
            if not isinstance(stream, pikepdf.Page):
                return list(pikepdf.parse_content_stream(stream))
            with pikepdf.new() as beside:
                whole = beside.make_stream(contents_of_page(stream))
                return list(pikepdf.parse_content_stream(whole))
    except (pikepdf.PdfError, ValueError, TypeError, UserWarning) as fault:
        raise DamagedStreamError from fault


def _parsed(stream: Any) -> Steps:
    try:
        return _steps(strict_instructions(stream))
    except DamagedStreamError:
        keep_sound(stream)
    try:
        return replace(_steps(strict_instructions(stream)), damaged=True)
    except DamagedStreamError:
        blank(stream)
        return Steps(damaged=True)


def _steps(instructions: list[Any]) -> Steps:
    try:
        return Steps(len(instructions), tuple(_kept(instructions)))
    except UnicodeDecodeError as fault:
        raise DamagedStreamError from fault


def _kept(instructions: list[Any]) -> Iterator[tuple[str, Any]]:
    for instruction in instructions:
        operator = str(instruction.operator)
        if operator in _NAMING:
            yield operator, _name(operator, instruction.operands)
        elif operator in _BARE:
            yield operator, None
        elif operator in SHOWING:
            yield operator, sum(map(_characters, instruction.operands))
        elif operator == "cm":
            yield operator, matrix_of(instruction.operands)
        elif operator == INLINE_IMAGE:
            image = instruction.iimage
            yield operator, (int(image.width), int(image.height))


def _name(operator: str, operands: Any) -> str | None:
    """The name that counts is the last operand; a font's size comes behind it."""
    import pikepdf

    place = 2 if operator == "Tf" else 1
    one = operands[-place] if len(operands) >= place else None
    if isinstance(one, pikepdf.String):
        return f"/{one}"  # no name, and taken for one by the renderer
    return str(one) if isinstance(one, pikepdf.Name) else None


def _characters(operand: Any) -> int:
    import pikepdf

    if isinstance(operand, pikepdf.Array):
        return sum(map(_characters, operand))
    return len(bytes(operand)) if isinstance(operand, pikepdf.String) else 0


def matrix_of(operands: Any) -> Matrix:
    """What a matrix does beside moving; one that is no matrix does nothing."""
    try:
        a, b, c, d = (float(value) for value in list(operands)[:4])
    except (TypeError, ValueError):
        return WHOLE
    return a, b, c, d


def times(inner: Matrix, outer: Matrix) -> Matrix:
    """First ``inner``, then ``outer``."""
    a, b, c, d = inner
    m, n, o, p = outer
    return a * m + b * o, a * n + b * p, c * m + d * o, c * n + d * p
