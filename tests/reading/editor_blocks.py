"""Resource blocks of image editors, as the published specification of PSD lays them out."""

from __future__ import annotations

import struct


def editor_block(number: int, data: bytes) -> bytes:
    """One block with an empty name."""
    return b"8BIM" + struct.pack(">HHI", number, 0, len(data)) + data + b"\x00" * (len(data) % 2)


def names_block(*names: str) -> bytes:
    """Names of the extra channels: 1006 in one byte a letter, 1045 in UTF-16."""
    short = b"".join(bytes([len(n)]) + n.encode("latin-1", "replace") for n in names)
    wide = b"".join(struct.pack(">I", len(n) + 1) + (n + "\x00").encode("utf-16-be") for n in names)
    return editor_block(1006, short) + editor_block(1045, wide)


Channel = tuple[int, tuple[int, int, int, int], int]
"""Colour space, colour, kind (0 and 1 selections, 2 an ink)."""


def display_info(*channels: Channel) -> bytes:
    """Block 1077: a version, then 13 bytes a channel."""
    return struct.pack(">I", 1) + b"".join(_entry(*channel) for channel in channels)


def old_display_info(*channels: Channel) -> bytes:
    """Block 1007: 14 bytes a channel."""
    return b"".join(_entry(*channel) + b"\x00" for channel in channels)


def _entry(space: int, colour: tuple[int, int, int, int], kind: int) -> bytes:
    return struct.pack(">H4HHB", space, *(v % 65536 for v in colour), 100, kind)
