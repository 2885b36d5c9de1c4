"""A print condition as an ICC profile, for programs that take colours in no other form.

ICC.1:2001-04 (version 2.4), whose tables every colour engine reads.
"""

from __future__ import annotations

import struct
from collections.abc import Sequence
from typing import Final

import numpy as np
import numpy.typing as npt

_D50: Final = (0.9642, 1.0, 0.8249)
"""White of the connection space (6.1.9)."""

_HEADER_BYTES: Final = 128
_VERSION: Final = 0x02400000
_LAB_CODES: Final = (65280 / 100, 256.0, 256.0)
"""lut16 codes of one unit of L*, a*, b* (6.3.4.2): 0xFF00 is 100, and 0x8000 is 0."""


def cmyk_profile(lab: npt.NDArray[np.floating], name: str) -> bytes:
    """An output profile out of measured or modelled colours.

    Parameters
    ----------
    lab
        (n, n, n, n, 3) CIELAB D50 over evenly stepped C, M, Y, K, 0 to full; white is the paper.
    name
        Description, ASCII.
    """
    steps = lab.shape[0]
    codes = (lab.reshape(-1, 3) + np.array((0, 128, 128))) * _LAB_CODES
    unit = struct.pack(">9i", *(65536 * n for n in (1, 0, 0, 0, 1, 0, 0, 0, 1)))
    table = b"mft2\x00\x00\x00\x00" + struct.pack(">4B", 4, 3, steps, 0) + unit
    table += struct.pack(">2H", 2, 2) + struct.pack(">2H", 0, 65535) * 4
    table += np.clip(np.rint(codes), 0, 65535).astype(">u2").tobytes()
    table += struct.pack(">2H", 0, 65535) * 3
    text = name.encode("ascii") + b"\x00"
    tags = {
        b"desc": b"desc" + struct.pack(">II", 0, len(text)) + text + bytes(78),
        b"cprt": b"text\x00\x00\x00\x00no copyright\x00",
        b"wtpt": b"XYZ \x00\x00\x00\x00" + _fixed(_D50),
        b"A2B0": table,
    }
    return _assembled(tags)


def _fixed(values: Sequence[float]) -> bytes:
    return struct.pack(f">{len(values)}i", *(round(value * 65536) for value in values))


def _assembled(tags: dict[bytes, bytes]) -> bytes:
    """Header, tag table, tags; each tag on a multiple of four bytes."""
    start = _HEADER_BYTES + 4 + 12 * len(tags)
    listed, body = struct.pack(">I", len(tags)), b""
    for signature, tag in tags.items():
        listed += signature + struct.pack(">II", start + len(body), len(tag))
        body += tag + bytes(-len(tag) % 4)
    size = start + len(body)
    head = struct.pack(">I4xI12s", size, _VERSION, b"prtrCMYKLab ")
    head += struct.pack(">6H4s28x", 2026, 1, 1, 0, 0, 0, b"acsp") + _fixed(_D50)
    return head.ljust(_HEADER_BYTES, b"\x00") + listed + body
