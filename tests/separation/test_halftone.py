"""Tints become dots: mean tone, frequency, angle, and the press's gain."""

from __future__ import annotations

import numpy as np
import pytest
from numpy.typing import NDArray

from artcheck.domain.shop import DotShape
from artcheck.separation.halftone import compensated, printed, screen

SHAPES: tuple[DotShape, ...] = ("round", "ellipse", "line")
SCREENS = ((600, 45, 22.5), (600, 35, 0.0), (720, 55, 45.0), (300, 45, 75.0), (1200, 65, 15.0))
PATCH_CELLS = 16


def flat(tone: int, size: int = 512) -> NDArray[np.uint8]:
    return np.full((size, size), tone, np.uint8)


@pytest.mark.parametrize("shape", SHAPES)
@pytest.mark.parametrize(("ppi", "lpi", "angle"), SCREENS)
def test_mean_tone_of_patches_of_16_cells(
    ppi: float, lpi: float, angle: float, shape: DotShape
) -> None:
    side = round(PATCH_CELLS * ppi / lpi)
    for tone in (0, 13, 38, 64, 102, 128, 153, 191, 230, 255):
        dots = screen(
            flat(tone, 3 * side), ppi=ppi, lpi=lpi, angle_deg=angle, gain_at_50=0, shape=shape
        )
        patches = dots.reshape(3, side, 3, side).mean(axis=(1, 3))
        assert np.abs(patches - tone / 255).max() <= 0.02


@pytest.mark.parametrize(("ppi", "lpi", "angle"), SCREENS)
def test_frequency_and_angle_read_from_the_spectrum(ppi: float, lpi: float, angle: float) -> None:
    """The strongest wave of the dots is one of their two lines, a right angle apart."""
    size = 1024
    dots = screen(flat(90, size), ppi=ppi, lpi=lpi, angle_deg=angle, shape="round")
    window = np.hanning(size)[:, None] * np.hanning(size)[None]
    power = np.abs(np.fft.fft2((dots - dots.mean()) * window))
    row, col = np.unravel_index(int(np.argmax(power)), power.shape)
    down, right = np.fft.fftfreq(size)[[row, col]]
    assert np.hypot(down, right) * ppi == pytest.approx(lpi, rel=0.02)
    # Rows run downwards: anticlockwise is against them.
    seen = np.degrees(np.arctan2(-down, right)) % 90
    assert min(abs(seen - angle % 90), 90 - abs(seen - angle % 90)) <= 1.0


def test_lines_run_along_the_angle() -> None:
    dots = screen(flat(128), ppi=600, lpi=45, angle_deg=0, shape="line")
    assert (dots == dots[:, :1]).all()
    assert not (dots == dots[:1]).all()


def test_dots_are_made_smaller_by_what_the_press_adds() -> None:
    """Printed, a dot grows: at a gain of 30 points a tint of 50 % is seen where 80 % was wanted."""
    assert printed(np.array([0.5]), 0.3)[0] == pytest.approx(0.8)
    assert compensated(np.array([0.8]), 0.3)[0] == pytest.approx(0.5)
    dots = screen(flat(204), ppi=600, lpi=45, angle_deg=22.5, gain_at_50=0.3)
    assert dots.mean() == pytest.approx(0.5, abs=0.01)
    tones = np.linspace(0, 1, 101)
    for gain in (0.0, 0.1, 0.3, 0.45):
        assert printed(compensated(tones, gain), gain) == pytest.approx(tones, abs=1e-9)


def test_solids_stay_solid_and_bare_cloth_bare() -> None:
    for gain in (0.0, 0.3):
        for shape in SHAPES:
            full = screen(flat(255), ppi=600, lpi=45, angle_deg=22.5, gain_at_50=gain, shape=shape)
            bare = screen(flat(0), ppi=600, lpi=45, angle_deg=22.5, gain_at_50=gain, shape=shape)
            assert full.all()
            assert not bare.any()


def test_a_darker_tint_keeps_every_dot_of_a_lighter_one() -> None:
    before = screen(flat(1), ppi=600, lpi=45, angle_deg=22.5)
    for tone in range(20, 256, 20):
        after = screen(flat(tone), ppi=600, lpi=45, angle_deg=22.5)
        assert (after | ~before).all()
        before = after
