"""Damaged content streams: the sound instructions in them, which the renderer is given alone.

It would draw what it can of such a stream, and take other things in it for instructions than a
strict reader does; so what is drawn must be what was looked through.
"""

from __future__ import annotations

import zlib
from collections.abc import Iterable, Iterator
from typing import Any, Final

_PIECE: Final = 64
"""Bytes that are unpacked at a time: what comes before the fault is kept."""

_OPENING: Final = ("array_open", "dict_open")
_CLOSING: Final = {"array_close": "array_open", "dict_close": "dict_open"}
_PASSED_OVER: Final = ("space", "comment", "eof")
_OPERANDS: Final = ("bool", "integer", "name_", "null", "real", "string")


def contents_of_page(page: Any) -> bytes:
    """All of a page's instructions; it may have them in several streams.

    Raises
    ------
    pikepdf.PdfError
        One of these cannot be unpacked.
    """
    return b"\n".join(bytes(part.read_bytes()) for part in _parts(page))


def keep_sound(holder: Any) -> None:
    """Leave in a stream, or a page's streams, the instructions that are whole, unpacked."""
    parts = _parts(holder)
    _replace(holder, parts, _sound(b"\n".join(map(_readable, parts))))


def blank(holder: Any) -> None:
    """Leave nothing in a stream, or on a page."""
    _replace(holder, _parts(holder), b"")


def _parts(holder: Any) -> list[Any]:
    import pikepdf

    if not isinstance(holder, pikepdf.Page):
        return [holder]
    contents = holder.obj.get("/Contents")
    listed = list(contents) if isinstance(contents, pikepdf.Array) else [contents]
    return [part for part in listed if isinstance(part, pikepdf.Stream)]


def _replace(holder: Any, parts: list[Any], data: bytes) -> None:
    import pikepdf

    if not parts:
        return
    parts[0].write(data)
    if isinstance(holder, pikepdf.Page):
        holder.obj.Contents = parts[0]


def _readable(stream: Any) -> bytes:
    import pikepdf

    try:
        return bytes(stream.read_bytes())
    except (pikepdf.PdfError, RuntimeError):
        pass
    packed = stream.get("/Filter")
    if packed != "/FlateDecode" or "/DecodeParms" in stream:
        return b""
    return b"".join(_unpacked(bytes(stream.read_raw_bytes())))


def _unpacked(data: bytes) -> Iterator[bytes]:
    opened = zlib.decompressobj()
    try:
        for at in range(0, len(data), _PIECE):
            yield opened.decompress(data[at : at + _PIECE])
    except zlib.error:
        return


def _sound(data: bytes) -> bytes:
    return b"\n".join(_instructions(_tokens(data)))


def _tokens(data: bytes) -> list[tuple[str, bytes]]:
    """Kind and text of each token, whatever stands between them."""
    import pikepdf

    class Noted(pikepdf.TokenFilter):
        def __init__(self) -> None:
            super().__init__()
            self.tokens: list[tuple[str, bytes]] = []

        def handle_token(self, token: Any) -> None:
            self.tokens.append((token.type_.name, bytes(token.raw_value)))

    noted = Noted()
    with pikepdf.new() as document:
        page = document.add_blank_page()
        page.obj.Contents = document.make_stream(data)
        page.get_filtered_contents(noted)
    return noted.tokens


def _instructions(tokens: Iterable[tuple[str, bytes]]) -> Iterator[bytes]:
    """Each sound instruction; pictures in line are left out, as where they end is a guess."""
    operands: list[bytes] = []
    open_: list[str] = []
    sound = True
    for kind, text in tokens:
        if kind in _PASSED_OVER:
            continue
        if kind == "word":
            if sound and not open_ and text not in (b"BI", b"ID", b"EI"):
                yield b" ".join([*operands, text])
            operands, open_, sound = [], [], True
            continue
        operands.append(text)
        if kind in _OPENING:
            open_.append(kind)
        elif kind in _CLOSING:
            sound = sound and bool(open_) and open_.pop() == _CLOSING[kind]
        else:
            sound = sound and kind in _OPERANDS and _is_text(text)


def _is_text(operand: bytes) -> bool:
    """Whether a name can be looked up: others are no UTF-8, as the format wants them."""
    if not operand.startswith(b"/"):
        return True
    try:
        operand.decode("utf-8")
    except UnicodeDecodeError:
        return False
    return True
