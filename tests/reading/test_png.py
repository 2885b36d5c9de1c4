"""PNG against its specification (ISO/IEC 15948; W3C PNG, third edition)."""

from __future__ import annotations

import struct
import zlib
from pathlib import Path

import numpy as np
import pytest
from PIL import Image

from artcheck.reading import read
from fixtures import odd_writers as write

INK, PAPER = 10, 200


def kept(data: bytes, folder: Path, name: str = "a.png") -> tuple[np.ndarray, np.ndarray | None]:
    path = folder / name
    path.write_bytes(data)
    art = read(path, background="keep")
    return art.rgb, art.alpha


def low_depth(depth: int, values: np.ndarray, *extra: bytes) -> bytes:
    """A grey PNG of 1, 2 or 4 bits: samples packed from the left (7.2, "Scanlines")."""
    rows = []
    for row in values:
        bits = "".join(f"{v:0{depth}b}" for v in row)
        bits += "0" * (-len(bits) % 8)
        rows.append(b"\x00" + int(bits, 2).to_bytes(len(bits) // 8, "big"))
    header = struct.pack(">IIBBBBB", values.shape[1], values.shape[0], depth, 0, 0, 0, 0)
    chunks = [
        write.png_chunk(b"IHDR", header),
        *extra,
        write.png_chunk(b"IDAT", zlib.compress(b"".join(rows))),
        write.png_chunk(b"IEND", b""),
    ]
    return write.PNG_SIGNATURE + b"".join(chunks)


@pytest.mark.parametrize("depth", [1, 2, 4])
def test_low_depths_are_scaled_to_the_whole_range(depth: int, tmp_path: Path) -> None:
    """Section 13.12, sample depth rescaling: value * 255 / (2^depth - 1)."""
    values = np.arange(2**depth)[np.newaxis].repeat(3, axis=0)
    rgb, _ = kept(low_depth(depth, values), tmp_path)
    np.testing.assert_array_equal(rgb[..., 0], values * 255 // (2**depth - 1))


@pytest.mark.parametrize("depth", [1, 2, 4])
def test_transparent_grey_in_low_depths(depth: int, tmp_path: Path) -> None:
    """Section 11.3.1.1, tRNS: the key is in the image's own depth."""
    values = np.arange(2**depth)[np.newaxis].repeat(3, axis=0)
    key = 2**depth - 1
    data = low_depth(depth, values, write.png_chunk(b"tRNS", struct.pack(">H", key)))
    _, alpha = kept(data, tmp_path)
    assert alpha is not None
    np.testing.assert_array_equal(alpha == 0, values == key)


def test_transparent_grey_in_16_bits(tmp_path: Path) -> None:
    values = np.array([[0, 999, 1000, 1001, 65535]] * 3, np.uint16)[..., np.newaxis]
    data = write.png(values, write.png_chunk(b"tRNS", struct.pack(">H", 1000)))
    _, alpha = kept(data, tmp_path)
    assert alpha is not None
    np.testing.assert_array_equal(alpha[0], [255, 255, 0, 255, 255])


def test_transparent_colour_in_16_bits(tmp_path: Path) -> None:
    values = np.full((4, 4, 3), 65535, np.uint16)
    values[1:3, 1:3] = (0x2A10, 0x1000, 0x8000)
    key = struct.pack(">3H", 65535, 65535, 65535)
    _, alpha = kept(write.png(values, write.png_chunk(b"tRNS", key)), tmp_path)
    assert alpha is not None
    assert alpha[0, 0] == 0
    assert alpha[1, 1] == 255


@pytest.mark.parametrize("channels", [1, 2, 3, 4])
def test_16_bits_to_8(channels: int, tmp_path: Path) -> None:
    """Section 13.12: value * 255 / 65535, to within the one that truncating costs."""
    rng = np.random.default_rng(3)
    values = rng.integers(0, 65536, (16, 16, channels), np.uint16)
    rgb, alpha = kept(write.png(values), tmp_path)
    exact = values.astype(float) * 255 / 65535
    colour = exact[..., :1] if channels < 3 else exact[..., :3]
    assert np.abs(rgb - colour).max() <= 1
    if channels in (2, 4):
        assert alpha is not None
        assert np.abs(alpha - exact[..., -1]).max() <= 1


def test_palette_with_parts_transparent(tmp_path: Path) -> None:
    """tRNS of a palette holds one alpha for each entry, 255 for those it does not name."""
    indices = np.array([[0, 1, 2, 3]] * 4, np.uint8)
    image = Image.fromarray(indices, "P")
    image.putpalette([255, 0, 0, 0, 255, 0, 0, 0, 255, 9, 9, 9])
    path = tmp_path / "p.png"
    image.save(path, transparency=bytes([0, 128]))
    art = read(path)
    assert art.alpha is not None
    np.testing.assert_array_equal(art.alpha[0], [0, 128, 255, 255])
    np.testing.assert_array_equal(art.rgb[0, 1], [0, 255, 0])


def test_interlaced_is_the_same(tmp_path: Path) -> None:
    """Adam7 (section 8.2), by hand: seven passes of an 8 x 8 grey."""
    values = np.arange(64, dtype=np.uint8).reshape(8, 8) * 4
    starts = ((0, 0, 8, 8), (0, 4, 8, 8), (4, 0, 8, 4), (0, 2, 4, 4), (2, 0, 4, 2), (0, 1, 2, 2))
    passes = [values[r::dr, c::dc] for r, c, dr, dc in (*starts, (1, 0, 2, 1))]
    data = b"".join(b"\x00" + row.tobytes() for part in passes for row in part)
    header = struct.pack(">IIBBBBB", 8, 8, 8, 0, 0, 0, 1)
    chunks = [(b"IHDR", header), (b"IDAT", zlib.compress(data)), (b"IEND", b"")]
    file = write.PNG_SIGNATURE + b"".join(write.png_chunk(*chunk) for chunk in chunks)
    rgb, _ = kept(file, tmp_path)
    np.testing.assert_array_equal(rgb[..., 1], values)


def test_resolution_of_no_unit_says_nothing(tmp_path: Path) -> None:
    """Section 11.3.4.3, pHYs: unit 0 tells the shape of a pixel, not its size."""
    grey = np.full((4, 4, 1), INK, np.uint8)
    body = struct.pack(">IIB", 11_811, 11_811, 0)
    path = tmp_path / "a.png"
    path.write_bytes(write.png(grey, write.png_chunk(b"pHYs", body)))
    assert read(path, background="keep").resolution_ppi is None


@pytest.mark.parametrize("per_metre", [0, 39_370_079])
def test_resolutions_beyond_belief_say_nothing(per_metre: int, tmp_path: Path) -> None:
    """0 and 10^6 dots per inch."""
    grey = np.full((4, 4, 1), INK, np.uint8)
    body = struct.pack(">IIB", per_metre, per_metre, 1)
    path = tmp_path / "a.png"
    path.write_bytes(write.png(grey, write.png_chunk(b"pHYs", body)))
    assert read(path, background="keep").resolution_ppi is None


@pytest.mark.parametrize(
    ("per_metre", "dpi"), [(11_811, 300), (2835, 72), (11_812, 11_812 * 0.0254), (11_800, 299.72)]
)
def test_whole_dots_per_inch_survive_the_metre(per_metre: int, dpi: float, tmp_path: Path) -> None:
    """300 and 72 dpi as pHYs must round them; what is no rounding of whole dpi stays as it is."""
    grey = np.full((64, 64, 1), INK, np.uint8)
    body = struct.pack(">IIB", per_metre, per_metre, 1)
    path = tmp_path / "a.png"
    path.write_bytes(write.png(grey, write.png_chunk(b"pHYs", body)))
    assert read(path, background="keep").resolution_ppi == pytest.approx(dpi, rel=1e-9)


@pytest.mark.parametrize("size", [(1, 300), (300, 1), (1, 1), (2, 2)])
def test_slim_pictures(size: tuple[int, int], tmp_path: Path) -> None:
    path = tmp_path / "slim.png"
    Image.new("RGB", size, (200, 0, 0)).save(path)
    assert read(path).source_size == size
