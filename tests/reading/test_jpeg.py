"""JPEG: four components with and without Adobe's segment, orientation, resolution."""

from __future__ import annotations

import io
from pathlib import Path

import numpy as np
import pikepdf
import pytest
from pikepdf import Name
from PIL import Image

from artcheck.reading import read
from artcheck.reading.press import cmyk_to_srgb
from fixtures import make_odd_files as odd
from tests.reading.hand_jpeg import adobe_segment, flat

INKS = (0, 200, 230, 10)
"""A red in ink amounts, 255 = full."""


def rgb_of(data: bytes, folder: Path) -> tuple[int, ...]:
    path = folder / "flat.jpg"
    path.write_bytes(data)
    art = read(path, background="keep")
    assert art.rgb.shape == (8, 8, 3)
    assert (art.rgb == art.rgb[0, 0]).all()
    return tuple(art.rgb[0, 0].tolist())


def printed(inks: tuple[int, ...]) -> tuple[int, ...]:
    return tuple(cmyk_to_srgb(np.array([[inks]], np.uint8))[0, 0].tolist())


def test_the_hand_written_file_is_what_it_says() -> None:
    # grey, so that no convention about colours can stand between
    with Image.open(io.BytesIO(flat([77]))) as image:
        assert set(np.unique(np.asarray(image))) == {77}


def test_cmyk_with_adobe_segment_is_stored_inverted(tmp_path: Path) -> None:
    stored = [255 - ink for ink in INKS]
    assert rgb_of(flat(stored, adobe_segment(0)), tmp_path) == printed(INKS)


def test_cmyk_without_adobe_segment_is_stored_plain(tmp_path: Path) -> None:
    assert rgb_of(flat(INKS), tmp_path) == printed(INKS)


def as_pdf_page(jpeg: bytes, decode: list[int] | None) -> bytes:
    """The JPEG as it is, as the only picture of a page."""
    document = pikepdf.new()
    page = document.add_blank_page(page_size=(8, 8))
    image = document.make_stream(jpeg)
    image.Type, image.Subtype, image.Filter = Name.XObject, Name.Image, Name.DCTDecode
    image.Width = image.Height = image.BitsPerComponent = 8
    image.ColorSpace = Name.DeviceCMYK
    if decode:
        image.Decode = decode
    page.Resources = pikepdf.Dictionary(XObject=pikepdf.Dictionary(Im=image))
    page.Contents = document.make_stream(b"8 0 0 8 0 0 cm /Im Do")
    out = io.BytesIO()
    document.save(out, deterministic_id=True)
    return out.getvalue()


@pytest.mark.parametrize(
    ("jpeg", "decode"),
    [(flat(INKS), None), (flat([255 - i for i in INKS], adobe_segment(0)), [1, 0] * 4)],
    ids=["plain", "adobe"],
)
def test_cmyk_agrees_with_another_decoder(
    jpeg: bytes, decode: list[int] | None, tmp_path: Path
) -> None:
    """Pdfium: in a PDF samples are ink amounts unless Decode turns them (ISO 32000-1, 8.9.5.2)."""
    path = tmp_path / "page.pdf"
    path.write_bytes(as_pdf_page(jpeg, decode))
    there = read(path, background="keep").rgb[4, 4].astype(int)
    here = np.array(rgb_of(jpeg, tmp_path))
    assert np.abs(there - here).max() <= 12  # two ways of interpolating a table


def test_no_ink_is_white_and_all_ink_is_dark(tmp_path: Path) -> None:
    assert rgb_of(flat((0, 0, 0, 0)), tmp_path) == (255, 255, 255)
    assert rgb_of(flat((255,) * 4, adobe_segment(0)), tmp_path) == (255, 255, 255)
    assert max(rgb_of(flat((255, 255, 255, 255)), tmp_path)) < 60


def test_red_green_blue_without_transform(tmp_path: Path) -> None:
    """Adobe transform 0 with three components: RGB as it is (TN 5116, section 18)."""
    assert rgb_of(flat((200, 30, 40), adobe_segment(0)), tmp_path) == (200, 30, 40)


@pytest.mark.parametrize("orientation", range(2, 9))
def test_orientation(orientation: int, tmp_path: Path) -> None:
    """EXIF 2.3, 4.6.4 A, tag 274: which side row 0 and column 0 of the stored pixels are."""
    art = read(odd.jpeg_turned(tmp_path, orientation))
    assert art.source_size == (odd.WIDTH, odd.HEIGHT)
    shown, flat_areas = art.rgb.astype(int), odd.flat_areas()
    assert np.abs(shown[flat_areas] - odd.on_paper()[flat_areas]).max() <= 4


ROWS_AND_COLUMNS = {
    1: ("top", "left"),
    2: ("top", "right"),
    3: ("bottom", "right"),
    4: ("bottom", "left"),
    5: ("left", "top"),
    6: ("right", "top"),
    7: ("right", "bottom"),
    8: ("left", "bottom"),
}
"""EXIF 2.3: the visual sides that the stored 0th row and 0th column are."""


@pytest.mark.parametrize("orientation", ROWS_AND_COLUMNS)
@pytest.mark.parametrize("kind", ["png", "tif"])
def test_orientation_in_other_formats(kind: str, orientation: int, tmp_path: Path) -> None:
    stored = np.full((40, 60, 3), 255, np.uint8)
    stored[0] = odd.RED  # the 0th row
    stored[1:, 0] = odd.BLUE  # the 0th column
    exif = Image.Exif()
    exif[odd.EXIF_ORIENTATION] = orientation
    path = tmp_path / f"turned.{kind}"
    Image.fromarray(stored).save(path, exif=exif)
    shown = read(path, background="keep").rgb
    sides = {
        "top": shown[0, 5:-5],
        "bottom": shown[-1, 5:-5],
        "left": shown[5:-5, 0],
        "right": shown[5:-5, -1],
    }
    row, column = ROWS_AND_COLUMNS[orientation]
    assert (sides[row] == odd.RED).all()
    assert (sides[column] == odd.BLUE).all()


@pytest.mark.parametrize("dpi", [(0, 0), (1, 1), (300, 72), (60_000, 60_000), (9, 9)])
def test_resolutions_that_say_nothing(dpi: tuple[int, int], tmp_path: Path) -> None:
    path = tmp_path / "tag.jpg"
    Image.fromarray(odd.on_paper()).save(path, dpi=dpi)
    assert read(path).resolution_ppi is None


def test_turned_picture_turns_its_resolution_too(tmp_path: Path) -> None:
    exif = Image.Exif()
    exif[odd.EXIF_ORIENTATION] = 6
    path = tmp_path / "both.jpg"
    Image.fromarray(odd.on_paper()).save(path, dpi=(240, 240), exif=exif)
    assert read(path).resolution_ppi == 240
