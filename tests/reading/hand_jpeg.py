"""Flat JPEGs written bit by bit (ISO/IEC 10918-1): what a decoder must find is given."""

from __future__ import annotations

import struct
from collections.abc import Sequence


def _segment(marker: int, body: bytes) -> bytes:
    return struct.pack(">BBH", 0xFF, marker, len(body) + 2) + body


def _bits_of(sample: int) -> str:
    """A block of one flat sample: DC difference from 128 at quantiser 1, then end of block."""
    value = 8 * (sample - 128)  # the DC term of 8 x 8 equal samples (A.3.3)
    size = abs(value).bit_length()
    bits = value if value > 0 else value + (1 << size) - 1
    return f"{size:04b}" + (f"{bits:0{size}b}" if size else "") + "0"


def flat(samples: Sequence[int], app: bytes = b"") -> bytes:
    """One 8 x 8 block a component, each of one sample value, stored as given."""
    count = len(samples)
    parts = b"".join(struct.pack("BBB", n + 1, 0x11, 0) for n in range(count))
    frame = struct.pack(">BHHB", 8, 8, 8, count) + parts
    dc = bytes([0, 0, 0, 0, 12] + [0] * 12 + list(range(12)))  # twelve codes of four bits
    ac = bytes([0x10, 1] + [0] * 15 + [0])  # one code of one bit: end of block
    scan = bytes([count]) + b"".join(bytes([n + 1, 0x00]) for n in range(count)) + bytes([0, 63, 0])
    bits = "".join(map(_bits_of, samples))
    bits += "1" * (-len(bits) % 8)
    data = int(bits, 2).to_bytes(len(bits) // 8, "big").replace(b"\xff", b"\xff\x00")
    return b"".join(
        [
            b"\xff\xd8",
            app,
            _segment(0xDB, bytes([0] + [1] * 64)),
            _segment(0xC0, frame),
            _segment(0xC4, dc),
            _segment(0xC4, ac),
            _segment(0xDA, scan),
            data,
            b"\xff\xd9",
        ]
    )


def adobe_segment(transform: int) -> bytes:
    """APP14 as Adobe Technical Note 5116, section 18, describes it."""
    return _segment(0xEE, b"Adobe" + struct.pack(">HHHB", 100, 0, 0, transform))
