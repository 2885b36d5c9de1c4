"""Screens of known period and angle; and what must not pass for one."""

from __future__ import annotations

import io

import numpy as np
import pytest
from PIL import Image

from artcheck.measure.halftone import find_screens, screen_mask
from tests.measure import drawn
from tests.measure.drawn import Bytes, screen_share


def _turn(one: float, other: float) -> float:
    """Angle between two square lattices."""
    return abs((one - other + 45) % 90 - 45)


@pytest.mark.parametrize("period_px", [3.5, 6.67, 11.0, 18.0])
@pytest.mark.parametrize("angle_deg", [0.0, 22.5, 45.0, 61.0])
@pytest.mark.parametrize("ramp", [False, True])
def test_period_and_angle(period_px: float, angle_deg: float, ramp: bool) -> None:
    (screen,) = find_screens(
        drawn.scan_of(drawn.screened(period_px, angle_deg, 500, ramp=ramp))
    ).screens
    assert screen.period_px == pytest.approx(period_px, rel=0.005)
    assert _turn(screen.angle_deg, angle_deg) < 0.2
    assert 0 <= screen.angle_deg < 90
    assert screen.ink_hex == "#14143c"


def test_45_lines_an_inch_at_300() -> None:
    """300 / 45 = 6.67 px; 22.5 degrees: common practice for one ink on garments."""
    (screen,) = find_screens(drawn.scan_of(drawn.screened(300 / 45, 22.5, 600))).screens
    assert 300 / screen.period_px == pytest.approx(45, rel=0.005)


def test_round_dots_in_jpeg() -> None:
    out = io.BytesIO()
    pixels = drawn.on_white(drawn.screened(7.5, 15, 600, dot="round"))
    Image.fromarray(pixels).save(out, "JPEG", quality=75)
    (screen,) = find_screens(drawn.scan_of(np.asarray(Image.open(out)))).screens
    assert screen.period_px == pytest.approx(7.5, rel=0.01)
    assert _turn(screen.angle_deg, 15) < 0.5


def test_two_inks_two_screens() -> None:
    size = 600
    ramp = np.tile(np.linspace(0.2, 0.6, size), (size, 1))
    red, blue = screen_share(8, 15, ramp), screen_share(8, 45, ramp[:, ::-1])
    page = 255 * np.ones((size, size, 3))
    page *= 1 - red[..., None] * (1 - np.array((230, 20, 40)) / 255)
    page *= 1 - blue[..., None] * (1 - np.array((20, 60, 220)) / 255)
    found = find_screens(drawn.scan_of(np.rint(page).astype(np.uint8))).screens
    angles = sorted(screen.angle_deg for screen in found)
    assert angles == pytest.approx([15, 45], abs=0.3)
    assert all(screen.period_px == pytest.approx(8, rel=0.01) for screen in found)


def _pattern(name: str, width_px: int) -> Bytes:
    row, col = np.mgrid[:700, :700] // width_px
    dark = {
        "stripes": col % 2,
        "slanted": (np.add(*np.mgrid[:700, :700]) // width_px) % 2,
        "checks": (row + col) % 2,
    }[name]
    pixels = np.full((700, 700, 3), 255, np.uint8)
    pixels[dark > 0] = (20, 30, 90)
    return pixels


@pytest.mark.parametrize(
    ("name", "width_px"),
    [("stripes", 3), ("stripes", 10), ("slanted", 4), ("slanted", 14), ("checks", 30)],
)
def test_stripes_and_coarse_checks_are_no_screen(name: str, width_px: int) -> None:
    assert find_screens(drawn.scan_of(_pattern(name, width_px))).screens == ()


def test_a_line_screen_is_no_lattice() -> None:
    assert find_screens(drawn.scan_of(drawn.screened(8, 30, 600, dot="line"))).screens == ()


@pytest.mark.parametrize("name", sorted(drawn.PHOTOGRAPHS))
def test_photographs_carry_no_screen(name: str) -> None:
    assert find_screens(drawn.scan_of(drawn.photograph(name))).screens == ()


def test_worn_prints_carry_no_screen() -> None:
    assert find_screens(drawn.scan_of(drawn.worn(4, 900))).screens == ()


def test_the_mask_covers_the_screened_part_only() -> None:
    page = np.full((1024, 2048, 3), 255, np.uint8)
    page[:, 1300:] = (200, 30, 40)
    page[:512, :512] = drawn.on_white(drawn.screened(8, 22.5, 512))
    scan = drawn.scan_of(page)
    mask = screen_mask(find_screens(scan), scan.box, (64, 128))
    assert mask[:32, :32].mean() > 0.7
    assert not mask[:, 80:].any()
