"""Image resource blocks, in which image editors keep what is not pixels (in PSD and TIFF).

The layout is that of Adobe's published specification of the PSD format, "Image Resources Section";
only a few blocks are read.
"""

from __future__ import annotations

import struct

RESOLUTION, ALPHA_NAMES, UNICODE_ALPHA_NAMES = 1005, 1006, 1045
DISPLAY_INFO, DISPLAY_INFO_FLOAT, ICC_PROFILE, VERSION_INFO = 1007, 1077, 1039, 1057


def blocks(data: bytes) -> dict[int, bytes]:
    """The blocks by their number; what breaks off is left out."""
    found: dict[int, bytes] = {}
    at = 0
    while at + 12 <= len(data) and data[at : at + 4] in (b"8BIM", b"MeSa"):
        (number,) = struct.unpack_from(">H", data, at + 4)
        at += 6 + _even(1 + data[at + 6])
        if at + 4 > len(data):
            break
        (size,) = struct.unpack_from(">I", data, at)
        found.setdefault(number, data[at + 4 : at + 4 + size])
        at += 4 + _even(size)
    return found


def _even(size: int) -> int:
    return size + size % 2


def pascal_strings(data: bytes) -> list[str]:
    """Names, each after a byte that tells its length."""
    names, at = [], 0
    while at < len(data):
        names.append(data[at + 1 : at + 1 + data[at]].decode("latin-1"))
        at += 1 + data[at]
    return names


def unicode_strings(data: bytes) -> list[str]:
    """Names in UTF-16, each after four bytes that tell its length in characters."""
    names, at = [], 0
    while at + 4 <= len(data):
        (length,) = struct.unpack_from(">I", data, at)
        raw = data[at + 4 : at + 4 + 2 * length]
        names.append(raw.decode("utf-16-be", errors="replace").rstrip("\x00"))
        at += 4 + 2 * length
    return names
