"""PSD: the merged picture whatever lies around it. Files are built after the published layout."""

from __future__ import annotations

import struct
from pathlib import Path

import numpy as np
import pytest
from PIL import Image

from artcheck import errors
from artcheck.reading import read
from artcheck.reading.press import cmyk_to_srgb
from fixtures import make_odd_files as odd
from fixtures import odd_writers as write
from tests.art import noise
from tests.reading.editor_blocks import display_info, editor_block, names_block, old_display_info

H, W = 20, 31
RGB, CMYK, GREY, BITMAP, LAB, MULTICHANNEL = 3, 4, 1, 0, 9, 7


def packed_row(row: bytes) -> bytes:
    """PackBits: a repeat at the front where it pays, then literals (TIFF 6.0, section 9)."""
    out = b""
    run = len(row) - len(row.lstrip(row[:1]))
    run = min(run, 128)
    if run >= 2:
        out, row = bytes([257 - run]) + row[:1], row[run:]
    for at in range(0, len(row), 128):
        part = row[at : at + 128]
        out += bytes([len(part) - 1]) + part
    return out


def psd(
    planes: np.ndarray,
    mode: int,
    *,
    blocks: bytes = b"",
    layers: bytes = b"",
    packed: bool = False,
    version: int = 1,
) -> bytes:
    """Planes (N, H, rows of bytes or samples) uint8 or uint16 as the merged picture."""
    count, height, width = planes.shape
    depth = 8 * planes.dtype.itemsize
    rows = planes.astype(planes.dtype.newbyteorder(">"))
    head = b"8BPS" + struct.pack(">H6xHIIHH", version, count, height, width, depth, mode)
    wide = ">Q" if version == 2 else ">I"
    sections = struct.pack(">I", 0) + struct.pack(">I", len(blocks)) + blocks
    sections += struct.pack(wide, len(layers)) + layers
    if not packed:
        return head + sections + b"\x00\x00" + rows.tobytes()
    packed_rows = [packed_row(row.tobytes()) for plane in rows for row in plane]
    kind = ">I" if version == 2 else ">H"
    counts = b"".join(struct.pack(kind, len(row)) for row in packed_rows)
    return head + sections + b"\x00\x01" + counts + b"".join(packed_rows)


def merged_alpha(number: int = -1) -> bytes:
    """A layer section that says only how many layers there are; negative with transparency."""
    return struct.pack(">IhI", 2, number, 0)


def kept(data: bytes, folder: Path) -> Path:
    path = folder / "a.psd"
    path.write_bytes(data)
    return path


@pytest.mark.parametrize("packed", [False, True])
@pytest.mark.parametrize("version", [1, 2])
@pytest.mark.parametrize("dtype", [np.uint8, np.uint16])
def test_rgb(packed: bool, version: int, dtype: type, tmp_path: Path) -> None:
    planes: np.ndarray = noise((3, H, W)).astype(dtype)
    planes[:, 3:6, :20] = 7
    if dtype is np.uint16:
        planes *= 257
    path = kept(psd(planes, RGB, packed=packed, version=version), tmp_path)
    rgb = read(path, background="keep").rgb
    wanted = planes // 257 if dtype is np.uint16 else planes
    np.testing.assert_array_equal(rgb, wanted.transpose(1, 2, 0))


def test_packed_files_agree_with_pillow(tmp_path: Path) -> None:
    planes = noise((3, H, W))
    planes[:, :, 5:25] = 40
    path = kept(psd(planes, RGB, packed=True), tmp_path)
    with Image.open(path) as image:
        np.testing.assert_array_equal(read(path, background="keep").rgb, np.asarray(image))


@pytest.mark.parametrize("info", [display_info, old_display_info])
def test_spot_plane_is_no_transparency(info: object, tmp_path: Path) -> None:
    planes = noise((4, H, W))
    number = 1077 if info is display_info else 1007
    entry = info((7, (5400, -3600, -1400, 0), 2))  # type: ignore[operator]
    blocks = names_block("Lagoon ✓") + editor_block(number, entry)
    art = read(kept(psd(planes, RGB, blocks=blocks), tmp_path), background="keep")
    assert art.alpha is None
    assert not art.had_alpha
    np.testing.assert_array_equal(art.rgb, planes[:3].transpose(1, 2, 0))
    (ink,) = art.declared_inks
    assert (ink.name, ink.lab) == ("Lagoon ✓", (54, -36, -14))
    assert [note.id for note in art.notes] == ["spot-channels-left-out"]
    assert "Lagoon" in art.notes[0].text


def test_transparency_and_then_spots(tmp_path: Path) -> None:
    planes = np.full((6, H, W), 255, np.uint8)
    planes[:3, 4:9, 4:9] = 30
    planes[3] = 0
    planes[3, 4:9, 4:9] = 255
    blocks = names_block("Transparency", "Pewter", "Base")
    blocks += editor_block(
        1077, display_info((0, (0, 0, 0, 0), 0), (2, (0, 0, 0, 65535), 2), (7, (9000, 0, 0, 0), 2))
    )
    data = psd(planes, RGB, blocks=blocks, layers=merged_alpha())
    art = read(kept(data, tmp_path))
    np.testing.assert_array_equal(art.alpha, planes[3])
    assert [ink.name for ink in art.declared_inks] == ["Pewter", "Base"]
    assert art.declared_inks[1].lab == (90, 0, 0)
    assert "2 channels beside its picture (Pewter, Base)" in art.notes[0].text


def test_saved_selection_is_not_told(tmp_path: Path) -> None:
    planes = noise((4, H, W))
    blocks = names_block("Alpha 1") + editor_block(1077, display_info((0, (0, 0, 0, 0), 0)))
    art = read(kept(psd(planes, RGB, blocks=blocks), tmp_path), background="keep")
    assert art.alpha is None
    assert art.notes == ()


def test_half_transparent_colours_lose_the_white_they_stand_on(tmp_path: Path) -> None:
    """The merged picture of a page with nothing behind stands on white: c = a C + (1 - a) 255."""
    colour = np.array([200, 40, 90])
    planes = np.zeros((4, H, W), np.uint8)
    alpha = np.linspace(0, 255, W).round().astype(np.uint8)
    share = alpha / 255
    planes[:3] = np.rint(share * colour[:, None, None] + (1 - share) * 255)
    planes[3] = alpha
    art = read(kept(psd(planes, RGB, layers=merged_alpha()), tmp_path))
    np.testing.assert_array_equal(art.alpha, planes[3])
    enough = alpha >= 64  # below, rounding of the stored value is magnified more than fourfold
    assert np.abs(art.rgb[:, enough].astype(int) - colour).max() <= 2


def test_cmyk_is_stored_inverted(tmp_path: Path) -> None:
    inks = noise((4, H, W))
    art = read(kept(psd(255 - inks, CMYK), tmp_path), background="keep")
    np.testing.assert_array_equal(art.rgb, cmyk_to_srgb(inks.transpose(1, 2, 0)))
    assert [note.id for note in art.notes] == ["cmyk-without-profile"]


def test_cmyk_under_its_profile(tmp_path: Path) -> None:
    stored = 255 - odd.as_inks().transpose(2, 0, 1)
    data = psd(stored, CMYK, blocks=editor_block(1039, odd.turned_cmyk()))
    art = read(kept(data, tmp_path), background="keep")
    assert art.profile == "Turned inks"
    assert np.abs(art.rgb.astype(int) - odd.on_paper()).max() <= 4


def test_grey_and_lab(tmp_path: Path) -> None:
    grey = noise((1, H, W))
    rgb = read(kept(psd(grey, GREY), tmp_path), background="keep").rgb
    np.testing.assert_array_equal(rgb[..., 1], grey[0])
    lab = np.full((3, H, W), 128, np.uint8)
    lab[0] = 128
    middle = read(kept(psd(lab, LAB), tmp_path), background="keep").rgb[0, 0].astype(int)
    assert np.ptp(middle) <= 2
    assert abs(middle[0] - 119) <= 2  # L* 50 is the sRGB grey 119


def test_bitmap(tmp_path: Path) -> None:
    shape = odd.drawing()[..., 3] > 0
    bits = np.packbits(shape, axis=1)
    data = bytearray(psd(bits[np.newaxis], BITMAP))
    data[18:24] = struct.pack(">IH", odd.WIDTH, 1)  # the width in pixels, one bit each
    rgb = read(kept(bytes(data), tmp_path), background="keep").rgb
    np.testing.assert_array_equal(rgb[..., 0], np.where(shape, 0, 255))


def test_without_merged_picture(tmp_path: Path) -> None:
    info = editor_block(1057, struct.pack(">IB", 1, 0))
    data = psd(np.full((3, H, W), 255, np.uint8), RGB, blocks=info)
    with pytest.raises(errors.DamagedArtError, match="without its merged picture"):
        read(kept(data, tmp_path))


@pytest.mark.parametrize("mode", [MULTICHANNEL, 42])
def test_kinds_that_hold_no_picture(mode: int, tmp_path: Path) -> None:
    with pytest.raises(errors.NotArtError, match="8-bit RGB"):
        read(kept(psd(noise((3, H, W)), mode), tmp_path))


def test_broken_off_anywhere(tmp_path: Path) -> None:
    data = write.psd(odd.on_paper(), odd.drawing()[..., 3])
    for size in (*range(4, 200, 13), *range(200, len(data), len(data) // 40)):
        with pytest.raises(errors.ArtFileError) as told:
            read(kept(data[:size], tmp_path))
        assert "\n" not in str(told.value)


def test_huge(tmp_path: Path) -> None:
    head = b"8BPS" + struct.pack(">H6xHIIHH", 2, 3, 300_000, 300_000, 8, RGB)
    with pytest.raises(errors.TooLargeArtError, match="300000 x 300000"):
        read(kept(head + b"\x00" * 40, tmp_path))
