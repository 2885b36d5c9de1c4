"""Damaged content streams, read as far and as loosely as the renderer reads them.

It draws what it can of a stream that a strict reader gives up, so what that may be must be known.
"""

from __future__ import annotations

import re
import zlib
from collections.abc import Iterator
from typing import Any, Final

Instruction = tuple[str, Any, int]
"""An operator, its operands, and how many bytes of text it shows at most."""

_PIECE: Final = 64
"""Bytes that are unpacked at a time: what comes before the fault is kept."""

_TOKEN: Final = re.compile(
    rb"/(?P<name>[^\x00\s()<>\[\]{}/%]*)"
    rb"|(?P<number>[-+]?(?:\d+\.?\d*|\.\d+))"
    rb"|(?P<operator>[A-Za-z'\"][A-Za-z0-9*]*)"
)
_ESCAPED: Final = re.compile(rb"#([0-9A-Fa-f]{2})")


def salvaged(holder: Any) -> bytes:
    """What can be read of a stream or a page's streams; from now on they hold that, unpacked."""
    import pikepdf

    if not isinstance(holder, pikepdf.Page):
        data = _readable(holder)
        holder.write(data)
        return data
    contents = holder.obj.get("/Contents")
    listed = list(contents) if isinstance(contents, pikepdf.Array) else [contents]
    parts = [part for part in listed if isinstance(part, pikepdf.Stream)]
    data = b"\n".join(map(_readable, parts))
    if parts:
        parts[0].write(data)
        holder.obj.Contents = parts[0]
    return data


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


def loose_instructions(data: bytes) -> Iterator[Instruction]:
    """Anything that may be an operator, with the names and numbers before it.

    Text that it shows is no longer than what lies between it and the operator before.
    """
    operands: list[Any] = []
    end = 0
    for token in _TOKEN.finditer(data):
        if token["name"] is not None:
            name = _ESCAPED.sub(lambda code: bytes([int(code[1], 16)]), token["name"])
            operands.append("/" + name.decode("utf-8", "surrogateescape"))
        elif token["number"] is not None:
            operands.append(float(token["number"]))
        else:
            yield token["operator"].decode("ascii"), operands, token.start() - end
            operands, end = [], token.end()
