"""The odd files of fixtures/make_odd_files.py, each with the answer written there."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import numpy as np
import pytest
from numpy.typing import NDArray

from artcheck import errors
from artcheck.domain.artwork import Artwork
from artcheck.reading import read
from fixtures import make_odd_files as odd

CLOSE_CODES = 4
"""Levels within which lossy and profiled files keep the drawing, as the corpus says."""

Pixels = NDArray[np.uint8]


def named(makers: tuple[odd.Maker, ...]) -> pytest.MarkDecorator:
    return pytest.mark.parametrize("make", makers, ids=lambda make: make.__name__)


def note_ids(art: Artwork) -> list[str]:
    return [note.id for note in art.notes]


def apart(shown: Pixels, wanted: Pixels, where: NDArray[np.bool_]) -> int:
    """Most difference in codes."""
    return int(np.abs(shown[where].astype(int) - wanted[where]).max())


def test_every_maker_is_in_one_group() -> None:
    groups = odd.everything()
    assert len(groups) == len(set(groups)) == 63


@named(odd.EXACT_WITH_ALPHA)
def test_exact_with_transparency(make: odd.Maker, tmp_path: Path) -> None:
    art = read(make(tmp_path))
    wanted = odd.drawing()
    assert art.alpha is not None
    assert art.had_alpha
    assert art.background.kind == "transparent"
    np.testing.assert_array_equal(art.alpha, wanted[..., 3])
    inked = wanted[..., 3] > 0
    np.testing.assert_array_equal(art.rgb[inked], wanted[inked][:, :3])


@named(odd.EXACT_ON_PAPER)
def test_exact_on_paper(make: odd.Maker, tmp_path: Path) -> None:
    art = read(make(tmp_path))
    np.testing.assert_array_equal(art.rgb, odd.on_paper())
    assert art.alpha is None
    assert art.background.kind == "removed"
    assert art.paper is not None
    np.testing.assert_array_equal(art.paper, odd.drawing()[..., 3] == 0)


@named(odd.CLOSE_ON_PAPER)
def test_close_on_paper(make: odd.Maker, tmp_path: Path) -> None:
    art = read(make(tmp_path))
    assert apart(art.rgb, odd.on_paper(), odd.flat_areas()) <= CLOSE_CODES


@named(odd.CLOSE_WITH_ALPHA)
def test_close_with_transparency(make: odd.Maker, tmp_path: Path) -> None:
    art = read(make(tmp_path))
    wanted = odd.drawing()
    inked = odd.flat_areas() & (wanted[..., 3] > 0)
    assert art.alpha is not None
    assert apart(art.rgb, wanted[..., :3], inked) <= CLOSE_CODES
    np.testing.assert_array_equal(
        art.alpha[odd.flat_areas()] > 127, wanted[odd.flat_areas(), 3] > 0
    )


@named(odd.PROCESS_CMYK)
def test_process_inks_come_out_alike(make: odd.Maker, tmp_path: Path) -> None:
    art = read(make(tmp_path))
    plain = read(odd.tiff_cmyk(tmp_path))
    flat = odd.flat_areas()
    assert apart(art.rgb, plain.rgb, flat) <= CLOSE_CODES
    assert "cmyk-without-profile" in note_ids(art)
    assert art.background.hex == "#ffffff"
    red, blue, green = (
        art.rgb[row, col].astype(int) for row, col in ((80, 70), (80, 176), (16, 16))
    )
    assert red.argmax() == 0
    assert blue.argmax() == 2
    assert green.argmax() == 1


@pytest.mark.parametrize(
    ("make", "error"), odd.REFUSED, ids=lambda value: getattr(value, "__name__", "")
)
def test_refused_in_one_line(
    make: odd.Maker, error: type[errors.ArtFileError], tmp_path: Path
) -> None:
    path = make(tmp_path)
    with pytest.raises(errors.ArtFileError) as told:
        read(path)
    assert type(told.value) is error
    message = str(told.value)
    assert "\n" not in message
    assert path.name in message
    assert message.endswith(".")


# --- the others, each as its docstring says -----------------------------------------------------

SHAPE_BLACK = np.where(odd.drawing()[..., 3:] > 0, 0, 255).repeat(3, axis=2)


@named((odd.png_1_bit, odd.tiff_1_bit))
def test_one_bit(make: odd.Maker, tmp_path: Path) -> None:
    np.testing.assert_array_equal(read(make(tmp_path)).rgb, SHAPE_BLACK)


def test_grey_with_alpha(tmp_path: Path) -> None:
    art = read(odd.png_grey_alpha(tmp_path))
    assert (art.rgb == 64).all()
    np.testing.assert_array_equal(art.alpha, odd.drawing()[..., 3])


def test_grey_profile(tmp_path: Path) -> None:
    art = read(odd.png_grey_profile(tmp_path))
    assert art.profile == "Grey 1.8"
    assert abs(int(art.rgb[80, 70, 0]) - 146) <= 1
    assert (art.rgb[..., 0] == art.rgb[..., 2]).all()


@named((odd.jpeg_grey, odd.tiff_grey))
def test_grey(make: odd.Maker, tmp_path: Path) -> None:
    # Rec. 601 luma, by which Pillow made the file: 0.299 R + 0.587 G + 0.114 B
    luma = np.rint(odd.on_paper() @ [0.299, 0.587, 0.114])[..., np.newaxis].repeat(3, axis=2)
    assert apart(read(make(tmp_path)).rgb, luma.astype(np.uint8), odd.flat_areas()) <= 2


def test_deep_grey(tmp_path: Path) -> None:
    art = read(odd.tiff_grey_16_bit(tmp_path))
    assert set(np.unique(art.rgb)) == {64, 255}


@named((odd.svg, odd.svg_packed, odd.pdf_vector, odd.pdf_named_ai))
def test_vector(make: odd.Maker, tmp_path: Path) -> None:
    art = read(make(tmp_path))
    assert art.kind == "vector"
    assert art.notes == ()
    assert art.vector is not None
    assert not art.vector.wraps_bitmap
    assert art.vector.width_in == pytest.approx(2.5)
    height, width = art.rgb.shape[:2]
    assert art.resolution_ppi == pytest.approx(width / 2.5)
    assert_shows_drawing(art, width / odd.WIDTH, height / odd.HEIGHT)


def assert_shows_drawing(art: Artwork, across: float, down: float) -> None:
    """Whole flat areas and corners of the drawing, at the rendering's size."""
    points = {(80, 70): odd.RED, (80, 176): odd.BLUE, (16, 16): odd.GREEN, (34, 34): odd.RED}
    for (row, col), colour in points.items():
        assert tuple(art.rgb[int(row * down), int(col * across)]) == colour
    assert art.alpha is not None
    for row, col in ((150, 230), (4, 4), (30, 30), (80, 122)):
        assert art.alpha[int(row * down), int(col * across)] == 0


@named((odd.svg_missing_font, odd.pdf_live_text))
def test_missing_font_is_told(make: odd.Maker, tmp_path: Path) -> None:
    art = read(make(tmp_path))
    assert note_ids(art) == ["missing-font"]
    assert art.vector is not None
    assert "Quillhaven" in art.vector.missing_fonts[0]


@named((odd.svg_wraps_bitmap, odd.pdf_wraps_bitmap))
def test_wrapped_bitmap_keeps_its_pixels(make: odd.Maker, tmp_path: Path) -> None:
    art = read(make(tmp_path))
    assert art.kind == "document"
    assert art.vector is not None
    assert art.vector.wraps_bitmap
    assert note_ids(art) == ["wraps-bitmap"]
    assert "240 x 160 pixels" in art.notes[0].text
    assert art.resolution_ppi == pytest.approx(96)
    assert art.source_size == (odd.WIDTH, odd.HEIGHT)
    inked = odd.drawing()[..., 3] > 0
    np.testing.assert_array_equal(art.rgb[inked], odd.on_paper()[inked])


@pytest.mark.parametrize(("page", "colour"), [(0, odd.RED), (1, odd.GREEN)])
def test_pdf_page_choice(page: int, colour: tuple[int, int, int], tmp_path: Path) -> None:
    art = read(odd.pdf_two_pages(tmp_path), page=page)
    height, width = art.rgb.shape[:2]
    assert tuple(art.rgb[height // 2, int(width * 70 / 240)]) == colour
    assert f"page {page + 1} is read" in art.notes[0].text


@pytest.mark.parametrize(("make", "pages"), [(odd.tiff_pages, 2), (odd.gif_animated, 2)])
def test_page_of_a_bitmap(make: odd.Maker, pages: int, tmp_path: Path) -> None:
    path = make(tmp_path)
    first, second = (read(path, page=n, background="keep") for n in range(pages))
    np.testing.assert_array_equal(first.rgb, odd.on_paper())
    assert len(np.unique(second.rgb.reshape(-1, 3), axis=0)) == 1
    assert note_ids(first) == note_ids(second) == ["several-pages"]
    with pytest.raises(errors.UsageError, match="has 2 pages, not 3"):
        read(path, page=2)


@named((odd.png_rgba, odd.psd_rgb, odd.svg, odd.pdf_vector))
def test_no_second_page(make: odd.Maker, tmp_path: Path) -> None:
    with pytest.raises(errors.UsageError, match="has 1 page, not 2"):
        read(make(tmp_path), page=1)


def test_declared_inks(tmp_path: Path) -> None:
    lagoon, poppy = read(odd.pdf_spot_inks(tmp_path)).declared_inks
    assert (lagoon.name, lagoon.lab) == ("Lagoon", (54, -36, -14))
    assert poppy.name == "Poppy"
    assert poppy.lab is not None
    assert poppy.lab[1] > 40  # a red


@pytest.mark.parametrize(
    ("make", "ppi"),
    [
        (odd.png_rgba, 300),
        (odd.png_palette, 300),
        (odd.jpeg_rgb, 300),
        (odd.jpeg_turned, None),
        (odd.tiff_rgb, 300),
        (odd.tiff_1_bit, 600),
        (odd.bmp, 300),
        (odd.psd_rgb, 300),
        (odd.psd_layer, 300),
        (odd.png_16_bit, None),
        (odd.webp, None),
    ],
    ids=lambda value: getattr(value, "__name__", str(value)),
)
def test_resolution_tag(make: odd.Maker, ppi: float | None, tmp_path: Path) -> None:
    found: Any = read(make(tmp_path)).resolution_ppi
    assert found == (None if ppi is None else pytest.approx(ppi, rel=1e-4))


@named(odd.everything())
def test_two_readings_are_the_same(make: odd.Maker, tmp_path: Path) -> None:
    path = make(tmp_path)
    try:
        one, two = read(path), read(path)
    except errors.ArtFileError:
        return
    assert one.rgb.tobytes() == two.rgb.tobytes()
    assert one.notes == two.notes
