"""The print-ready sheet, read back by other libraries."""

from __future__ import annotations

import io
import shutil
import subprocess
from pathlib import Path

import numpy as np
import pikepdf
import pypdfium2
import pytest
from numpy.typing import NDArray
from PIL import Image

from artcheck.pricing.gangs import Design, GangSheet, Placement
from artcheck.report.gang_sheet import sheet_pdf
from artcheck.separation.film import Film
from artcheck.separation.plates import Plate

UPRIGHT = Design(name="arrow", width_in=2, height_in=1, quantity=1)
SHEET = GangSheet(
    (6.0, 4.0),
    0.25,
    0.0,
    (Placement(UPRIGHT, 0.5, 1.0, False), Placement(UPRIGHT, 1.75, 4.0, True)),
)


def two_tone(alpha: NDArray[np.uint8] | None = None) -> Film:
    """Left half red, right half blue, 200 x 100 px, solid unless told."""
    rgb = np.zeros((100, 200, 3), np.uint8)
    rgb[:, :100, 0], rgb[:, 100:, 2] = 255, 255
    solid = np.full((100, 200), 255, np.uint8) if alpha is None else alpha
    return Film(rgb=rgb, alpha=solid, white=solid, ppi=100, width_in=2, height_in=1, choke_pt=0)


def plate(name: str, lab: tuple[float, float, float], mask: NDArray[np.bool_]) -> Plate:
    return Plate(
        order=1,
        name=name,
        hex="#000000",
        lab=lab,
        stock=True,
        role="ink",
        mask=mask,
        flat=mask,
        solid=mask,
    )


def rendered(pdf: bytes, ppi: int = 72) -> NDArray[np.uint8]:
    page = pypdfium2.PdfDocument(pdf)[0]
    return np.asarray(page.render(scale=ppi / 72).to_pil().convert("RGB"))


def film() -> bytes:
    return sheet_pdf(SHEET, {"arrow": two_tone()})


def left_half(size: tuple[int, int] = (100, 200)) -> NDArray[np.bool_]:
    mask = np.zeros(size, np.bool_)
    mask[:, : size[1] // 2] = True
    return mask


def spot() -> bytes:
    plates = [
        plate("Poppy", (47, 68, 46), left_half()),
        plate("Royal mixed", (33, 16, -58), ~left_half()),
    ]
    return sheet_pdf(SHEET, {"arrow": plates})


def test_page_is_the_sheet_at_exact_size() -> None:
    with pikepdf.open(io.BytesIO(film())) as pdf:
        (page,) = pdf.pages
        assert [float(n) for n in page.mediabox] == [0, 0, 432, 288]
        assert [float(n) for n in page.trimbox] == [0, 0, 432, 288]


def test_every_copy_lies_where_the_layout_says() -> None:
    shown = rendered(film())
    assert shown.shape == (288, 432, 3)
    assert (shown[38:106, 74:142] == [255, 0, 0]).all()  # upright: red is left
    assert (shown[38:106, 146:214] == [0, 0, 255]).all()
    assert (shown[128:196, 290:358] == [0, 0, 255]).all()  # turned counter-clockwise: blue is up
    assert (shown[200:268, 290:358] == [255, 0, 0]).all()
    assert (shown[120:280, 10:270] == 255).all()


def test_transparency_stays_transparent() -> None:
    coverage = np.full((100, 200), 255, np.uint8)
    coverage[:, 100:] = 0
    shown = rendered(sheet_pdf(SHEET, {"arrow": two_tone(coverage)}))
    assert (shown[38:106, 146:214] == 255).all()


def test_spot_sheet_names_its_inks_and_paints_masks_in_them() -> None:
    with pikepdf.open(io.BytesIO(spot())) as pdf:
        spaces = pdf.pages[0].obj.Resources.ColorSpace
        names = {str(space[1]) for space in dict(spaces).values()}
        assert names == {"/Poppy", "/Royal mixed", "/All"}
        images = dict(pdf.pages[0].obj.Resources.XObject).values()
        assert [bool(image.ImageMask) for image in images] == [True, True]
    shown = rendered(spot())
    red, blue = shown[70, 100], shown[70, 180]
    assert red[0] > 150 > red[2]
    assert blue[2] > 150 > blue[0]


def test_same_input_same_bytes() -> None:
    assert film() == film()
    assert spot() == spot()


def test_a_long_roll_keeps_its_size_by_a_larger_unit() -> None:
    """Pages end at 14,400 units (ISO 32000-1:2008, Annex C)."""
    sheet = GangSheet((22.0, 600.0), 0.25, 0.0, (Placement(UPRIGHT, 500.0, 1.0, False),))
    data = sheet_pdf(sheet, {"arrow": two_tone()})
    with pikepdf.open(io.BytesIO(data)) as pdf:
        page = pdf.pages[0]
        unit = int(page.obj.UserUnit)
        assert float(page.mediabox[3]) <= 14_400
        assert float(page.mediabox[3]) * unit == pytest.approx(600 * 72)


def test_a_place_without_art_is_marked_and_empty() -> None:
    shown = rendered(sheet_pdf(SHEET, {}))
    assert (shown[36:108, 72:216] == 255).all()
    assert (shown < 128).any()


def test_marks_stay_out_of_every_piece() -> None:
    shown = rendered(sheet_pdf(SHEET, {}), ppi=288)
    for row, col, height, width in ((0.5, 1, 1, 2), (1.75, 4, 2, 1)):
        inner = shown[
            int(288 * row) : int(288 * (row + height)), int(288 * col) : int(288 * (col + width))
        ]
        assert (inner == 255).all()


@pytest.mark.skipif(shutil.which("gs") is None, reason="needs ghostscript")
def test_every_ink_comes_out_on_its_own_plate(tmp_path: Path) -> None:
    (tmp_path / "sheet.pdf").write_bytes(spot())
    command = ["gs", "-q", "-dBATCH", "-dNOPAUSE", "-sDEVICE=tiffsep", "-r72"]
    subprocess.run(
        [*command, f"-sOutputFile={tmp_path / 'p.tif'}", str(tmp_path / "sheet.pdf")], check=True
    )
    with Image.open(tmp_path / "p(Poppy).tif") as plate:
        poppy = np.asarray(plate)
    assert (poppy[38:106, 74:142] == 0).all()
    assert (poppy[38:106, 146:214] == 255).all()


def test_a_spot_ink_called_black_is_no_process_plate() -> None:
    """ISO 32000-1, 8.6.6.4: process colorants, All and None have meanings of their own."""
    plates = [
        plate("Black", (16, 0, 0), left_half()),
        plate("All", (47, 68, 46), ~left_half()),
    ]
    with pikepdf.open(io.BytesIO(sheet_pdf(SHEET, {"arrow": plates}))) as pdf:
        spaces = pdf.pages[0].obj.Resources.ColorSpace
        names = sorted(str(space[1]) for space in dict(spaces).values())
    assert names == ["/All", "/All ink", "/Black ink"]
