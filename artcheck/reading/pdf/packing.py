"""Rows that packed data says it has, looked at before a reader makes room for one.

Flate and LZW data may be packed by differences along rows of any stated length (ISO 32000-1,
7.4.4.4): two thousand million columns are as many bytes of memory, for a stream of none.
"""

from __future__ import annotations

import re
from typing import TYPE_CHECKING, Any, Final

from artcheck.errors import TooLargeArtError

if TYPE_CHECKING:
    import pikepdf

_MOST: Final = {"/Columns": 1_000_000, "/Colors": 32}
"""Sixteen times the longest side of a picture that is read, in pixels; and the most inks that a
colour space may have (ISO 32000-1, annex C)."""

_STATED: Final = re.compile(rb"(/Columns|/Colors)\s*\+?(\d+)")
_ELSEWHERE: Final = re.compile(rb"/(?:DecodeParms|Columns|Colors)\s*(?:\[[^\]]*?)?\d+\s+\d+\s+R\b")
_ESCAPED_NAME: Final = re.compile(rb"/[!-~]*#[0-9A-Fa-f]{2}[!-~]*")
_CODE: Final = re.compile(rb"#([0-9A-Fa-f]{2})")
_NAMES: Final = (b"/DecodeParms", b"/Columns", b"/Colors")


def check_stated_rows(data: bytes, name: str) -> None:
    """Look through a document's bytes: its own tables are unpacked as soon as it is opened.

    Raises
    ------
    TooLargeArtError
        A row is longer than any picture's.
    """
    for key, number in _STATED.findall(data):
        _check(key.decode("ascii"), int(number[:19]), name)
    for escaped in _ESCAPED_NAME.findall(data):
        plain = _CODE.sub(lambda code: bytes([int(code[1], 16)]), escaped)
        if plain.startswith(_NAMES):  # no program spells them so
            raise _too_long(name)


def check_rows_elsewhere(document: pikepdf.Pdf, data: bytes, name: str) -> None:
    """Look through the streams of an open document, where figures stand apart from their stream.

    Raises
    ------
    TooLargeArtError
        A row is longer than any picture's.
    """
    import pikepdf

    for obj in document.objects if _ELSEWHERE.search(data) else ():
        if not isinstance(obj, pikepdf.Stream):
            continue
        stated = obj.get("/DecodeParms")
        for one in stated if isinstance(stated, pikepdf.Array) else [stated]:
            if isinstance(one, pikepdf.Dictionary):
                for key in _MOST:
                    _check(key, one.get(key, 1), name)


def _check(key: str, value: Any, name: str) -> None:
    if isinstance(value, int) and value > _MOST[key]:
        raise _too_long(name)


def _too_long(name: str) -> TooLargeArtError:
    return TooLargeArtError(
        f"{name} says its data is packed in rows longer than any picture has. Export it again."
    )
