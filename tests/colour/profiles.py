"""ICC profiles built byte by byte for the tests, after ICC.1:2022 and ICC.1:2001-04."""

from __future__ import annotations

import struct

import numpy as np
import numpy.typing as npt

Array = npt.NDArray[np.float64]

WHITE = (0.8448, 0.8761, 0.7458)
"""XYZ of a coated paper of CIELAB 95 0 -2."""

D50 = (0.9642, 1.0, 0.8249)


def fixed(*numbers: float) -> bytes:
    """Numbers as s15Fixed16."""
    return b"".join(struct.pack(">i", round(number * 65536)) for number in numbers)


def xyz_tag(xyz: tuple[float, float, float]) -> bytes:
    return b"XYZ \0\0\0\0" + fixed(*xyz)


def description(text: str, version: int) -> bytes:
    if version == 2:
        raw = text.encode("ascii") + b"\0"
        return b"desc\0\0\0\0" + struct.pack(">I", len(raw)) + raw + bytes(78)
    raw = text.encode("utf-16-be")
    return b"mluc\0\0\0\0" + struct.pack(">II2s2sII", 1, 12, b"en", b"GB", len(raw), 28) + raw


def profile(
    tags: dict[bytes, bytes],
    *,
    version: int = 4,
    kind: bytes = b"prtr",
    space: bytes = b"CMYK",
    connection: bytes = b"Lab ",
    white: tuple[float, float, float] | None = WHITE,
) -> bytes:
    """A whole profile with a description and a media white beside ``tags``."""
    every = {b"desc": description("A test printer", version), **tags}
    if white is not None:
        every[b"wtpt"] = xyz_tag(white)
    offset = 132 + 12 * len(every)
    table, body = struct.pack(">I", len(every)), b""
    for name, content in every.items():
        padded = content + bytes(-len(content) % 4)
        table += struct.pack(">4sII", name, offset + len(body), len(content))
        body += padded
    head = struct.pack(
        ">I4sI4s4s4s", offset + len(body), b"test", version << 24, kind, space, connection
    )
    head += struct.pack(">6H4s", 2025, 1, 1, 0, 0, 0, b"acsp") + bytes(28)
    head += fixed(*D50) + bytes(48)
    return head + table + body


def lut(table: Array, bits: int, curves: Array, ends: Array) -> bytes:
    """A lut8 or lut16 tag: table (g, g, g, g, 3), curves (4, n), ends (3, m), all 0-1."""
    name, code, full = (b"mft1", ">u1", 255) if bits == 8 else (b"mft2", ">u2", 65535)
    head = name + bytes(4) + bytes([4, 3, len(table), 0]) + fixed(1, 0, 0, 0, 1, 0, 0, 0, 1)
    if bits == 16:
        head += struct.pack(">HH", curves.shape[1], ends.shape[1])
    values = np.concatenate([curves.ravel(), table.ravel(), ends.ravel()])
    return head + bytes(np.rint(values * full).astype(code).tobytes())


def curve(samples: Array) -> bytes:
    body = np.rint(samples * 65535).astype(">u2").tobytes()
    return _padded(b"curv\0\0\0\0" + struct.pack(">I", len(samples)) + body)


def gamma(power: float) -> bytes:
    return _padded(b"curv\0\0\0\0" + struct.pack(">IH", 1, round(power * 256)))


IDENTITY = b"curv" + bytes(8)


def parametric(kind: int, *parameters: float) -> bytes:
    return b"para\0\0\0\0" + struct.pack(">HH", kind, 0) + fixed(*parameters)


def _padded(raw: bytes) -> bytes:
    return raw + bytes(-len(raw) % 4)


def mab(
    table: Array,
    bits: int,
    a_curves: bytes,
    b_curves: bytes,
    m_curves: bytes = b"",
    matrix: bytes = b"",
) -> bytes:
    """A lutAToB tag; table (g0, g1, g2, g3, 3), 0-1."""
    full, code = (255, ">u1") if bits == 8 else (65535, ">u2")
    grid = bytes(table.shape[:4]) + bytes(12) + bytes([bits // 8, 0, 0, 0])
    clut = _padded(grid + np.rint(table * full).astype(code).tobytes())
    parts = {"b": b_curves, "matrix": matrix, "m": m_curves, "clut": clut, "a": a_curves}
    offsets, body = {}, b""
    for name, part in parts.items():
        offsets[name] = 32 + len(body) if part else 0
        body += part
    return b"mAB \0\0\0\0" + bytes([4, 3, 0, 0]) + struct.pack(">5I", *offsets.values()) + body
