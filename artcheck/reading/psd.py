"""PSD and PSB: the merged picture, its transparency, and what lies beside it.

Layers are never composed here: editors store the merged picture, and it is what the customer saw.
The layout is that of Adobe's published specification of the PSD format.
"""

from __future__ import annotations

import struct
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from PIL import Image

from artcheck.errors import DamagedArtError, NotArtError
from artcheck.reading import resources as block
from artcheck.reading.budget import check_pixels
from artcheck.reading.decoded import Decoded, meaningful, usable_ppi
from artcheck.reading.planes import named_extra
from artcheck.reading.to_srgb import to_srgb

Plane = NDArray[np.uint8]

_BITMAP, _GREY, _INDEXED, _RGB, _CMYK, _DUOTONE, _LAB = 0, 1, 2, 3, 4, 8, 9
_PICTURE_PLANES = {_BITMAP: 1, _GREY: 1, _INDEXED: 1, _RGB: 3, _CMYK: 4, _DUOTONE: 1, _LAB: 3}
_MODES = {_RGB: "RGB", _CMYK: "CMYK", _LAB: "LAB"}
_DEPTHS = (1, 8, 16)
_BIG = 2
"""Version of the format for large documents, with wider length fields."""

_DEEP_LAYERS = (b"Lr16", b"Lr32", b"Layr")
_MERGED_ALPHA = (b"Mtrn", b"Mt16", b"Mt32")
_RAW, _PACKED = 0, 1


@dataclass(frozen=True, slots=True)
class _Header:
    version: int
    channels: int
    height: int
    width: int
    depth: int
    mode: int

    @property
    def row_bytes(self) -> int:
        return (self.width * self.depth + 7) // 8


class _Bytes:
    """The file's bytes from front to back; whatever reaches past their end is refused."""

    def __init__(self, data: bytes) -> None:
        self.data = memoryview(data)
        self.at = 0

    def take(self, size: int) -> memoryview:
        if size > len(self.data) - self.at:
            raise ValueError("the file ends too soon")
        self.at += size
        return self.data[self.at - size : self.at]

    def number(self, form: str) -> int:
        return int(struct.unpack(form, self.take(struct.calcsize(form)))[0])

    def section(self, form: str = ">I") -> bytes:
        return bytes(self.take(self.number(form)))


def decode(data: bytes, name: str) -> Decoded:
    """The merged picture as sRGB and alpha.

    Raises
    ------
    NotArtError
        Of a variant that holds no picture artcheck can show.
    DamagedArtError
        Saved without its merged picture.
    TooLargeArtError
        Over the pixel budget.
    ValueError
        It breaks off.
    """
    file = _Bytes(data)
    header = _header(file, name)
    palette = file.section()
    blocks = block.blocks(file.section())
    version_info = blocks.get(block.VERSION_INFO, b"")
    if len(version_info) > 4 and version_info[4] == 0:
        raise DamagedArtError(
            f"{name} was saved without its merged picture, only as layers. Ask for a PNG or TIFF."
        )
    merged_alpha = _has_merged_alpha(file.section(">Q" if header.version == _BIG else ">I"), header)
    count = _PICTURE_PLANES[header.mode]
    with_alpha = merged_alpha and header.channels > count
    planes = _planes(file, header, count + with_alpha)
    alpha = planes.pop() if with_alpha else None
    if alpha is not None:
        matte = (255, 128, 128) if header.mode == _LAB else (255,) * count
        planes = [_unmatted(p, alpha, m) for p, m in zip(planes, matte, strict=True)]
    picture = _picture(planes, header, palette)
    rgb, profile, notes = to_srgb(picture, blocks.get(block.ICC_PROFILE))
    extra = named_extra(header.channels - count - with_alpha, blocks)
    ppi = usable_ppi(_resolution(blocks))
    notes += extra.notes
    return Decoded(rgb, meaningful(alpha), with_alpha, ppi, profile, notes, extra.inks)


def _header(file: _Bytes, name: str) -> _Header:
    values = struct.unpack(">4xH6xHIIHH", file.take(26))
    header = _Header(*values)
    check_pixels(header.width, header.height, name)
    known = header.mode in _PICTURE_PLANES and header.depth in _DEPTHS
    if not known or (header.depth == 1) != (header.mode == _BITMAP):
        what = "separate channels only" if header.mode == 7 else f"{header.depth} bits a channel"
        raise NotArtError(f"{name} is a PSD of {what}. Ask for it as 8-bit RGB: PNG or TIFF.")
    if header.version not in (1, _BIG) or header.channels < _PICTURE_PLANES[header.mode]:
        raise ValueError("its header contradicts itself")
    return header


def _has_merged_alpha(section: bytes, header: _Header) -> bool:
    """Whether the plane after the picture's own is its transparency.

    A negative number of layers says so; deep documents keep their layers in a block of their own.
    """
    wide = ">Q" if header.version == _BIG else ">I"
    size = struct.calcsize(wide)
    if len(section) < size:
        return False
    (length,) = struct.unpack_from(wide, section)
    if length:
        return length >= 2 and int(struct.unpack_from(">h", section, size)[0]) < 0
    if any(key in section for key in _MERGED_ALPHA):
        return True
    places = [section.find(b"8BIM" + key) for key in _DEEP_LAYERS]
    starts = [at + 8 + size for at in places if at >= 0]
    return any(int(struct.unpack_from(">h", section, at)[0]) < 0 for at in starts)


def _planes(file: _Bytes, header: _Header, count: int) -> list[Plane]:
    """The first ``count`` planes, each (H, W) uint8 (of 16 bits, the upper 8)."""
    compression = file.number(">H")
    size = header.row_bytes * header.height
    if compression == _RAW:
        rows = [np.frombuffer(file.take(size), np.uint8) for _ in range(count)]
    elif compression == _PACKED:
        lengths = _packed_lengths(file, header)
        rows = [_unpacked(file.take(int(n)), header) for n in lengths[:count]]
    else:
        raise ValueError(f"its picture is packed in an unknown way, {compression}")
    return [_eight_bit(row.reshape(header.height, -1), header) for row in rows]


def _packed_lengths(file: _Bytes, header: _Header) -> NDArray[np.int64]:
    """Bytes that each plane takes once packed: the sum over its rows."""
    kind = np.dtype(">u4" if header.version == _BIG else ">u2")
    table = file.take(header.channels * header.height * kind.itemsize)
    lengths = np.frombuffer(table, kind).astype(np.int64)
    return np.asarray(lengths.reshape(header.channels, header.height).sum(axis=1))


def _unpacked(packed: memoryview, header: _Header) -> Plane:
    """PackBits, as TIFF has it (revision 6.0, section 9)."""
    size = (header.row_bytes, header.height)
    return np.asarray(Image.frombytes("L", size, bytes(packed), "packbits", "L"))


def _eight_bit(rows: Plane, header: _Header) -> Plane:
    if header.depth == 1:
        bits = np.unpackbits(rows, axis=1)[:, : header.width]
        return np.asarray((1 - bits) * np.uint8(255))
    return rows[:, ::2] if header.depth == 16 else rows


def _unmatted(plane: Plane, alpha: Plane, matte: int) -> Plane:
    """The art's own values: the merged picture of a page with nothing behind stands on white."""
    part = (alpha > 0) & (alpha < 255)
    share = alpha[part] / np.float32(255)
    values = (plane[part] - matte * (1 - share)) / share
    own = plane.copy()
    own[part] = np.rint(np.clip(values, 0, 255)).astype(np.uint8)
    return own


def _picture(planes: list[Plane], header: _Header, palette: bytes) -> Image.Image:
    mode = _MODES.get(header.mode)
    if mode is None:
        image = Image.fromarray(np.ascontiguousarray(planes[0]))
        if header.mode != _INDEXED:
            return image
        image.putpalette(np.frombuffer(palette[:768], np.uint8).reshape(3, 256).T.tobytes())
        return image.convert("RGB")
    stacked = np.dstack(planes)
    if mode == "CMYK":
        stacked = 255 - stacked
    if mode == "LAB":
        stacked[..., 1:] ^= 128  # Pillow takes a and b signed; here they are offset by 128
    return Image.frombytes(mode, (header.width, header.height), stacked.tobytes())


def _resolution(blocks: dict[int, bytes]) -> tuple[float, float] | None:
    data = blocks.get(block.RESOLUTION, b"")
    if len(data) < 16:
        return None
    across, down = struct.unpack(">I4xI4x", data[:16])
    return across / 65536, down / 65536
