"""Bitmaps made with ill will or by odd programs: sizes, depths, tags and packings that lie."""

from __future__ import annotations

import functools
import io
import struct
import zlib
from collections.abc import Iterator
from typing import Any

import numpy as np
from PIL import Image, PngImagePlugin

from fixtures.odd_writers import PNG_SIGNATURE, png, png_chunk, psd

PACKED_ZEROS = 20_000_000
"""Bytes that unpack from some twenty kilobytes: a bomb of a size that a test can afford."""


@functools.cache
def files() -> dict[str, bytes]:
    """Every crafted bitmap by name."""
    return {
        name: data for kind in (_png, _jpeg, _tiff, _tiff_writers, _others) for name, data in kind()
    }


def _patch(width: int = 12, height: int = 8) -> np.ndarray[Any, np.dtype[np.uint8]]:
    pixels = np.zeros((height, width, 4), np.uint8)
    pixels[: height // 2 + 1] = (200, 30, 40, 255)
    return pixels


def _saved(image: Image.Image, kind: str, **options: Any) -> bytes:
    out = io.BytesIO()
    image.save(out, kind, **options)
    return out.getvalue()


# --- PNG ----------------------------------------------------------------------------------------


def _png_of(
    width: int, height: int, data: bytes, *extra: bytes, form: bytes = b"\x08\x06"
) -> bytes:
    """Header, chunks, packed data as it is given; ``form`` is depth and colour type."""
    head = struct.pack(">II", width, height) + form + b"\x00\x00\x00"
    chunks = [png_chunk(b"IHDR", head), *extra, png_chunk(b"IDAT", data), png_chunk(b"IEND", b"")]
    return PNG_SIGNATURE + b"".join(chunks)


def _png() -> Iterator[tuple[str, bytes]]:
    bomb = zlib.compress(bytes(PACKED_ZEROS), 9)
    yield "png-zero-width.png", _png_of(0, 8, zlib.compress(b""))
    yield "png-2-31.png", _png_of(2**31 - 1, 2**31 - 1, bomb)
    yield "png-169-megapixels-claimed.png", _png_of(13_000, 13_000, zlib.compress(bytes(100)))
    yield "png-more-data-than-pixels.png", _png_of(12, 8, bomb)
    yield "png-tall.png", png(np.full((5_000, 1, 3), 90, np.uint8))
    yield "png-wide.png", png(np.full((1, 5_000, 3), 90, np.uint8))
    thin = np.full((5_000, 1, 3), 255, np.uint8)
    thin[2_000:3_000] = 200, 30, 40
    yield "png-thin-on-paper.png", png(thin)
    yield "png-one-pixel.png", png(_patch(1, 1))
    yield "png-too-wide.png", _png_of(60_001, 1, zlib.compress(bytes(240_005)))
    yield "png-16-bit-alpha.png", png(_patch().astype(np.uint16) * 257)
    yield "png-text-bomb.png", png(_patch(), png_chunk(b"zTXt", b"note\x00\x00" + bomb))
    yield "png-profile-bomb.png", png(_patch(), png_chunk(b"iCCP", b"icc\x00\x00" + bomb))
    rubbish = bytes(range(256)) * 8
    yield (
        "png-profile-rubbish.png",
        png(_patch(), png_chunk(b"iCCP", b"icc\x00\x00" + zlib.compress(rubbish))),
    )
    for ppm in (0, 1, 39_370_079, 2**32 - 1):
        yield (
            f"png-{ppm}-per-metre.png",
            png(_patch(), png_chunk(b"pHYs", struct.pack(">IIB", ppm, ppm, 1))),
        )
    yield "png-no-palette.png", _png_of(12, 8, zlib.compress(bytes(13 * 8)), form=b"\x08\x03")
    few = png_chunk(b"PLTE", b"\xc8\x1e\x28")
    yield (
        "png-palette-overrun.png",
        _png_of(12, 8, zlib.compress(bytes([0, *[255] * 12]) * 8), few, form=b"\x08\x03"),
    )
    yield (
        "png-long-transparency.png",
        _png_of(
            12,
            8,
            zlib.compress(bytes(13 * 8)),
            few,
            png_chunk(b"tRNS", bytes(4000)),
            form=b"\x08\x03",
        ),
    )
    yield (
        "png-two-headers.png",
        png(_patch(), png_chunk(b"IHDR", struct.pack(">II", 9000, 9000) + b"\x10\x06\0\0\0")),
    )
    yield "png-depth-3.png", _png_of(12, 8, zlib.compress(bytes(400)), form=b"\x03\x05")
    animation = png_chunk(b"acTL", struct.pack(">II", 2**31 - 1, 0))
    yield "png-animation-of-2-31.png", png(_patch(), animation)
    frames = [Image.fromarray(_patch()), Image.fromarray(_patch()[::-1])]
    yield (
        "png-animated.png",
        _saved(frames[0], "PNG", save_all=True, append_images=frames[1:], default_image=False),
    )
    info = PngImagePlugin.PngInfo()
    for number in range(2_000):
        info.add_text(f"k{number}", "x" * 20)
    yield "png-2000-notes.png", _saved(frames[0], "PNG", pnginfo=info)
    exif = b"MM\x00*\x00\x00\x00\x08" + struct.pack(">HHHII", 1, 0x8769, 4, 1, 8) + bytes(4)
    yield "png-exif-circle.png", png(_patch(), png_chunk(b"eXIf", exif))


# --- JPEG ---------------------------------------------------------------------------------------


def _jpeg() -> Iterator[tuple[str, bytes]]:
    rgb = Image.fromarray(_patch(48, 32)[..., :3])
    sound = _saved(rgb, "JPEG", quality=90)
    frame = sound.index(b"\xff\xc0")
    for name, size in (("huge", (65_500, 65_500)), ("zero", (0, 0)), ("larger", (400, 400))):
        yield (
            f"jpeg-{name}.jpg",
            sound[: frame + 5] + struct.pack(">HH", *size) + sound[frame + 9 :],
        )
    yield "jpeg-12-bit.jpg", sound[: frame + 4] + b"\x0c" + sound[frame + 5 :]
    inks = Image.fromarray(255 - _patch(48, 32), "CMYK")
    adobe = _saved(inks, "JPEG", quality=90)
    at = adobe.index(b"Adobe")
    for transform in (0, 1, 2, 255):
        yield (
            f"jpeg-adobe-{transform}.jpg",
            adobe[: at + 11] + bytes([transform]) + adobe[at + 12 :],
        )
    yield "jpeg-tall.jpg", _saved(Image.new("RGB", (1, 5_000), (200, 30, 40)), "JPEG")
    part = b"\xff\xe2" + struct.pack(">H", 2 + 14 + 40) + b"ICC_PROFILE\x00\x07\x02" + bytes(40)
    yield "jpeg-profile-parts.jpg", sound[:2] + part * 300 + sound[2:]
    yield "jpeg-profile-rubbish.jpg", _saved(rgb, "JPEG", icc_profile=b"CMYK" * 400)
    for dpi in (0, 65_535):
        yield f"jpeg-{dpi}-dpi.jpg", _saved(rgb, "JPEG", dpi=(dpi, dpi))
    exif = Image.Exif()
    exif[0x0112] = 99
    yield "jpeg-orientation-99.jpg", _saved(rgb, "JPEG", exif=exif)
    noise = np.random.default_rng(5).integers(0, 256, (64, 64, 3), np.uint8)
    scans = _saved(Image.fromarray(noise), "JPEG", progressive=True)
    last = scans.rindex(b"\xff\xda")
    yield "jpeg-3000-scans.jpg", scans[:-2] + scans[last:-2] * 3_000 + b"\xff\xd9"
    comments = b"\xff\xfe" + struct.pack(">H", 65_535) + bytes(65_533)
    yield "jpeg-20-megabytes-of-notes.jpg", sound[:2] + comments * 300 + sound[2:]


# --- TIFF ---------------------------------------------------------------------------------------

_SHORT, _LONG, _RATIONAL, _UNDEFINED = 3, 4, 5, 7


def _tiff_of(*entries: tuple[int, int, int, bytes], data: bytes = b"", following: int = 0) -> bytes:
    """One directory of (tag, kind, number, value); what is longer than four bytes goes behind it.

    The picture's strip stands at offset 8; `following` is the next directory's place.
    """
    start = 8 + len(data)
    behind = start + 2 + 12 * len(entries) + 4
    lines, values = b"", b""
    for tag, kind, number, value in entries:
        if len(value) > 4:
            place = struct.pack("<I", behind + len(values))
            values += value + bytes(len(value) % 2)
        else:
            place = value.ljust(4, b"\x00")
        lines += struct.pack("<HHI", tag, kind, number) + place
    head = b"II*\x00" + struct.pack("<I", start) + data + struct.pack("<H", len(entries))
    return head + lines + struct.pack("<I", following) + values


def _entries(width: int, height: int, count: int, **over: int) -> list[tuple[int, int, int, bytes]]:
    """Baseline grey, 8 bits, one strip at offset 8."""
    values = {
        "width": (256, width),
        "height": (257, height),
        "bits": (258, 8),
        "packing": (259, 1),
        "meaning": (262, 1),
        "strip": (273, 8),
        "samples": (277, 1),
        "rows": (278, height),
        "bytes": (279, count),
        "planes": (284, 1),
    }
    for name, value in over.items():
        values[name] = (values[name][0], value)
    return [(tag, _LONG, 1, struct.pack("<I", value)) for tag, value in values.values()]


def _tiff() -> Iterator[tuple[str, bytes]]:
    grey = bytes([40] * 48 + [250] * 48)
    plain = _entries(12, 8, 96)
    yield "tiff-circle-of-pages.tif", _tiff_of(*plain, data=grey, following=8 + 96)
    yield "tiff-page-outside.tif", _tiff_of(*plain, data=grey, following=2**31)
    yield "tiff-huge.tif", _tiff_of(*_entries(2**31 - 1, 2**31 - 1, 96), data=grey)
    yield "tiff-169-megapixels.tif", _tiff_of(*_entries(13_000, 13_000, 96), data=grey)
    yield "tiff-zero.tif", _tiff_of(*_entries(0, 8, 96), data=grey)
    yield "tiff-samples.tif", _tiff_of(*_entries(12, 8, 96, samples=65_535), data=grey)
    yield "tiff-bits-255.tif", _tiff_of(*_entries(12, 8, 96, bits=255), data=grey)
    yield "tiff-rows-0.tif", _tiff_of(*_entries(12, 8, 96, rows=0), data=grey)
    yield "tiff-strip-outside.tif", _tiff_of(*_entries(12, 8, 96, strip=2**31), data=grey)
    yield "tiff-strip-of-4-gigabytes.tif", _tiff_of(*_entries(12, 8, 2**32 - 1), data=grey)
    yield "tiff-packing-unknown.tif", _tiff_of(*_entries(12, 8, 96, packing=34_676), data=grey)
    yield "tiff-planes-2.tif", _tiff_of(*_entries(12, 8, 96, planes=2, samples=3), data=grey)
    bomb = zlib.compress(bytes(PACKED_ZEROS), 9)
    packed = _entries(12, 8, len(bomb), packing=8)
    yield "tiff-more-data-than-pixels.tif", _tiff_of(*packed, data=bomb)
    for name, ratio in (("0-0", (0, 0)), ("1-0", (1, 0)), ("million", (1_000_000, 1))):
        value = struct.pack("<II", *ratio)
        tags = [(282, _RATIONAL, 1, value), (283, _RATIONAL, 1, value)]
        yield f"tiff-ppi-{name}.tif", _tiff_of(*plain, *tags, data=grey)
    steps = (np.arange(65_536) % 251 * 257).astype("<u2")
    wide = [(320, _SHORT, 3 * 65_536, np.concatenate([steps] * 3).tobytes())]
    words = np.linspace(0, 65_535, 96).astype("<u2").tobytes()
    deep = _entries(12, 8, 192, bits=16, meaning=3)
    yield "tiff-palette-of-65536.tif", _tiff_of(*deep, *wide, data=words)
    yield (
        "tiff-palette-short.tif",
        _tiff_of(*_entries(12, 8, 96, meaning=3), (320, _SHORT, 3, bytes(6)), data=grey),
    )
    yield (
        "tiff-profile-rubbish.tif",
        _tiff_of(*plain, (34_675, _UNDEFINED, 3_000, b"acsp" * 750), data=grey),
    )
    yield "tiff-number-lies.tif", _tiff_of(*plain, (305, 2, 2**32 - 1, bytes(8)), data=grey)
    for packing in (2, 3, 4, 5, 6, 7, 8, 32_773, 34_712, 34_925, 50_000, 50_001):
        rubbish = np.random.default_rng(packing).bytes(96)
        yield (
            f"tiff-rubbish-{packing}.tif",
            _tiff_of(*_entries(12, 8, 96, packing=packing), data=rubbish),
        )


def _tiff_writers() -> Iterator[tuple[str, bytes]]:
    """What science and print programs write."""
    import tifffile

    def written(samples: Any, **options: Any) -> bytes:
        out = io.BytesIO()
        tifffile.imwrite(out, samples, **options)
        return out.getvalue()

    odd = np.linspace(-3, 3, 96, dtype=np.float32).reshape(8, 12)
    odd[0, :4] = np.nan, np.inf, -np.inf, 1e38
    yield "tiff-float.tif", written(odd)
    yield "tiff-float-nothing-but-nan.tif", written(np.full((8, 12), np.nan, np.float32))
    yield "tiff-float-64.tif", written(odd.astype(np.float64))
    yield "tiff-float-rgb.tif", written(np.dstack([odd] * 3), photometric="rgb")
    yield "tiff-int-32.tif", written(np.arange(-48, 48, dtype=np.int32).reshape(8, 12) << 24)
    yield "tiff-int-8.tif", written(_patch()[..., 0].astype(np.int8))
    yield "tiff-complex.tif", written(odd.astype(np.complex64))
    yield "tiff-big.tif", written(_patch()[..., :3], bigtiff=True, photometric="rgb")
    yield "tiff-volume.tif", written(np.zeros((40, 8, 12), np.uint8))
    yield "tiff-7-planes.tif", written(np.zeros((8, 12, 7), np.uint8), photometric="separated")
    yield "tiff-tiles.tif", written(np.full((40, 40), 40, np.uint8), tile=(16, 16))
    yield (
        "tiff-16-bit-alpha.tif",
        written(_patch().astype(np.uint16) * 257, photometric="rgb", extrasamples=["unassalpha"]),
    )


# --- the others ---------------------------------------------------------------------------------


def _others() -> Iterator[tuple[str, bytes]]:
    frames = [Image.fromarray(_patch()[..., :3] + np.uint8(n % 50)) for n in range(300)]
    for kind in ("GIF", "WEBP"):
        yield (
            f"animated-300.{kind.lower()}",
            _saved(frames[0], kind, save_all=True, append_images=frames[1:]),
        )
    gif = _saved(frames[0].quantize(8), "GIF")
    yield "canvas-65535.gif", gif[:6] + b"\xff\xff\xff\xff" + gif[10:]
    at = gif.index(b"\x2c")
    yield "frame-65535.gif", gif[: at + 5] + b"\xff\xff\xff\xff" + gif[at + 9 :]
    yield "frame-outside.gif", gif[: at + 1] + b"\xf0\xff\xf0\xff" + gif[at + 5 :]
    yield "code-size-255.gif", gif[: at + 10] + b"\xff" + gif[at + 11 :]
    yield "no-colours.gif", gif[:10] + b"\x00" + gif[11:13] + gif[13 + 24 :]

    bmp = _saved(frames[0], "BMP")
    for name, at, value in (
        ("upside-down", 22, -8),
        ("most-negative", 22, -(2**31)),
        ("zero", 18, 0),
        ("huge", 18, 2**31 - 1),
        ("offset-outside", 10, 2**31 - 1),
        ("packing-1", 30, 1),
        ("packing-2", 30, 2),
        ("packing-4", 30, 4),
        ("header-0", 14, 0),
        ("header-2-31", 14, 2**31 - 1),
        ("colours-2-31", 46, 2**31 - 1),
        ("0-per-metre", 38, 0),
    ):
        yield f"{name}.bmp", bmp[:at] + struct.pack("<i", value) + bmp[at + 4 :]
    for bits in (0, 1, 2, 4, 8, 16, 32, 255):
        yield f"bits-{bits}.bmp", bmp[:28] + struct.pack("<H", bits) + bmp[30:]

    webp = _saved(Image.fromarray(_patch()), "WEBP", lossless=True, icc_profile=b"rubbish" * 40)
    yield "profile-rubbish.webp", webp
    at = webp.index(b"VP8X")
    yield "canvas-16-million.webp", webp[: at + 12] + b"\xff" * 6 + webp[at + 18 :]
    yield "avif-turned.avif", _saved(Image.fromarray(_patch(16, 16)), "AVIF", quality=60)
    yield from _psd()


def _psd() -> Iterator[tuple[str, bytes]]:
    sound = psd(_patch()[..., :3], _patch()[..., 3])
    version = struct.pack(">4sHHII", b"8BIM", 1057, 0, 6, 1) + b"\x00\x00"
    plain = psd(_patch()[..., :3])
    size = struct.unpack_from(">I", plain, 30)[0]
    without = plain[:30] + struct.pack(">I", size + len(version)) + plain[34 : 34 + size] + version
    yield "psd-without-composite.psd", without + plain[34 + size :]
    for name, at, value in (
        ("psd-channels-0", 12, b"\x00\x00"),
        ("psd-channels-65535", 12, b"\xff\xff"),
        ("psd-huge", 14, b"\x7f" * 8),
        ("psd-zero", 14, bytes(8)),
        ("psd-larger", 14, struct.pack(">II", 9_000, 9_000)),
        ("psd-32-bits", 22, b"\x00\x20"),
        ("psd-channels-only", 24, b"\x00\x07"),
        ("psd-indexed", 24, b"\x00\x02"),
        ("psd-cmyk", 24, b"\x00\x04"),
        ("psd-lab", 24, b"\x00\x09"),
        ("psd-bitmap", 22, b"\x00\x01\x00\x00"),
        ("psd-big", 4, b"\x00\x02"),
        ("psd-version-9", 4, b"\x00\x09"),
        ("psd-resources-2-32", 30, b"\xff" * 4),
    ):
        yield f"{name}.psd", sound[:at] + value + sound[at + len(value) :]
    start = len(plain) - 12 * 8 * 3 - 2
    for packing in (1, 2, 3, 9):
        yield (
            f"psd-packing-{packing}.psd",
            plain[:start] + struct.pack(">H", packing) + plain[start + 2 :],
        )
    lengths = struct.pack(">H", 60_000) * 24
    yield "psd-packed-lengths.psd", plain[:start] + b"\x00\x01" + lengths + b"\x81\x00" * 4_000
