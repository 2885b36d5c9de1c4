"""Ink area against geometry."""

import numpy as np
import pytest

from artcheck.measure.area import measure_area
from tests.benchmarks.drawn_lines import as_jpeg
from tests.measure.drawn import Bytes, on_white, scan_of


def disc(radius: float, side: int = 240) -> Bytes:
    """(n, n, 4) a red disc of exact coverage on its rim (to 1/200)."""
    rows, cols = np.mgrid[: side * 4, : side * 4] / 4 - side / 2 + 0.125
    inside = np.clip((radius - np.hypot(rows, cols)) * 4 + 0.5, 0, 1)
    share = inside.reshape(side, 4, side, 4).mean(axis=(1, 3))
    pixels = np.zeros((side, side, 4), np.uint8)
    pixels[..., :3] = (200, 30, 40)
    pixels[..., 3] = np.rint(share * 255)
    return pixels


def paper_of(rgb: Bytes, tolerance: int = 6) -> np.ndarray:
    return np.asarray((255 - rgb.astype(int)).max(axis=2) <= tolerance)


@pytest.mark.parametrize("radius", [20.0, 61.7, 100.0])
def test_a_disc_with_alpha(radius: float) -> None:
    found = measure_area(scan_of(disc(radius)))
    assert found.ink_px == pytest.approx(np.pi * radius**2, rel=0.001)


@pytest.mark.parametrize("radius", [20.0, 61.7, 100.0])
def test_a_disc_on_white(radius: float) -> None:
    rgb = on_white(disc(radius))
    found = measure_area(scan_of(rgb, paper_of(rgb)))
    assert found.ink_px == pytest.approx(np.pi * radius**2, rel=0.003)


def test_a_disc_as_jpeg() -> None:
    import io

    from PIL import Image

    rgb = np.asarray(Image.open(io.BytesIO(as_jpeg(disc(100)))))
    found = measure_area(scan_of(rgb, paper_of(rgb, 10)))
    assert found.ink_px == pytest.approx(np.pi * 100**2, rel=0.01)


def test_half_transparent_counts_half() -> None:
    pixels = np.zeros((40, 40, 4), np.uint8)
    pixels[10:30, 10:30] = (0, 0, 0, 128)
    found = measure_area(scan_of(pixels))
    assert found.ink_px == pytest.approx(400 * 128 / 255)
    assert found.coverage == pytest.approx(128 / 255)


def test_the_largest_solid_is_one_connected_piece() -> None:
    pixels = np.zeros((60, 100, 4), np.uint8)
    pixels[5:25, 5:25, 3] = 255
    pixels[30:60, 40:80, 3] = 255
    pixels[40:50, 50:60, 3] = 0
    found = measure_area(scan_of(pixels))
    assert found.largest_solid_px == 30 * 40 - 100
    assert found.largest_solid_box == (30, 40, 60, 80)
    assert found.box == (5, 5, 60, 80)
