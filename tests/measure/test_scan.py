import numpy as np
import pytest

from artcheck.errors import NothingToPrintError
from artcheck.imaging.blocks import BAND_ROWS
from tests.measure.drawn import scan_of


def transparent(height: int = 60, width: int = 80) -> np.ndarray:
    return np.zeros((height, width, 4), np.uint8)


def test_alpha_is_coverage() -> None:
    pixels = transparent()
    pixels[10:20, 10:20] = (200, 0, 0, 128)
    scan = scan_of(pixels)
    assert scan.coverage.sum() == 100 * 128
    assert scan.ink.sum() == 100


def test_stray_faint_pixels_do_not_widen_the_box() -> None:
    pixels = transparent()
    pixels[10:20, 30:50, 3] = 255
    pixels[0, 0, 3] = pixels[59, 79, 3] = 7
    assert scan_of(pixels).box == (10, 30, 20, 50)


def test_a_glow_belongs_to_the_box() -> None:
    pixels = transparent()
    pixels[10:20, 30:50, 3] = 255
    pixels[5:25, 25:55, 3] = np.maximum(pixels[5:25, 25:55, 3], 20)
    assert scan_of(pixels).box == (5, 25, 25, 55)


def on_paper() -> tuple[np.ndarray, np.ndarray]:
    rgb = np.full((60, 80, 3), 255, np.uint8)
    rgb[10:20, 30:50] = 20
    return rgb, np.asarray((rgb == 255).all(axis=2))


def test_removed_paper_is_not_covered() -> None:
    scan = scan_of(*on_paper())
    assert scan.paper_rgb == (255, 255, 255)
    assert scan.coverage.sum() == 200 * 255
    assert scan.box == (10, 30, 20, 50)


@pytest.mark.parametrize("first", [BAND_ROWS - 1, BAND_ROWS, BAND_ROWS + 1])
def test_a_rim_is_seen_across_the_bands_that_the_box_is_found_in(first: int) -> None:
    rgb = np.full((3 * BAND_ROWS, 80, 3), 255, np.uint8)
    rgb[first : first + BAND_ROWS, 30:50] = 20
    rgb[[first - 1, first + BAND_ROWS], 30:50] = 150  # rims above and below
    scan = scan_of(rgb, np.asarray((rgb == 255).all(axis=2)))
    assert scan.box == (first - 1, 30, first + BAND_ROWS + 1, 50)


@pytest.mark.parametrize(("code", "top"), [(150, 9), (240, 10)])
def test_a_rim_pixel_is_printed_from_a_quarter(code: int, top: int) -> None:
    rgb, _ = on_paper()
    rgb[9, 30:50] = code
    scan = scan_of(rgb, np.asarray((rgb == 255).all(axis=2)))
    assert scan.box == (top, 30, 20, 50)


def test_a_kept_background_is_all_covered() -> None:
    scan = scan_of(on_paper()[0])
    assert scan.coverage.min() == 255
    assert scan.box == (0, 0, 60, 80)
    assert scan.paper_rgb is None


def test_nothing_covered_is_an_error() -> None:
    pixels = transparent()
    pixels[..., 3] = 5
    with pytest.raises(NothingToPrintError, match="nothing to print"):
        _ = scan_of(pixels).box


def test_passes_are_read_only_and_made_once() -> None:
    scan = scan_of(on_paper()[0])
    assert scan.coverage is scan.coverage
    assert not scan.coverage.flags.writeable
    assert not scan.ink.flags.writeable
