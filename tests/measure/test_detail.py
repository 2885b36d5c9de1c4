"""Lines and gaps of known width: ink on open ground, and one ink on another."""

import cv2
import numpy as np
import pytest
from numpy.typing import NDArray

from artcheck.measure.detail import measure_detail
from artcheck.measure.inks import count_inks
from artcheck.measure.tone import measure_tone
from tests.imaging.test_strokes import bar
from tests.measure import drawn

Bytes = NDArray[np.uint8]
Colour = tuple[int, int, int]

BLACK, YELLOW, WHITE, RED = (17, 17, 17), (245, 208, 32), (255, 255, 255), (200, 30, 40)
OVER = 8


def bars_on_field(field: Colour, bar: Colour, width_px: float, angle_deg: float) -> Bytes:
    """(300, 300, 4) a field with a bar turned on it, and a disc of the bar's ink; on nothing."""
    side = 300 * OVER
    large = np.zeros((side, side, 4), np.uint8)
    large[20 * OVER : -20 * OVER, 20 * OVER : -20 * OVER] = (*field, 255)
    box = (
        (side * 0.5, side * 0.55),
        (170.0 * OVER, width_px * OVER - 1),
        angle_deg,
    )  # edges count in
    corners = np.rint(cv2.boxPoints(box) * 16).astype(np.int32)
    cv2.fillConvexPoly(large, corners, (*bar, 255), lineType=cv2.LINE_8, shift=4)
    cv2.circle(large, (70 * OVER, 70 * OVER), 24 * OVER, (*bar, 255), -1)
    return np.asarray(cv2.resize(large, (300, 300), interpolation=cv2.INTER_AREA), np.uint8)


def measured(pixels: Bytes) -> tuple[float | None, float | None]:
    scan = drawn.scan_of(pixels)
    inks = count_inks(scan, measure_tone(scan)).inks
    detail = measure_detail(scan, inks=inks)
    return detail.thinnest_line_px, detail.narrowest_gap_px


@pytest.mark.parametrize("angle_deg", [0, 17, 45, 73, 90])
@pytest.mark.parametrize("width_px", [2.5, 4.2, 9.0])
def test_a_dark_line_on_a_light_ink(width_px: float, angle_deg: float) -> None:
    line, gap = measured(bars_on_field(YELLOW, BLACK, width_px, angle_deg))
    assert line == pytest.approx(width_px, rel=0.05)
    assert gap is None


def test_lines_within_the_outline_are_none_of_the_film_of_all_colours() -> None:
    scan = drawn.scan_of(bars_on_field(YELLOW, BLACK, 4.2, 17))
    detail = measure_detail(scan, inks=count_inks(scan, measure_tone(scan)).inks)
    assert detail.lines
    assert detail.open_lines == detail.open_gaps == ()
    assert measure_detail(drawn.scan_of(bars_on_field(BLACK, BLACK, 4.2, 17))).open_lines == ()


@pytest.mark.parametrize("light", [YELLOW, WHITE])
@pytest.mark.parametrize("width_px", [2.5, 4.2, 9.0])
def test_a_light_line_in_a_dark_ink_is_a_gap_that_may_close(width_px: float, light: Colour) -> None:
    line, gap = measured(bars_on_field(BLACK, light, width_px, 17))
    assert gap == pytest.approx(width_px, rel=0.05)
    assert line == pytest.approx(width_px, rel=0.05)


def test_of_inks_alike_in_lightness_none_closes_the_other() -> None:
    line, gap = measured(bars_on_field((0, 120, 60), (190, 60, 60), 4.2, 17))
    assert line == pytest.approx(4.2, rel=0.05)
    assert gap is None


@pytest.mark.parametrize("blur_px", [0.0, 0.7, 1.2])
def test_the_blend_of_two_inks_is_no_line(blur_px: float) -> None:
    """A third ink lies between the other two: their soft edge passes through it."""
    pixels = np.zeros((300, 300, 4), np.uint8)
    pixels[20:280, 20:150] = (*RED, 255)
    pixels[20:280, 150:280] = (*YELLOW, 255)
    pixels[60:120, 60:120] = (223, 119, 36, 255)
    if blur_px:
        pixels[..., :3] = cv2.GaussianBlur(pixels[..., :3], (0, 0), blur_px)
    line, gap = measured(pixels)
    assert line is None or line > 30
    assert gap is None or gap > 30


def test_one_ink_has_no_plates_to_look_at() -> None:
    pixels = bars_on_field(BLACK, BLACK, 4.2, 17)
    assert measured(pixels) == (None, None)


def test_a_part_of_the_page_is_measured_for_itself() -> None:
    fine = bars_on_field(YELLOW, BLACK, 3.0, 17)
    coarse = bars_on_field(YELLOW, BLACK, 9.0, 17)
    scan = drawn.scan_of(np.hstack([fine, coarse]))
    inks = count_inks(scan, measure_tone(scan)).inks
    for box, width in (((0, 0, 300, 300), 3.0), ((0, 300, 300, 600), 9.0)):
        detail = measure_detail(scan, box, inks)
        assert detail.thinnest_line_px == pytest.approx(width, rel=0.05)
        assert detail.lines[0].where[1] >= box[1]


def test_strokes_off_the_art_are_read_without_a_crash() -> None:
    """A line that ends at the picture's very corner is sampled beyond it."""
    pixels = np.zeros((120, 120, 4), np.uint8)
    pixels[..., :3] = BLACK
    pixels[..., 3] = bar(4.0, 45, length=400, side=120)
    scan = drawn.scan_of(pixels)
    assert measure_detail(scan).thinnest_line_px == pytest.approx(4.0, rel=0.03)
