"""Flat, gradient or photo; shares against the truth of what was drawn."""

from __future__ import annotations

import io
from pathlib import Path

import cv2
import numpy as np
import pytest
from PIL import Image

from artcheck.measure.scan import Scan
from artcheck.measure.tone import continued, fade_mask, map_tone, measure_tone
from artcheck.reading import read
from tests.benchmarks.conditions import render
from tests.benchmarks.own_art import own_sample
from tests.measure import drawn
from tests.measure.drawn import Bytes

ORANGE, YELLOW = (255, 120, 0), (255, 220, 60)
STRIPES = [(0, 90, 60), (250, 250, 250), (200, 30, 40)]


def _jpeg(pixels: Bytes, quality: int) -> Bytes:
    out = io.BytesIO()
    Image.fromarray(drawn.on_white(pixels)).save(out, "JPEG", quality=quality)
    return np.asarray(Image.open(out))


@pytest.mark.parametrize("kind", ["linear", "diagonal", "radial"])
def test_a_fade_is_a_gradient_all_over(kind: str) -> None:
    tone = measure_tone(drawn.scan_of(drawn.fade(kind, ORANGE, YELLOW, 600)))
    assert tone.kind == "gradient"
    assert tone.gradient_share == pytest.approx(1.0, abs=0.03)
    assert tone.photo_share == 0.0
    assert len(tone.fade_places) == 1


def test_a_fade_to_nothing_is_a_gradient() -> None:
    tone = measure_tone(drawn.scan_of(drawn.fade("radial", ORANGE, ORANGE, 600, vanishing=True)))
    assert tone.kind == "gradient"
    assert tone.gradient_share > 0.95


def test_half_a_page_of_fade_is_half() -> None:
    pixels = np.full((400, 800, 4), 255, np.uint8)
    pixels[:, :400, :3] = (30, 60, 120)
    ramp = np.linspace(0, 1, 400)[:, None]
    pixels[:, 400:, :3] = np.rint(
        (1 - ramp) * np.array(ORANGE) + ramp * np.array((90, 0, 90))
    ).astype(np.uint8)[:, None, :]
    tone = measure_tone(drawn.scan_of(pixels))
    assert tone.gradient_share == pytest.approx(0.5, abs=0.02)
    row0, col0, row1, col1 = tone.fade_places[0]
    assert abs(col0 - 400) <= 4
    assert (row0, row1, col1) == (0, 400, 800)


def test_a_fade_names_its_end_colours() -> None:
    scan = drawn.scan_of(drawn.fade("linear", (250, 10, 10), (10, 10, 250), 600))
    (fade,) = map_tone(scan).fades
    ends = sorted(fade.ends)
    # The disc leaves out the outer tenth on both sides; the ends are means of the outermost 5 %.
    assert np.abs(np.subtract(ends[0], (10, 10, 250))).max() < 45
    assert np.abs(np.subtract(ends[1], (250, 10, 10))).max() < 45


@pytest.mark.parametrize("upright", [False, True])
@pytest.mark.parametrize("quality", [None, 90, 60])
def test_flags_are_flat(upright: bool, quality: int | None) -> None:
    pixels = drawn.flag(STRIPES, 900, upright=upright)
    tone = measure_tone(drawn.scan_of(_jpeg(pixels, quality) if quality else pixels))
    assert tone.kind == "flat"
    assert tone.gradient_share < 0.01


def test_a_worn_print_is_flat() -> None:
    for seed in range(3):
        assert measure_tone(drawn.scan_of(drawn.worn(seed, 900))).kind == "flat"


def test_blur_makes_no_fade() -> None:
    import cv2

    pixels = drawn.on_white(drawn.flag(STRIPES, 900))
    blurred = np.asarray(cv2.GaussianBlur(pixels, (0, 0), 1.5), np.uint8)
    assert measure_tone(drawn.scan_of(blurred)).kind == "flat"


@pytest.mark.parametrize("name", ["astronaut", "camera", "coffee", "chelsea", "china"])
def test_photographs_are_photographs(name: str) -> None:
    tone = measure_tone(drawn.scan_of(drawn.photograph(name)))
    assert tone.kind == "photo"
    assert tone.photo_share > 0.5


def test_a_photograph_in_flat_art_is_found_with_its_share() -> None:
    pixels, share = drawn.with_photograph(drawn.flag(STRIPES, 900), "astronaut", 0.25)
    tone = measure_tone(drawn.scan_of(pixels))
    assert tone.kind == "photo"
    assert tone.photo_share == pytest.approx(share, abs=0.08)
    assert tone.gradient_share < 0.05


def test_a_screen_is_no_fade_and_is_reported() -> None:
    tone = measure_tone(drawn.scan_of(drawn.screened(8, 22.5, 800)))
    assert tone.kind == "flat"
    assert tone.halftone is not None
    assert len(tone.halftone) == 1


def test_scaling_the_art_leaves_its_shares() -> None:
    pixels = drawn.fade("diagonal", (10, 20, 90), (80, 160, 255), 1200)
    small = drawn.resized(pixels, 400, 400, Image.Resampling.BOX)
    large = measure_tone(drawn.scan_of(pixels)).gradient_share
    assert measure_tone(drawn.scan_of(small)).gradient_share == pytest.approx(large, abs=0.03)


def test_the_mask_fits_any_size() -> None:
    scan = drawn.scan_of(drawn.fade("linear", ORANGE, YELLOW, 600))
    row0, col0, row1, col1 = scan.box
    mask = fade_mask(scan, (row1 - row0, col1 - col0))
    assert mask.shape == (row1 - row0, col1 - col0)
    assert mask[mask.shape[0] // 2].mean() > 0.95


def _jpeg_60(pixels: Bytes) -> Bytes:
    """(H, W, 3) the same through JPEG 60 with halved chroma."""
    data = io.BytesIO()
    Image.fromarray(pixels).save(data, "JPEG", quality=60, subsampling="4:2:0")
    return np.asarray(Image.open(data).convert("RGB"))


def test_colour_that_jpeg_carries_over_an_edge_is_no_fade() -> None:
    """A narrow ring between two other colours: its chroma is its neighbours' in part."""
    page = np.full((600, 600, 3), 255, np.uint8)
    for radius, colour in ((250, (107, 20, 128)), (200, (27, 63, 10)), (176, (107, 20, 128))):
        cv2.circle(page, (300, 300), radius, colour, -1)
    for n in range(12):
        spot = (int(300 + 225 * np.cos(n / 2)), int(300 + 225 * np.sin(n / 2)))
        cv2.circle(page, spot, 16, (27, 63, 10), -1)
    assert measure_tone(drawn.scan_of(page)).fade_places == ()
    assert measure_tone(drawn.scan_of(_jpeg_60(page))).fade_places == ()


def test_a_narrow_fade_stays_one_in_jpeg() -> None:
    page = np.full((600, 600, 3), 255, np.uint8)
    page[280:330, 40:560] = np.linspace((240, 60, 20), (250, 220, 40), 520).astype(np.uint8)
    assert measure_tone(drawn.scan_of(_jpeg_60(page))).kind == "gradient"


def _sun(size_px: int, *, stepped: bool) -> Bytes:
    """A disc fading downwards, its lower half cut into strips, each solid if ``stepped``."""
    pixels = drawn.fade("linear", (255, 190, 60), (220, 40, 110), size_px)
    pixels[..., :3] = np.swapaxes(pixels[..., :3], 0, 1)
    for strip in range(5):
        top = round(size_px * (0.55 + 0.08 * strip))
        pixels[top : top + round(size_px * (0.02 + 0.01 * strip)), :, 3] = 0
        if stepped:
            middle = pixels[top + round(size_px * 0.04), 0, :3]
            pixels[top : top + round(size_px * 0.08) + 1, :, :3] = middle
    return pixels


@pytest.mark.parametrize("quality", [None, 85])
def test_a_fade_cut_into_strips_is_one_fade(quality: int | None) -> None:
    pixels = _sun(800, stepped=False)
    tone = measure_tone(drawn.scan_of(pixels if quality is None else _jpeg(pixels, quality)))
    assert len(tone.fade_places) == 1
    row0, _, row1, _ = tone.fade_places[0]
    assert row0 <= 90
    assert row1 >= 690  # the last strip ends at 696, above the last cut


def test_solid_stripes_along_a_fades_colours_are_solids() -> None:
    tone = measure_tone(drawn.scan_of(_sun(800, stepped=True)))
    assert max(place[2] for place in tone.fade_places) <= 0.56 * 800


def test_fades_that_are_all_too_small_to_fit_are_left_alone() -> None:
    """Large photographs come to this: labels, and none of them with pixels enough."""
    small = np.zeros((40, 40), np.int32)
    small[::8, ::8] = np.arange(1, 26).reshape(5, 5)
    assert continued._by_size(small) == []
    small[10:40, 10:40] = 1
    assert [label for label, _ in continued._by_size(small)] == [1]


@pytest.mark.parametrize("seed", [0, 1])
def test_a_worn_print_is_flat_in_jpeg_60(seed: int) -> None:
    small = drawn.resized(drawn.on_white(drawn.worn(seed, 1000)), 600, 600, Image.Resampling.BOX)
    assert measure_tone(drawn.scan_of(_jpeg_60(small))).kind == "flat"


@pytest.mark.parametrize("seed", [0, 1])
@pytest.mark.parametrize("size_px", [1000, 250])
def test_a_night_sky_is_a_photograph(seed: int, size_px: int) -> None:
    sky = drawn.resized(drawn.night_sky(seed, 1000), size_px, size_px, Image.Resampling.BOX)
    tone = measure_tone(drawn.scan_of(sky))
    assert tone.kind == "photo"
    assert tone.photo_share > 0.5


@pytest.mark.parametrize("inks", [1, 3])
def test_drawn_splashes_on_dark_are_no_night_sky(inks: int) -> None:
    pixels = drawn.splashes(inks, 1000)
    assert measure_tone(drawn.scan_of(pixels)).kind == "flat"
    small = drawn.resized(pixels, 600, 600, Image.Resampling.BOX)
    assert measure_tone(drawn.scan_of(_jpeg_60(small))).kind == "flat"


def test_a_small_photograph_in_a_small_file_is_found() -> None:
    """Dark trees under a pale sky: many pixels are near one of two tones, but not most."""
    pixels, share = drawn.with_photograph(drawn.flag(STRIPES, 220), "china", 0.06)
    tone = measure_tone(drawn.scan_of(pixels))
    assert tone.kind == "photo"
    assert tone.photo_share == pytest.approx(share, abs=0.03)


def test_a_grey_scan_of_small_type_is_no_photograph() -> None:
    assert measure_tone(drawn.scan_of(drawn.scanned_page(14, 2400))).kind == "flat"


@pytest.mark.parametrize(
    ("kind", "number"), [("own-badges", 5), ("own-badges", 11), ("own-outlined", 8)]
)
def test_busy_drawing_in_jpeg_60_is_no_photograph(kind: str, number: int) -> None:
    """Small shapes ring in coarse JPEG like texture, in the light of a few inks."""
    drawing = own_sample(kind, number + 1, held_out=False)[number]
    pixels = drawn.on_white(np.asarray(render(drawing.svg(600))))
    tone = measure_tone(drawn.scan_of(_jpeg_60(pixels)))
    assert (tone.kind, tone.photo_share) == ("flat", 0.0)


@pytest.mark.parametrize(("seed", "width_px"), [(10, 400), (56, 400), (49, 800), (30, 600)])
def test_ripples_between_letters_are_no_fade(seed: int, width_px: int, tmp_path: Path) -> None:
    """JPEG 50 leaves pale ripples on the paper and noise in strokes too thin to have a middle."""
    file = tmp_path / "letters.jpg"
    page = drawn.on_white(drawn.lettering(seed, width_px))
    Image.fromarray(page).save(file, "JPEG", quality=50, subsampling="4:2:0")
    assert measure_tone(Scan(read(file))).kind == "flat"
