"""Soft rims of known width, and mattes of known colour."""

from __future__ import annotations

import cv2
import numpy as np
import pytest
from PIL import Image, ImageDraw, ImageFont

from artcheck.measure.edges import measure_edges
from tests.measure import drawn
from tests.measure.drawn import Bytes

NORMAL_10_TO_90 = 2.563
"""Standard deviations between the 10 % and the 90 % point of a normal distribution (tables)."""


def _disc(size_px: int = 500) -> Bytes:
    """(n, n, 4) a plain anti-aliased disc of two colours."""
    pixels = drawn.fade("linear", (200, 30, 40), (200, 30, 40), size_px)
    pixels[:, size_px // 2 :, :3] = (20, 50, 110)
    return pixels


def _blurred(pixels: Bytes, sigma_px: float) -> Bytes:
    soft = pixels.copy()
    soft[..., 3] = cv2.GaussianBlur(pixels[..., 3], (0, 0), sigma_px)
    soft[:, : pixels.shape[1] // 2, :3] = (200, 30, 40)
    soft[:, pixels.shape[1] // 2 :, :3] = (20, 50, 110)
    return soft


def test_plain_edges_are_hard() -> None:
    edges = measure_edges(drawn.scan_of(_disc()))
    assert edges.soft_share < 0.01
    assert edges.matte_hex is None
    assert 0 < edges.partial_share < 0.02


@pytest.mark.parametrize("size", [16, 22, 28, 40])
def test_small_lettering_has_hard_edges(size: int) -> None:
    page = Image.new("RGBA", (900, 120), (122, 31, 43, 0))
    font = ImageFont.load_default(size)
    ImageDraw.Draw(page).text((10, 30), "est. fifty two, open daily", (122, 31, 43), font)
    assert measure_edges(drawn.scan_of(np.asarray(page))).soft_share < 0.01


def test_a_blurred_line_is_soft() -> None:
    page = Image.new("L", (400, 200), 0)
    ImageDraw.Draw(page).line((40, 40, 360, 150), 255, 5)
    pixels = np.full((200, 400, 4), (122, 31, 43, 0), np.uint8)
    pixels[..., 3] = cv2.GaussianBlur(np.asarray(page), (0, 0), 3)
    assert measure_edges(drawn.scan_of(pixels)).soft_share > 0.9


def test_opaque_art_has_no_rim() -> None:
    edges = measure_edges(drawn.scan_of(np.full((100, 100, 3), 80, np.uint8)))
    assert (edges.soft_share, edges.soft_width_px, edges.partial_share) == (0, 0, 0)
    assert edges.places == ()


@pytest.mark.parametrize("sigma_px", [2.0, 5.0, 12.0])
def test_the_width_of_a_blurred_rim(sigma_px: float) -> None:
    edges = measure_edges(drawn.scan_of(_blurred(_disc(), sigma_px)))
    assert edges.soft_share > 0.99
    assert edges.soft_width_px == pytest.approx(NORMAL_10_TO_90 * sigma_px, rel=0.08)
    assert edges.matte_hex is None


def test_half_an_outline() -> None:
    pixels, soft = _disc(), _blurred(_disc(), 4.0)
    pixels[:, 250:] = soft[:, 250:]
    edges = measure_edges(drawn.scan_of(pixels))
    assert edges.soft_share == pytest.approx(0.5, abs=0.03)
    assert edges.places[0][1] >= 225  # a place takes in the rim's own width


def test_a_glow_behind_hard_art() -> None:
    art = _disc()
    glow = np.zeros_like(art)
    glow[..., :3] = (255, 240, 120)
    glow[..., 3] = cv2.GaussianBlur(art[..., 3], (0, 0), 15)
    page = Image.fromarray(glow)
    page.alpha_composite(Image.fromarray(art))
    edges = measure_edges(drawn.scan_of(np.asarray(page)))
    assert edges.soft_share > 0.95
    # Half of the blur lies outside the art: from 10 % up to the hard edge at 50 %.
    assert edges.soft_width_px == pytest.approx(NORMAL_10_TO_90 / 2 * 15, rel=0.15)
    assert edges.matte_hex is None


def test_a_sheer_panel_with_a_clean_cut_is_hard() -> None:
    pixels = _disc()
    pixels[..., 3] = np.rint(pixels[..., 3] * 0.5).astype(np.uint8)
    edges = measure_edges(drawn.scan_of(pixels))
    assert edges.soft_share < 0.01
    assert edges.partial_share == pytest.approx(1.0, abs=0.002)


@pytest.mark.parametrize("matte", [(255, 255, 255), (0, 0, 0), (20, 200, 40)])
@pytest.mark.parametrize("sigma_px", [0.0, 3.0])
def test_a_matte_is_named(matte: tuple[int, int, int], sigma_px: float) -> None:
    pixels = _disc() if sigma_px == 0 else _blurred(_disc(), sigma_px)
    share = pixels[..., 3:] / 255
    pixels[..., :3] = np.rint(pixels[..., :3] * share + np.array(matte) * (1 - share))
    found = measure_edges(drawn.scan_of(pixels)).matte_hex
    assert found is not None
    named = [int(found[i : i + 2], 16) for i in (1, 3, 5)]
    assert np.abs(np.subtract(named, matte)).max() <= 12


def test_a_veil_over_the_whole_picture_has_no_outline_and_is_partial() -> None:
    """Art that is translucent up to the picture's border, and a pixel or two of it."""
    veil = Image.new("RGBA", (300, 200), (200, 30, 40, 200))
    ImageDraw.Draw(veil).ellipse((50, 50, 150, 150), fill=(30, 60, 200, 230))
    edges = measure_edges(drawn.scan_of(np.asarray(veil)))
    assert (edges.soft_share, edges.soft_width_px, edges.places) == (0, 0, ())
    assert edges.partial_share == 1
    for size in ((1, 1), (2, 1), (300, 1)):
        small = np.asarray(Image.new("RGBA", size, (200, 30, 40, 200)))
        assert measure_edges(drawn.scan_of(small)).partial_share == 1


def test_turning_the_art_changes_nothing_but_places() -> None:
    pixels = _blurred(_disc(), 4.0)
    one = measure_edges(drawn.scan_of(pixels))
    other = measure_edges(drawn.scan_of(np.ascontiguousarray(np.rot90(pixels))))
    assert other.soft_share == pytest.approx(one.soft_share, abs=0.01)
    assert other.soft_width_px == pytest.approx(one.soft_width_px, rel=0.03)
