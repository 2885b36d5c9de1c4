"""TIFF, written with tifffile: what its tags say is what is read."""

from __future__ import annotations

import struct
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import tifffile

from artcheck import errors
from artcheck.reading import read
from artcheck.reading.press import cmyk_to_srgb
from fixtures import make_odd_files as odd
from tests.art import noise
from tests.reading.editor_blocks import display_info, editor_block, names_block

H, W = 24, 32


def written(folder: Path, samples: np.ndarray, photometric: str, **options: Any) -> Path:
    path = folder / "a.tif"
    tifffile.imwrite(path, samples, photometric=photometric, metadata=None, **options)
    return path


@pytest.mark.parametrize("compression", [None, "zlib"])
@pytest.mark.parametrize("layout", [{}, {"tile": (16, 16)}, {"rowsperstrip": 5}])
@pytest.mark.parametrize("byteorder", ["<", ">"])
def test_layouts(
    compression: str | None, layout: dict[str, Any], byteorder: Any, tmp_path: Path
) -> None:
    samples = noise((H, W, 3))
    path = tmp_path / "a.tif"
    tifffile.imwrite(
        path,
        samples,
        photometric="rgb",
        metadata=None,
        compression=compression,
        byteorder=byteorder,
        **layout,
    )
    np.testing.assert_array_equal(read(path, background="keep").rgb, samples)


def test_separate_planes(tmp_path: Path) -> None:
    samples = noise((3, H, W))
    path = written(tmp_path, samples, "rgb", planarconfig="separate")
    np.testing.assert_array_equal(read(path, background="keep").rgb, samples.transpose(1, 2, 0))


@pytest.mark.parametrize("photometric", ["minisblack", "miniswhite"])
@pytest.mark.parametrize("dtype", [np.uint8, np.uint16])
def test_which_end_of_grey_is_white(photometric: str, dtype: Any, tmp_path: Path) -> None:
    """TIFF 6.0, section 4: PhotometricInterpretation 0 is white at zero, 1 black."""
    most = np.iinfo(dtype).max
    samples = np.linspace(0, most, H * W).reshape(H, W).astype(dtype)
    rgb = read(written(tmp_path, samples, photometric), background="keep").rgb
    share = samples / most if photometric == "minisblack" else 1 - samples / most
    assert np.abs(rgb[..., 0] - share * 255).max() <= 1


def test_floats_that_are_no_numbers(tmp_path: Path) -> None:
    samples = np.full((H, W), 0.5, np.float32)
    samples[0], samples[1], samples[2, 0] = np.nan, np.inf, 1.0
    rgb = read(written(tmp_path, samples, "minisblack"), background="keep").rgb
    assert (rgb[:2] == 0).all()
    assert (rgb[3:] == 128).all()
    assert (rgb[2, 0] == 255).all()


@pytest.mark.parametrize(("kind", "premultiplied"), [("unassalpha", False), ("assocalpha", True)])
def test_alpha_is_straight_afterwards(kind: str, premultiplied: bool, tmp_path: Path) -> None:
    """TIFF 6.0, section 18: associated alpha is multiplied into the colours."""
    samples = np.zeros((H, W, 4), np.uint8)
    samples[:] = (200, 100, 50, 128)
    samples[0, :, 3] = 255
    stored = samples.copy()
    if premultiplied:
        share = samples[..., 3:].astype(float) / 255
        stored[..., :3] = np.rint(samples[..., :3] * share).astype(np.uint8)
    art = read(written(tmp_path, stored, "rgb", extrasamples=[kind]))
    np.testing.assert_array_equal(art.alpha, samples[..., 3])
    assert np.abs(art.rgb.astype(int) - samples[..., :3]).max() <= 1
    assert art.notes == ()


def test_a_fourth_plane_that_is_no_alpha_is_left_out(tmp_path: Path) -> None:
    samples = noise((H, W, 4))
    art = read(written(tmp_path, samples, "rgb", extrasamples=["unspecified"]), background="keep")
    assert art.alpha is None
    assert not art.had_alpha
    np.testing.assert_array_equal(art.rgb, samples[..., :3])
    assert [note.id for note in art.notes] == ["spot-channels-left-out"]


def test_spot_plane_of_an_image_editor(tmp_path: Path) -> None:
    samples = noise((H, W, 5))
    blocks = names_block("Pewter") + editor_block(1077, display_info((7, (6200, 0, -200, 0), 2)))
    path = written(
        tmp_path,
        samples,
        "separated",
        extrasamples=["unspecified"],
        extratags=[(34377, "B", len(blocks), blocks, True)],
    )
    art = read(path, background="keep")
    np.testing.assert_array_equal(art.rgb, cmyk_to_srgb(samples[..., :4]))
    (ink,) = art.declared_inks
    assert (ink.name, ink.lab) == ("Pewter", (62, 0, -2))
    assert "Pewter" in art.notes[-1].text


def test_saved_selection_is_no_ink(tmp_path: Path) -> None:
    samples = noise((H, W, 4))
    blocks = names_block("Alpha 1") + editor_block(1077, display_info((0, (65535, 0, 0, 0), 0)))
    path = written(
        tmp_path,
        samples,
        "rgb",
        extrasamples=["unspecified"],
        extratags=[(34377, "B", len(blocks), blocks, True)],
    )
    art = read(path, background="keep")
    assert art.notes == ()
    assert art.declared_inks == ()


def test_ink_names(tmp_path: Path) -> None:
    """TIFF 6.0, section 16: InkNames, each ended by a zero byte."""
    samples = noise((H, W, 5))
    names = "Cyan\x00Magenta\x00Yellow\x00Black\x00Lagoon"
    path = written(
        tmp_path,
        samples,
        "separated",
        extrasamples=["unspecified"],
        extratags=[(333, "s", len(names) + 1, names, True)],
    )
    art = read(path, background="keep")
    assert "(Lagoon)" in art.notes[-1].text


def test_cmyk_in_16_bits(tmp_path: Path) -> None:
    inks = odd.process_inks()
    path = written(tmp_path, inks.astype(np.uint16) * 257, "separated")
    np.testing.assert_array_equal(read(path, background="keep").rgb, cmyk_to_srgb(inks))


def test_page_is_picked_with_its_own_size_and_tags(tmp_path: Path) -> None:
    path = tmp_path / "pages.tif"
    with tifffile.TiffWriter(path) as file:
        for number, size in enumerate((10, 20, 30)):
            page = np.full((size, size, 3), 50 * number, np.uint8)
            file.write(page, photometric="rgb", metadata=None, resolution=(100 + size, 100 + size))
    for number, size in enumerate((10, 20, 30)):
        art = read(path, page=number, background="keep")
        assert art.source_size == (size, size)
        assert (art.rgb == 50 * number).all()
        assert art.resolution_ppi == pytest.approx(100 + size)
        assert f"page {number + 1} is read" in art.notes[0].text


def test_variant_that_cannot_be_read_is_called_so(tmp_path: Path) -> None:
    samples = noise((H, W, 3)).astype(np.float64)
    with pytest.raises(errors.NotArtError, match="rare kind"):
        read(written(tmp_path, samples, "rgb"))


def test_huge_dimensions_are_refused_before_decoding(tmp_path: Path) -> None:
    entries = [(256, 4, 1, 90_000), (257, 4, 1, 90_000), (258, 3, 1, 8), (262, 3, 1, 1)]
    entries += [(273, 4, 1, 8), (277, 3, 1, 1), (279, 4, 1, 4)]
    table = b"".join(struct.pack("<HHII", *entry) for entry in entries)
    path = tmp_path / "huge.tif"
    path.write_bytes(b"II*\x00" + struct.pack("<IH", 8, len(entries)) + table + b"\x00" * 4)
    with pytest.raises(errors.TooLargeArtError, match="170 million pixels"):
        read(path)
