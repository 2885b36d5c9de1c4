"""Where each format's parts begin: the places at which a file that breaks off is most awkward.

Each function gives byte offsets of one sound file, in order. The layouts are those of the formats'
published descriptions: ISO/IEC 15948 (PNG), ITU-T T.81 annex B (JPEG), TIFF revision 6.0, the GIF
specification of 1990, RFC 9649 (WebP), ISO/IEC 14496-12 (AVIF's boxes), ISO 32000-1 (PDF), XML 1.0
(SVG), and Adobe's description of PSD.
"""

from __future__ import annotations

import re
import struct
from collections.abc import Iterator


def boundaries(data: bytes) -> list[int]:
    """Offsets within ``data`` where a part begins or ends, whatever its format."""
    found = (walk for start, walk in _WALKS if data.startswith(start) or start in data[:16])
    walk = next(found, _evenly)
    return sorted({at for at in walk(data) if 0 < at < len(data)})


def _evenly(data: bytes) -> Iterator[int]:
    """Sixteenths of a file whose parts cannot be seen, say because it is packed."""
    yield from range(0, len(data), max(1, len(data) // 16))


def _png(data: bytes) -> Iterator[int]:
    """Each chunk: its start, its kind, its body, its checksum."""
    at = 8
    while at < len(data):
        (length,) = struct.unpack_from(">I", data, at)
        yield from (at, at + 4, at + 8, at + 8 + length)
        at += 12 + length


def _jpeg(data: bytes) -> Iterator[int]:
    """Each marker and its segment's body; within the entropy-coded data, the first bytes."""
    at = 2
    while at + 4 <= len(data) and data[at] == 0xFF and data[at + 1] != 0xD9:
        (length,) = struct.unpack_from(">H", data, at + 2)
        yield from (at, at + 2, at + 4, at + 2 + length)
        at += 2 + length
        if data[at - length - 1] == 0xDA:
            end = re.compile(rb"\xff[^\x00\xd0-\xd7]").search(data, at)
            yield from (at + 1, at + 7)
            at = end.start() if end else len(data)
    yield at


_TIFF_SIZES = {1: 1, 2: 1, 3: 2, 4: 4, 5: 8, 7: 1, 11: 4, 12: 8}
_STRIP_OFFSETS, _STRIP_COUNTS = 273, 279


def _tiff(data: bytes) -> Iterator[int]:
    """Header, directories, their entries, the values they point at, the strips."""
    order = "<" if data[:2] == b"II" else ">"
    yield from (2, 4, 8)
    (at,) = struct.unpack_from(f"{order}I", data, 4)
    while at:
        (count,) = struct.unpack_from(f"{order}H", data, at)
        yield from (at, at + 2)
        for entry in range(at + 2, at + 2 + 12 * count, 12):
            tag, kind, number, value = struct.unpack_from(f"{order}HHII", data, entry)
            yield from (entry, entry + 8)
            if number * _TIFF_SIZES.get(kind, 1) > 4 or tag == _STRIP_OFFSETS:
                yield from (value, value + number * _TIFF_SIZES.get(kind, 1))
        (at,) = struct.unpack_from(f"{order}I", data, at + 2 + 12 * count)


def _psd(data: bytes) -> Iterator[int]:
    """Header fields, the three sections, the picture's packing and its planes."""
    yield from (4, 6, 12, 14, 18, 22, 24, 26)
    at = 26
    for _ in range(3):
        (length,) = struct.unpack_from(">I", data, at)
        yield from (at, at + 4, at + 4 + length // 2, at + 4 + length)
        at += 4 + length
    yield from (at + 1, at + 2, at + 2 + (len(data) - at) // 3, len(data) - 1)


def _gif(data: bytes) -> Iterator[int]:
    """Screen, colour table, each extension and picture, each block of data."""
    yield from (6, 13)
    at = 13 + (3 << ((data[10] & 7) + 1) if data[10] & 0x80 else 0)
    while at < len(data) and data[at] != 0x3B:
        yield at
        if data[at] == 0x2C:
            at += 10
            at += 3 << ((data[at - 1] & 7) + 1) if data[at - 1] & 0x80 else 0
            yield at
            at += 1
        else:
            at += 2
        while data[at]:
            yield from (at, at + 1)
            at += 1 + data[at]
        at += 1
    yield at


def _riff(data: bytes) -> Iterator[int]:
    """Each chunk of a WebP: its name, its length, its body."""
    at = 12
    while at + 8 <= len(data):
        (length,) = struct.unpack_from("<I", data, at + 4)
        yield from (at, at + 4, at + 8, at + 8 + length // 2)
        at += 8 + length + length % 2


def _boxes(data: bytes, at: int = 0, end: int | None = None) -> Iterator[int]:
    """Each box of an AVIF, those within ``meta`` too."""
    end = len(data) if end is None else end
    while at + 8 <= end:
        (length,) = struct.unpack_from(">I", data, at)
        yield from (at, at + 4, at + 8, at + length // 2)
        if data[at + 4 : at + 8] == b"meta":
            yield from _boxes(data, at + 12, at + length)
        at += max(length, 8)


def _bmp(data: bytes) -> Iterator[int]:
    """File header, picture header field by field, pixels."""
    (pixels,) = struct.unpack_from("<I", data, 10)
    yield from (2, 10, 14, 18, 22, 26, 28, 30, 34, 46, pixels, pixels + 1, len(data) - 1)


def _pdf(data: bytes) -> Iterator[int]:
    """Objects, streams, cross references, trailer, end."""
    words = rb"\d+ 0 obj|endobj|stream\r?\n|endstream|xref|trailer|startxref|%%EOF|<<|>>"
    for found in re.finditer(words, data):
        yield from (found.start(), found.end())


def _xml(data: bytes) -> Iterator[int]:
    """Each tag and each attribute."""
    for found in re.finditer(rb"<[^>]*>|\s[\w:-]+=", data):
        yield from (found.start(), found.start() + 1, found.end())


_WALKS = (
    (b"\x89PNG", _png),
    (b"\xff\xd8\xff", _jpeg),
    (b"II*\x00", _tiff),
    (b"MM\x00*", _tiff),
    (b"8BPS", _psd),
    (b"GIF8", _gif),
    (b"RIFF", _riff),
    (b"ftyp", _boxes),
    (b"BM", _bmp),
    (b"%PDF-", _pdf),
    (b"<", _xml),
)
