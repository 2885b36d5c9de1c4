"""Inks of drawings whose colours and areas are known, in the states in which files arrive."""

from __future__ import annotations

import io
from collections.abc import Callable
from math import pi

import numpy as np
import pytest
from numpy.typing import NDArray
from PIL import Image

from artcheck.colour.difference import delta_e_2000_single
from artcheck.colour.spaces import hex_to_srgb8, srgb8_to_lab
from artcheck.domain.base import Lab
from artcheck.domain.measurements import InkMeasured, InksMeasured
from artcheck.measure.inks import count_inks
from artcheck.measure.inks.palette import Palette
from artcheck.measure.inks.plausible import plausible_counts
from artcheck.measure.inks.prune import join_twins
from artcheck.measure.scan import Scan
from artcheck.measure.tone import measure_tone
from artcheck.reading import read_data
from tests import art
from tests.measure import drawn

UNITS = 1000
"""Side of the page that the bodies below are drawn for."""

State = Callable[[str], Scan]


def _picture(body: str, size_px: int) -> Image.Image:
    return art.drawn(f'<g transform="scale({size_px / UNITS})">{body}</g>', size_px, size_px)


def _scan(picture: Image.Image, kind: str = "PNG", **options: object) -> Scan:
    out = io.BytesIO()
    picture.save(out, kind, **options)
    return Scan(read_data(out.getvalue(), "drawn"))


def png(size_px: int) -> State:
    return lambda body: _scan(_picture(body, size_px))


def png_on_white(body: str) -> Scan:
    return _scan(art.on_white(_picture(body, UNITS)))


def jpeg(size_px: int, quality: int, subsampling: str) -> State:
    return lambda body: _scan(
        art.on_white(_picture(body, size_px)), "JPEG", quality=quality, subsampling=subsampling
    )


STATES: dict[str, tuple[State, float]] = {
    "transparent": (png(1000), 0.0005),
    "on white": (png_on_white, 0.001),
    "jpeg 90": (jpeg(1000, 90, "4:4:4"), 0.004),
    "jpeg 60": (jpeg(600, 60, "4:2:0"), 0.01),
    "small": (png(220), 0.003),
}
"""How the file is made, and how far a share may be off in it: a few times what is lost to the
rounding of its rims (transparent) or to colour coded at half size (JPEG 60)."""

RED, BLUE, GREEN, YELLOW, DARK = "#c81e28", "#1e3cc8", "#2e8b3d", "#f5d020", "#231f20"

FOUR = (
    f'<rect x="60" y="60" width="400" height="400" fill="{RED}"/>'
    f'<circle cx="700" cy="260" r="180" fill="{BLUE}"/>'
    f'<circle cx="260" cy="720" r="150" fill="none" stroke="{GREEN}" stroke-width="60"/>'
    f'<path d="M560 920L760 560L960 920z" fill="{YELLOW}"/>'
)
FOUR_AREAS = {RED: 400 * 400, BLUE: pi * 180**2, GREEN: pi * (180**2 - 120**2), YELLOW: 72000}

STAR = (
    f'<rect x="50" y="50" width="900" height="900" fill="{RED}"/><path fill="{YELLOW}" d="'
    + "".join(
        f"M500 500L{500 + 400 * np.cos(turn):.2f} {500 + 400 * np.sin(turn):.2f}"
        f"L{500 + 400 * np.cos(turn + 0.06):.2f} {500 + 400 * np.sin(turn + 0.06):.2f}z"
        for turn in np.arange(0, 2 * pi, pi / 16)
    )
    + '"/>'
)
"""32 wedges of yellow on red: more rim than most drawings have."""


def measured(scan: Scan) -> InksMeasured:
    return count_inks(scan, measure_tone(scan))


def lab_of(code: str) -> Lab:
    lightness, a, b = srgb8_to_lab(np.array(hex_to_srgb8(code), np.uint8), np.float64)
    return float(lightness), float(a), float(b)


def share_of(inks: InksMeasured, code: str) -> float:
    """Share of the ink nearest to a colour, which must be within CIEDE2000 3."""
    nearest = min(inks.inks, key=lambda ink: delta_e_2000_single(ink.lab, lab_of(code)))
    assert delta_e_2000_single(nearest.lab, lab_of(code)) < 3
    return nearest.share


def readings(inks: InksMeasured) -> list[int]:
    return [reading.count for reading in inks.also_plausible]


@pytest.mark.parametrize("state", STATES)
def test_each_ink_with_its_share_of_the_area(state: str) -> None:
    make, off_by = STATES[state]
    inks = measured(make(FOUR))
    assert inks.count == inks.count_without_white == 4
    total = sum(FOUR_AREAS.values())
    for code, area in FOUR_AREAS.items():
        assert share_of(inks, code) == pytest.approx(area / total, abs=off_by)
    assert sum(ink.share for ink in inks.inks) == pytest.approx(1)
    assert [ink.share for ink in inks.inks] == sorted((i.share for i in inks.inks), reverse=True)


@pytest.mark.parametrize("state", STATES)
def test_the_blends_of_many_rims_are_no_inks(state: str) -> None:
    inks = measured(STATES[state][0](STAR))
    assert inks.count == 2
    assert share_of(inks, RED) > share_of(inks, YELLOW) > 0.1


@pytest.mark.parametrize("state", ["transparent", "on white", "jpeg 90", "small"])
def test_an_ink_between_the_colours_beside_it_is_no_blend(state: str) -> None:
    """Halfway between its neighbours, as anti-aliasing would be, but wide."""
    body = (
        f'<circle cx="500" cy="500" r="420" fill="{DARK}"/>'
        '<circle cx="500" cy="500" r="300" fill="#898788"/>'
        '<circle cx="500" cy="500" r="270" fill="#f0f0f0"/>'
    )
    inks = measured(STATES[state][0](body))
    assert inks.count == 3
    middle, whole = 300**2 - 270**2, 420**2
    assert share_of(inks, "#898788") == pytest.approx(middle / whole, abs=0.01)


@pytest.mark.parametrize(("width", "state"), [(6, "transparent"), (6, "jpeg 90"), (8, "small")])
def test_a_thin_line_is_an_ink_of_its_own_colour(width: float, state: str) -> None:
    """8 units are 1.8 pixels of the small file: hardly a pixel shows the ink unmixed."""
    body = FOUR + (
        f'<path d="M80 500L900 520M90 540L470 545" stroke="{DARK}" stroke-width="{width}"/>'
    )
    inks = measured(STATES[state][0](body))
    assert inks.count == 5
    area = width * (820.24 + 380.03)
    assert share_of(inks, DARK) == pytest.approx(area / sum(FOUR_AREAS.values()), rel=0.25)


def test_two_colours_a_shop_may_print_as_one() -> None:
    body = FOUR.replace(YELLOW, "#1840bc")
    apart = delta_e_2000_single(lab_of("#1840bc"), lab_of(BLUE))
    assert 2 < apart < 6
    inks = measured(png(1000)(body))
    assert inks.count == 4
    assert readings(inks) == [3]
    assert f"{apart:.1f} apart" in inks.also_plausible[0].why


def test_what_no_eye_tells_apart_is_one_ink() -> None:
    assert delta_e_2000_single(lab_of("#1c3ac6"), lab_of(BLUE)) < 2
    inks = measured(png(1000)(FOUR.replace(YELLOW, "#1c3ac6")))
    assert (inks.count, readings(inks)) == (3, [])


@pytest.mark.parametrize(
    ("side", "count", "also"),
    [(54, 5, [4]), (28, 4, [5]), (12, 4, [])],
    ids=["0.8 %", "0.2 %", "0"],
)
def test_small_inks_count_from_a_third_of_a_percent(side: int, count: int, also: list[int]) -> None:
    body = f'{FOUR}<rect x="500" y="480" width="{side}" height="{side}" fill="{DARK}"/>'
    inks = measured(png(1000)(body))
    assert (inks.count, readings(inks)) == (count, also)


def test_clear_art_leaves_no_doubt() -> None:
    assert readings(measured(png(1000)(FOUR))) == []


def test_white_ink_counts_where_the_file_is_transparent() -> None:
    body = f'{FOUR}<rect x="120" y="120" width="200" height="200" fill="#ffffff"/>'
    inks = measured(png(1000)(body))
    assert (inks.count, inks.count_without_white) == (5, 4)


def test_white_inside_a_white_page_may_be_ink_or_open() -> None:
    body = f'{FOUR}<rect x="120" y="120" width="200" height="200" fill="#ffffff"/>'
    inks = measured(png_on_white(body))
    assert (inks.count_without_white, readings(inks)) == (4, [5])


def _ramp(size_px: int) -> NDArray[np.uint8]:
    """(n, n, 4) a square that fades from `FADE`'s first colour to its last."""
    part = np.linspace(0, 1, size_px)[None, :, None] * np.ones((size_px, 1, 1))
    rgb = (1 - part) * np.array(FADE[0]) + part * np.array(FADE[1])
    return np.asarray(np.rint(np.dstack([rgb, np.full((size_px, size_px), 255)])), np.uint8)


FADE = ((200, 30, 40), (245, 208, 32))


def test_a_fade_counts_as_its_end_colours() -> None:
    inks = measured(drawn.scan_of(_ramp(600)))
    assert inks.count == 2
    assert all(ink.is_fade_end for ink in inks.inks)
    for end in FADE:
        lab = lab_of("#" + bytes(end).hex())
        assert min(delta_e_2000_single(ink.lab, lab) for ink in inks.inks) < 4


def test_a_solid_that_a_fade_ends_in_is_counted_once() -> None:
    solid = np.full((600, 200, 4), (*FADE[1], 255), np.uint8)
    gap = np.zeros((600, 40, 4), np.uint8)
    inks = measured(drawn.scan_of(np.hstack([_ramp(600), gap, solid])))
    assert inks.count == 2
    assert {ink.is_fade_end for ink in inks.inks} == {True, False}
    assert share_of(inks, "#" + bytes(FADE[1]).hex()) == pytest.approx(500 / 800, abs=0.01)


def test_a_photograph_has_no_count() -> None:
    inks = measured(drawn.scan_of(drawn.photograph("coffee")))
    assert inks == InksMeasured(count=None, count_without_white=None)


def test_an_ink_says_where_it_is() -> None:
    inks = measured(png(1000)(FOUR)).inks
    blue = min(inks, key=lambda ink: delta_e_2000_single(ink.lab, lab_of(BLUE)))
    assert blue.where == pytest.approx((80, 520, 440, 880), abs=1)


def test_an_enlarged_file_is_read_at_its_true_size() -> None:
    small = art.on_white(_picture(FOUR, 300))
    inks = measured(_scan(small.resize((900, 900), Image.Resampling.BICUBIC), "JPEG", quality=85))
    assert inks.count_without_white == 4
    where = max(inks.inks, key=lambda ink: ink.share).where
    assert where == pytest.approx((54, 54, 414, 414), abs=4)


@pytest.mark.parametrize("state", ["transparent", "jpeg 60"])
def test_the_same_file_gives_the_same_answer(state: str) -> None:
    make = STATES[state][0]
    assert measured(make(STAR)) == measured(make(STAR))


def _ink(code: str, share: float) -> InkMeasured:
    return InkMeasured(hex=code, lab=lab_of(code), share=share)


CLEAR = [_ink(RED, 0.5), _ink(BLUE, 0.3), _ink(YELLOW, 0.2)]


def test_doubts_of_one_direction_add_up() -> None:
    found = plausible_counts(CLEAR, [], [CLEAR[1], CLEAR[2]], [_ink(GREEN, 0.01)], False)
    assert [reading.count for reading in found] == [2, 4, 1]
    assert YELLOW in found[2].why
    assert YELLOW not in found[0].why


def test_no_reading_is_of_no_ink_at_all() -> None:
    assert plausible_counts([CLEAR[0]], [], [CLEAR[0]], [], False) == ()


def test_only_the_nearest_readings_are_told() -> None:
    faint = [_ink(GREEN, 0.002)] * 9
    found = plausible_counts(CLEAR, faint, [], [], True)
    assert [reading.count for reading in found] == [4, 5, 6, 7]


def test_a_keyline_too_thin_to_show_its_ink_is_no_further_ink() -> None:
    """0.7 pixels wide: along it the yellow, seen pure elsewhere, blends with what lies beside."""
    body = (
        f'<circle cx="500" cy="500" r="440" fill="{GREEN}" stroke="{YELLOW}" stroke-width="20"/>'
        f'<circle cx="500" cy="500" r="300" fill="none" stroke="{YELLOW}" stroke-width="3"/>'
        f'<circle cx="500" cy="500" r="220" fill="{BLUE}" stroke="{YELLOW}" stroke-width="3"/>'
        f'<path d="M200 500H800" stroke="{YELLOW}" stroke-width="3"/>'
    )
    inks = measured(png(220)(body))
    assert inks.count == 3
    assert share_of(inks, YELLOW) < 0.12


def _palette(codes: list[str], areas: list[float]) -> Palette:
    """White paper and these inks, a row of labels each."""
    rgb = [np.array(hex_to_srgb8(code), np.float64) for code in ("#ffffff", *codes)]
    labels = np.repeat(np.arange(len(rgb), dtype=np.int16)[:, None] + 1, 5, axis=1)
    return Palette(labels, has_paper=True, rgb=rgb, area=[5000.0, *areas])


def test_colour_shifted_at_the_same_light_is_one_ink_where_colour_is_coarse() -> None:
    """The two luma of 47, as a dark green came out of a JPEG file of quality 60."""
    palette = _palette(["#213a1a", "#2d3225"], [300.0, 100.0])
    join_twins(palette, soft_colour=True, total=400)
    assert palette.area == [5000.0, 400.0, 0.0]
    assert palette.dropped == {2: 100.0}
    assert set(palette.labels[2]) == {2}
    np.testing.assert_allclose(palette.rgb[1], (36, 56, 28.75))


@pytest.mark.parametrize(
    ("codes", "soft_colour"),
    [(["#213a1a", "#2d3225"], False), (["#2c0e1a", "#39140d"], True), (["#fafafa"], True)],
    ids=["colour as fine as light", "another light", "paper is no ink"],
)
def test_no_other_inks_are_joined(codes: list[str], soft_colour: bool) -> None:
    areas = [300.0, 100.0][: len(codes)]
    palette = _palette(codes, areas)
    join_twins(palette, soft_colour=soft_colour, total=400)
    assert palette.area == [5000.0, *areas]


def test_a_small_line_of_nearly_an_inks_colour_is_that_ink() -> None:
    """7.4 apart and thin; a larger line would stand."""
    for area, joined in ((6.0, True), (60.0, False)):
        palette = _palette(["#213a1a", "#134405"], [300.0, area])
        palette.thin.add(2)
        join_twins(palette, soft_colour=False, total=300 + area)
        assert (palette.area[2] == 0) is joined


BOX_WITH_LETTERS = (
    '<rect x="100" y="100" width="800" height="800" fill="#1b2a41"/>'
    '<path d="M300 300h100v150h200v-150h100v400h-100v-150h-200v150h-100z" fill="#f2b705"/>'
)
OVER_THE_RIM = (
    '<rect x="100" y="100" width="600" height="800" fill="#1b2a41"/>'
    '<circle cx="700" cy="500" r="200" fill="#f2b705"/>'
)


@pytest.mark.parametrize("state", list(STATES))
def test_an_ink_inside_another_faces_no_open_ground(state: str) -> None:
    make = STATES[state][0]
    box, letters = count_inks(make(BOX_WITH_LETTERS), None).inks
    assert letters.open_outline <= 0.02  # ripples of JPEG
    # The box: 3,200 units outside, 2,100 around the letter.
    assert box.open_outline == pytest.approx(3200 / 5300, abs=0.02)


def test_an_ink_over_the_rim_faces_both() -> None:
    disc = count_inks(png(1000)(OVER_THE_RIM), None).inks[1]
    assert disc.open_outline == pytest.approx(0.5, abs=0.02)
