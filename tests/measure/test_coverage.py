"""Un-mixing: ink that was laid over paper is found again, pixel by pixel."""

from pathlib import Path

import cv2
import numpy as np
import pytest
from numpy.typing import NDArray
from PIL import Image, ImageDraw

from artcheck.measure.area import measure_area
from artcheck.measure.coverage import unmixed
from artcheck.measure.scan import Scan
from artcheck.reading import read

Bytes = NDArray[np.uint8]
WHITE = (255, 255, 255)


def laid(
    coverage: Bytes, ink: tuple[int, int, int], paper: tuple[int, int, int]
) -> tuple[Bytes, NDArray[np.bool_]]:
    """Ink over paper at a coverage, and where it leaves pure paper."""
    share = coverage[..., None] / 255
    rgb = np.rint(share * np.array(ink) + (1 - share) * np.array(paper)).astype(np.uint8)
    return rgb, np.abs(rgb.astype(int) - paper).max(axis=2) <= 6


def disc(radius: float, blur: float = 0.0, side: int = 200) -> Bytes:
    rows, cols = np.mgrid[:side, :side]
    share = np.clip(radius + 0.5 - np.hypot(rows - side / 2.1, cols - side / 1.9), 0, 1)
    field = (share * 255).astype(np.float32)
    if blur:
        field = np.asarray(cv2.GaussianBlur(field, (0, 0), blur), np.float32)
    return np.asarray(np.rint(field), np.uint8)


@pytest.mark.parametrize("ink", [(20, 20, 30), (200, 30, 40), (250, 220, 30)])
@pytest.mark.parametrize("paper", [WHITE, (246, 240, 220)])
@pytest.mark.parametrize("blur", [0.0, 0.8, 1.6])
def test_area_of_a_disc(
    ink: tuple[int, int, int], paper: tuple[int, int, int], blur: float
) -> None:
    field = disc(70, blur)
    found = unmixed(*laid(field, ink, paper), paper)
    assert int(found.sum()) == pytest.approx(int(field.sum()), rel=0.003)


@pytest.mark.parametrize("width", [1, 2, 3])
def test_thin_strokes_keep_their_area(width: int) -> None:
    field = np.zeros((100, 120), np.uint8)
    field[40 : 40 + width, 10:110] = 255
    field[40 + width, 10:110] = 100
    found = unmixed(*laid(field, (20, 20, 30), WHITE), WHITE)
    assert int(found.sum()) == pytest.approx(int(field.sum()), rel=0.03)


def test_a_blurred_gap_without_pure_paper_is_found() -> None:
    field = np.full((80, 120), 255, np.uint8)
    field[38:40, 10:110] = 0
    field[:, :4] = 0
    soft = np.asarray(cv2.GaussianBlur(field, (0, 0), 0.9), np.uint8)
    found = unmixed(*laid(soft, (20, 20, 30), WHITE), WHITE)
    across = (255 - found[30:48, 60].astype(float)).sum() / 255
    assert across == pytest.approx(2.0, rel=0.1)


def test_light_inks_inside_dark_ones_are_not_paper() -> None:
    rgb = np.full((120, 120, 3), 255, np.uint8)
    rgb[20:100, 20:100] = (20, 20, 30)
    rgb[50:70, 50:70] = (250, 220, 30)
    paper = (rgb == 255).all(axis=2)
    assert (unmixed(rgb, paper, WHITE)[22:98, 22:98] == 255).all()


def test_a_yellow_outline_of_a_dark_shape_is_full_ink() -> None:
    rgb = np.full((120, 120, 3), 255, np.uint8)
    rgb[20:100, 20:100] = (250, 220, 30)
    rgb[24:96, 24:96] = (20, 20, 30)
    paper = (rgb == 255).all(axis=2)
    found = unmixed(rgb, paper, WHITE)
    assert found.sum() / 255 == pytest.approx(80 * 80, rel=0.005)


@pytest.mark.parametrize("outline", [(204, 194, 160), (250, 220, 30), (190, 200, 230)])
@pytest.mark.parametrize("width_px", [2.5, 3.0, 3.6])
@pytest.mark.parametrize("how", [Image.Resampling.BOX, Image.Resampling.LANCZOS])
def test_a_thin_pale_outline_of_a_dark_shape_is_full_ink(
    outline: tuple[int, int, int], width_px: float, how: Image.Resampling
) -> None:
    fine = 8
    page = Image.new("RGB", (200 * fine, 200 * fine), WHITE)
    pen = ImageDraw.Draw(page)
    for radius, fill in ((80.3, outline), (80.3 - width_px, (60, 130, 20))):
        pen.ellipse([fine * (100 - radius)] * 2 + [fine * (100 + radius)] * 2, fill=fill)
    wanted = float((np.asarray(page) != WHITE).any(axis=2).sum()) / fine**2
    rgb = np.asarray(page.resize((200, 200), how))
    found = unmixed(rgb, (rgb == 255).all(axis=2), WHITE)
    assert found.sum() / 255 == pytest.approx(wanted, rel=0.002)


def test_blocks_leave_no_seam() -> None:
    field = np.zeros((700, 1100), np.uint8)
    cv2.circle(field, (512, 400), 250, 255, -1, cv2.LINE_AA)
    found = unmixed(*laid(field, (200, 30, 40), WHITE), WHITE)
    assert np.abs(found.astype(int) - field).max() <= 8


def test_all_paper_and_all_ink() -> None:
    page = np.full((30, 40, 3), 255, np.uint8)
    assert unmixed(page, np.ones((30, 40), bool), WHITE).max() == 0
    ink = np.full((30, 40, 3), 40, np.uint8)
    assert unmixed(ink, np.zeros((30, 40), bool), WHITE).min() == 255


@pytest.mark.parametrize("pale", ["#cfe3f5", "#f7e3b0", "#d8d8d8"])
@pytest.mark.parametrize(("size_px", "quality"), [(400, 60), (300, 85), (600, 60)])
def test_pale_stripes_between_dark_ones_are_ink(
    pale: str, size_px: int, quality: int, tmp_path: Path
) -> None:
    """They are lighter than all around them, as gaps are, but level: a plaid was a fifth short."""
    page = Image.new("RGB", (2400, 2400), "white")
    pen = ImageDraw.Draw(page)
    pen.rectangle((240, 240, 2159, 2159), fill=pale)
    for top in range(288, 2160, 144):
        pen.rectangle((240, top, 2159, min(top + 106, 2159)), fill="#1b2a41")
    file = tmp_path / "plaid.jpg"
    small = page.resize((size_px, size_px), Image.Resampling.BOX)
    small.save(file, "JPEG", quality=quality, subsampling="4:2:0")
    scan = Scan(read(file))
    assert measure_area(scan).ink_px / size_px**2 == pytest.approx(0.64, rel=0.01)
