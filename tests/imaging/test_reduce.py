import numpy as np
import pytest

from artcheck.imaging.reduce import LARGE_PX, halved, may_halve, reduced

ROUNDING = 0.5


def noise(height: int, width: int, seed: int = 3) -> np.ndarray:
    return np.random.default_rng(seed).integers(0, 256, (height, width), np.uint8)


def test_half_is_the_mean_of_its_four_pixels() -> None:
    picture = noise(40, 60)
    mean = picture.reshape(20, 2, 30, 2).mean(axis=(1, 3))
    assert np.abs(halved(picture) - mean).max() <= ROUNDING


@pytest.mark.parametrize("shape", [(41, 60), (40, 61), (1, 9), (9, 1), (1, 1)])
def test_odd_last_row_or_column_is_left_out(shape: tuple[int, int]) -> None:
    picture = noise(*shape)
    even = picture[: max(shape[0] // 2 * 2, 1), : max(shape[1] // 2 * 2, 1)]
    assert np.array_equal(halved(picture), halved(even))


def test_large_picture_keeps_the_mean_of_each_reduced_pixel() -> None:
    picture = noise(2048, 2048)
    mean = picture.reshape(128, 16, 128, 16).mean(axis=(1, 3))
    assert picture.size >= LARGE_PX
    assert np.abs(reduced(picture, (128, 128)) - mean).max() <= 2 * ROUNDING


def test_one_ink_reduces_to_itself() -> None:
    picture = np.full((2100, 2011, 3), (200, 16, 46), np.uint8)
    assert (reduced(picture, (700, 643)) == (200, 16, 46)).all()


def test_pixels_repeated_by_an_odd_factor_are_found_again() -> None:
    source = noise(300, 800)
    enlarged = source.repeat(5, axis=0).repeat(5, axis=1)
    assert enlarged.size >= LARGE_PX
    assert not may_halve(enlarged.shape, (800, 300))
    assert np.array_equal(reduced(enlarged, (800, 300)), source)
