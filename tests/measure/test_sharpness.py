"""True resolution of art enlarged by known factors; originals stay originals."""

from __future__ import annotations

import io

import cv2
import numpy as np
import pytest
from PIL import Image, ImageDraw

from artcheck.measure.sharpness import measure_sharpness
from tests.measure import drawn
from tests.measure.drawn import Bytes

NEAREST, BILINEAR = Image.Resampling.NEAREST, Image.Resampling.BILINEAR
BICUBIC, LANCZOS = Image.Resampling.BICUBIC, Image.Resampling.LANCZOS
BOX = Image.Resampling.BOX


def _art(size_px: int = 300) -> Bytes:
    """(n, n, 4) discs, bars at many angles and a triangle, anti-aliased."""
    edge = size_px * 4
    page = Image.new("RGBA", (edge, edge))
    pen = ImageDraw.Draw(page)
    pen.ellipse([edge * 0.1, edge * 0.1, edge * 0.6, edge * 0.6], fill=(200, 30, 40))
    pen.ellipse([edge * 0.2, edge * 0.22, edge * 0.42, edge * 0.44], fill=(250, 220, 60))
    pen.polygon([(edge * 0.9, edge * 0.2), (edge * 0.55, edge * 0.85), (edge * 0.95, edge * 0.7)],
                fill=(20, 50, 110))  # fmt: skip
    for turn in np.linspace(0, np.pi, 9):
        end = edge * 0.3 + edge * 0.2 * np.cos(turn), edge * 0.8 - edge * 0.17 * np.sin(turn)
        pen.line([(edge * 0.3, edge * 0.9), end], fill=(30, 120, 60), width=edge // 60)
    return np.asarray(page.resize((size_px, size_px), BOX))


def _sheet(size_px: int) -> Bytes:
    """(n, n, 4) a sheet with a folded corner: few edges, most along the grid, all falling alike."""
    page = Image.new("RGBA", (1200, 1200))
    pen = ImageDraw.Draw(page)
    outline = [(240, 120), (744, 120), (960, 336), (960, 1080), (240, 1080)]
    pen.polygon(outline, fill=(140, 200, 250))
    pen.polygon([(744, 120), (960, 336), (744, 336)], fill=(230, 245, 255))
    return drawn.resized(np.asarray(page), size_px, size_px, LANCZOS)


def _pale(size_px: int, colour: tuple[int, int, int]) -> Bytes:
    """(n, n, 4) one pale ink: a ring, leaning bars and a disc."""
    page = Image.new("RGBA", (1200, 1200))
    pen = ImageDraw.Draw(page)
    pen.ellipse([120, 120, 1080, 1080], outline=colour, width=90)
    pen.ellipse([440, 640, 760, 960], fill=colour)
    for end in (300, 600, 900):
        pen.line([(600, 560), (end, 300)], fill=colour, width=70)
    return drawn.resized(np.asarray(page), size_px, size_px, LANCZOS)


def _windows(pitch_px: float) -> Bytes:
    """(n, n, 4) ten rows of ten windows, as far apart as they are wide."""
    wall = np.zeros((21, 21), bool)
    wall[1::2, 1::2] = True
    drawing = np.where(wall[..., None], (250, 220, 120, 255), (60, 110, 160, 255)).astype(np.uint8)
    page = np.repeat(np.repeat(drawing, 40, axis=0), 40, axis=1)
    edge = round(21 * pitch_px)
    return np.pad(drawn.resized(page, edge, edge, BICUBIC), ((20, 20), (20, 20), (0, 0)))


def _enlarged(pixels: Bytes, factor: float, how: Image.Resampling) -> Bytes:
    return drawn.resized(
        pixels, round(pixels.shape[1] * factor), round(pixels.shape[0] * factor), how
    )


def _jpeg(pixels: Bytes, quality: int) -> Bytes:
    out = io.BytesIO()
    Image.fromarray(drawn.on_white(pixels)).save(out, "JPEG", quality=quality)
    return np.asarray(Image.open(out))


def _true_scale(pixels: Bytes) -> float:
    found = measure_sharpness(drawn.scan_of(pixels))
    assert found is not None
    return found.true_scale


@pytest.mark.parametrize("factor", [1.5, 2, 2.7, 3, 4])
@pytest.mark.parametrize("how", [BICUBIC, LANCZOS])
def test_interpolation_tells_its_factor(factor: float, how: Image.Resampling) -> None:
    assert _true_scale(_enlarged(_art(), factor, how)) == pytest.approx(1 / factor, rel=0.06)


@pytest.mark.parametrize(("name", "factor"), [("astronaut", 2.6), ("motorcycle", 2.7)])
def test_an_overtone_is_not_taken_for_the_factor(name: str, factor: float) -> None:
    # Bilinear: the alias of twice the frequency stands higher than the frequency itself.
    small = drawn.resized(drawn.photograph(name), 250, 200, LANCZOS)
    assert _true_scale(_enlarged(small, factor, BILINEAR)) == pytest.approx(1 / factor, rel=0.01)


@pytest.mark.parametrize("factor", [1.5, 2, 2.7, 3, 4])
def test_repeated_pixels_tell_theirs(factor: float) -> None:
    found = measure_sharpness(drawn.scan_of(_enlarged(_art(), factor, NEAREST)))
    assert found is not None
    assert found.true_scale == pytest.approx(1 / factor, rel=0.01)
    assert found.method == "pixel steps"


@pytest.mark.parametrize("factor", [2, 3])
def test_jpeg_afterwards_hides_little(factor: int) -> None:
    pixels = _jpeg(_enlarged(_art(), factor, BICUBIC), 85)
    assert _true_scale(pixels) == pytest.approx(1 / factor, rel=0.15)


@pytest.mark.parametrize("name", ["astronaut", "camera", "coffee", "motorcycle"])
def test_photographs_reduced_are_originals_and_enlarged_are_found(name: str) -> None:
    whole = drawn.photograph(name)
    half = drawn.resized(whole, whole.shape[1] // 2, whole.shape[0] // 2, LANCZOS)
    assert _true_scale(half) == 1.0
    assert _true_scale(_jpeg(half, 85)) == 1.0
    assert _true_scale(_enlarged(half, 3, BICUBIC)) == pytest.approx(1 / 3, rel=0.03)


@pytest.mark.parametrize("quality", [None, 90, 75])
def test_drawings_are_originals(quality: int | None) -> None:
    pixels = _art(400)
    assert _true_scale(_jpeg(pixels, quality) if quality else pixels) == 1.0


def test_drawings_reduced_are_originals() -> None:
    assert _true_scale(drawn.resized(_art(600), 370, 370, LANCZOS)) == 1.0


@pytest.mark.parametrize("quality", [90, 75])
def test_one_edge_read_many_times_is_one_witness(quality: int) -> None:
    assert _true_scale(_jpeg(_sheet(163), quality)) == 1.0


@pytest.mark.parametrize("colour", [(255, 200, 40), (205, 210, 215), (250, 150, 60)])
@pytest.mark.parametrize("quality", [75, 60])
@pytest.mark.parametrize("size_px", [97, 135, 180, 213])
def test_pale_drawings_are_originals_after_jpeg(
    size_px: int, quality: int, colour: tuple[int, int, int]
) -> None:
    # JPEG keeps little of a faint edge's fine part: it comes back wider, not enlarged.
    assert _true_scale(_jpeg(_pale(size_px, colour), quality)) == 1.0


@pytest.mark.parametrize("pitch_px", [4.6, 5.3, 7.5, 8.4])
def test_rows_of_windows_are_no_repeated_pixels(pitch_px: float) -> None:
    assert _true_scale(_windows(pitch_px)) == 1.0


def test_more_blur_never_raises_true_resolution() -> None:
    sharp = drawn.on_white(_art(500))
    scales = [
        _true_scale(np.asarray(cv2.GaussianBlur(sharp, (0, 0), sigma), np.uint8))
        for sigma in (0.3, 0.8, 1.5, 3.0)
    ]
    assert scales == sorted(scales, reverse=True)
    # A Gaussian edge of sigma has c**2 / sum(d**2) = 2 sqrt(pi) sigma; 1.58 px is a sharp one.
    assert scales[-1] == pytest.approx(1.58 / (2 * np.sqrt(np.pi) * 3.0), rel=0.1)


def test_one_bad_logo_among_good_ones() -> None:
    page = np.zeros((900, 1800, 4), np.uint8)
    page[:, :900] = _art(900)
    page[:, 900:] = _enlarged(_art(300), 3, BICUBIC)
    scan = drawn.scan_of(page)
    good = measure_sharpness(scan, (0, 0, 900, 900))
    bad = measure_sharpness(scan, (0, 900, 900, 1800))
    assert good is not None
    assert bad is not None
    assert good.true_scale == 1.0
    assert bad.true_scale == pytest.approx(1 / 3, rel=0.06)


def test_nothing_to_tell_without_edges() -> None:
    assert measure_sharpness(drawn.scan_of(np.full((300, 300, 3), 90, np.uint8))) is None


def test_art_on_transparency_is_judged_by_its_outline() -> None:
    pixels = _art()
    pixels = np.dstack([np.full_like(pixels[..., :3], 255), pixels[..., 3]])
    assert _true_scale(_enlarged(pixels, 3, BICUBIC)) == pytest.approx(1 / 3, rel=0.06)
