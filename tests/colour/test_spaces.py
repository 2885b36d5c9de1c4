"""Colour spaces against published tables and other libraries; colours as people write them."""

from __future__ import annotations

import contextlib
import csv
from pathlib import Path

import colour
import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from artcheck.colour.difference import delta_e_2000_single
from artcheck.colour.spaces import (
    D50_WHITE,
    D65_WHITE,
    ILLUMINANTS,
    bradford_matrix,
    contrast_ratio,
    hex_to_lab,
    in_srgb,
    lab_to_hex,
    lab_to_srgb8,
    lab_to_xyz,
    parse_colour,
    relative_luminance,
    srgb8_to_lab,
    xyz_to_lab,
)
from artcheck.errors import ColourTextError

DATA = Path(__file__).parent.parent / "data" / "colour"
STOCK = {"Barn red": (38.0, 52.0, 30.0), "Lagoon": (54.0, -36.0, -14.0)}


# The sRGB primaries in CIELAB D50 by way of Bradford, from the published conversion tables of
# B. Lindbloom (whites of ASTM E308).
@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("#ff0000", (54.29, 80.81, 69.88)),
        ("#00ff00", (87.82, -79.29, 80.99)),
        ("#0000ff", (29.57, 68.30, -112.03)),
        ("#ffffff", (100.0, 0.0, 0.0)),
        ("#000000", (0.0, 0.0, 0.0)),
    ],
)
def test_srgb_primaries(text: str, expected: tuple[float, float, float]) -> None:
    assert hex_to_lab(text) == pytest.approx(expected, abs=0.01)


def test_bradford_matrix_d65_to_d50() -> None:
    # B. Lindbloom, "Chromatic Adaptation", table of Bradford matrices.
    published = [
        [1.0478112, 0.0228866, -0.0501270],
        [0.0295424, 0.9904844, -0.0170491],
        [-0.0092345, 0.0150436, 0.7521316],
    ]
    assert np.allclose(bradford_matrix(D65_WHITE, D50_WHITE), published, atol=5e-7)


def colour_checker() -> list[dict[str, str]]:
    with (DATA / "colorchecker24_2014.csv").open(newline="") as table:
        return list(csv.DictReader(table))


@pytest.mark.parametrize("row", colour_checker(), ids=lambda row: str(row["name"]))
def test_colour_checker_24(row: dict[str, str]) -> None:
    # The 24-patch chart as made after November 2014: CIELAB D50 as its maker published it, and
    # the x, y, Y that colour-science keeps of the same edition. That set's D50 has b* 0.02 apart
    # from ours at white (x 0.34570 y 0.35854 against ASTM E308), hence the tolerance.
    chart = colour.CCS_COLOURCHECKERS["ColorChecker24 - After November 2014"]
    x, y, big_y = (float(value) for value in chart.data[row["name"]])
    published = [float(row[key]) for key in "Lab"]
    assert parse_colour(f"xyY({x} {y} {big_y})") == pytest.approx(published, abs=0.03)
    theirs = colour.XYZ_to_sRGB(
        colour.xyY_to_XYZ([x, y, big_y]),
        chart.illuminant,
        chromatic_adaptation_transform="Bradford",
    )
    codes = np.rint(255 * np.clip(theirs, 0, 1))
    assert np.abs(lab_to_srgb8(published) - codes).max() <= 1


def test_srgb_agrees_with_colour_science() -> None:
    rgb = np.random.default_rng(3).integers(0, 256, (20_000, 3), dtype=np.uint8)
    xyz = colour.sRGB_to_XYZ(rgb / 255, chromatic_adaptation_transform=None)
    adapted = colour.chromatic_adaptation(
        xyz, np.array(D65_WHITE), np.array(D50_WHITE), method="Von Kries", transform="Bradford"
    )
    white = colour.XYZ_to_xy(np.array(D50_WHITE))
    expected = colour.XYZ_to_Lab(adapted, white)
    # colour-science keeps the standard's matrix rounded to four digits, ours is derived.
    assert srgb8_to_lab(rgb, np.float64) == pytest.approx(expected, abs=0.05)


def test_float32_is_close_to_float64() -> None:
    steps = np.arange(0, 256, 15, dtype=np.uint8)
    rgb = np.stack(np.meshgrid(steps, steps, steps), axis=-1)
    single, double = srgb8_to_lab(rgb), srgb8_to_lab(rgb, np.float64)
    assert single.dtype == np.float32
    assert single.shape == rgb.shape
    assert np.abs(single - double).max() < 5e-4


def test_blocks_join_without_a_seam() -> None:
    rgb = np.random.default_rng(1).integers(0, 256, (70_000, 3), dtype=np.uint8)
    assert np.array_equal(srgb8_to_lab(rgb)[65_000:], srgb8_to_lab(rgb[65_000:]))


def test_every_code_comes_back() -> None:
    steps = np.arange(0, 256, 5, dtype=np.uint8)
    rgb = np.stack(np.meshgrid(steps, steps, steps), axis=-1)
    assert np.array_equal(lab_to_srgb8(srgb8_to_lab(rgb)), rgb)


def test_neutral_codes_are_neutral() -> None:
    grey = np.repeat(np.arange(256, dtype=np.uint8)[:, np.newaxis], 3, axis=1)
    assert np.abs(srgb8_to_lab(grey, np.float64)[:, 1:]).max() < 1e-3


@given(lab=st.tuples(st.floats(0, 100), st.floats(-120, 120), st.floats(-120, 120)))
@settings(max_examples=200, deadline=None)
def test_xyz_and_back(lab: tuple[float, float, float]) -> None:
    assert xyz_to_lab(lab_to_xyz(lab)) == pytest.approx(lab, abs=1e-6)


def test_clipping_is_flagged() -> None:
    assert in_srgb(hex_to_lab("#ff0000"))
    assert not in_srgb((65, 60, 78))
    assert lab_to_hex((65, 60, 78)) == "#ff6700"
    assert in_srgb(np.array([[50, 0, 0], [50, -66, 36]])).tolist() == [True, False]
    steps = np.arange(0, 256, 17, dtype=np.uint8)
    rgb = np.stack(np.meshgrid(steps, steps, steps), axis=-1)
    assert in_srgb(srgb8_to_lab(rgb)).all()


# W3C, Web Content Accessibility Guidelines 2.2: white on black is 21:1, and #767676 on white is
# the darkest-known pair just above the guideline's 4.5:1.
def test_contrast_ratio_of_the_guideline() -> None:
    white = hex_to_lab("#fff")
    assert contrast_ratio(white, hex_to_lab("#000")) == pytest.approx(21, abs=0.001)
    assert contrast_ratio(white, hex_to_lab("#767676")) == pytest.approx(4.54, abs=0.005)
    assert contrast_ratio(hex_to_lab("#777777"), white) == pytest.approx(4.48, abs=0.005)
    assert contrast_ratio(white, white) == 1


def test_relative_luminance_is_y() -> None:
    labs = [(0.0, 0.0, 0.0), (5.0, 0.0, 0.0), (50.0, 60.0, -20.0), (100.0, 0.0, 0.0)]
    for lab in labs:
        assert relative_luminance(lab) == pytest.approx(float(lab_to_xyz(lab)[1]), abs=1e-9)


# All ways of writing one colour. XYZ and xyY from CIE 15:2018's formulas by way of colour-science.
@pytest.mark.parametrize(
    "text",
    [
        "lab(54 -36 -14)",
        "LAB( 54, -36 ,-14 )",
        "lab(54 \N{MINUS SIGN}36 \N{MINUS SIGN}14 D50)",
        "lch(54 38.6264158 201.2505055)",
        "lch(54 38.6264158 -158.7494945)",
        "xyz(14.47302 21.97456 25.20445)",
        "xyz(0.1447302 0.2197456 0.2520445 d50)",
        "xyY(0.2347533 0.3564288 21.97456)",
        "xyy(0.2347533, 0.3564288, 0.2197456)",
        "Lagoon",
        "  lagOON ",
    ],
)
def test_one_colour_written_in_many_ways(text: str) -> None:
    assert parse_colour(text, STOCK) == pytest.approx((54, -36, -14), abs=0.01)


@pytest.mark.parametrize("text", ["#f60", "#FF6600", "rgb(255 102 0)", "rgb(255, 102, 0) D65"])
def test_one_screen_colour_written_in_many_ways(text: str) -> None:
    assert parse_colour(text) == hex_to_lab("#ff6600")


def test_hex_agrees_with_colormath() -> None:
    # The only conversion in which colormath adapts on its own: from RGB.
    from colormath.color_conversions import convert_color
    from colormath.color_objects import LabColor, sRGBColor

    for text in ("#ff6600", "#123456", "#6023aa"):
        source = sRGBColor.new_from_rgb_hex(text)
        theirs = convert_color(source, LabColor, target_illuminant="d50").get_value_tuple()
        assert hex_to_lab(text) == pytest.approx(theirs, abs=0.02)


@pytest.mark.parametrize("illuminant", ILLUMINANTS)
def test_a_white_stays_white_under_every_illuminant(illuminant: str) -> None:
    assert parse_colour(f"lab(100 0 0 {illuminant})") == pytest.approx((100, 0, 0), abs=0.001)
    assert parse_colour(f"lch(50 0 0) {illuminant}") == pytest.approx((50, 0, 0), abs=0.001)


@pytest.mark.parametrize("illuminant", ["A", "C", "D55", "D65", "D75", "E"])
def test_illuminants_are_adapted_as_colour_science_does(illuminant: str) -> None:
    # Bradford from the named white; whites of ASTM E308 (colour-science keeps CIE 15's
    # chromaticities, which differ in the fourth digit).
    chromaticity = colour.CCS_ILLUMINANTS["CIE 1931 2 Degree Standard Observer"][illuminant]
    source = colour.xy_to_XYZ(chromaticity)
    xyz = colour.Lab_to_XYZ([52, 41, -33], chromaticity)
    adapted = colour.chromatic_adaptation(
        xyz, source, np.array(D50_WHITE), method="Von Kries", transform="Bradford"
    )
    expected = colour.XYZ_to_Lab(adapted, colour.XYZ_to_xy(np.array(D50_WHITE)))
    found = parse_colour(f"lab(52 41 -33 {illuminant})")
    assert found == pytest.approx(expected, abs=0.05)
    assert delta_e_2000_single(found, (52, 41, -33)) > 0.3


def test_illuminant_d65_changes_the_colour_of_srgb_red_back() -> None:
    # sRGB red's own XYZ and Lab under D65 (IEC 61966-2-1) name the same colour as its hex.
    red = hex_to_lab("#ff0000")
    assert parse_colour("xyz(41.24 21.26 1.93 D65)") == pytest.approx(red, abs=0.03)
    assert parse_colour("lab(53.2408 80.0925 67.2032 D65)") == pytest.approx(red, abs=0.03)
    assert parse_colour("xyY(0.64 0.33 0.2126 D65)") == pytest.approx(red, abs=0.03)


WAYS = (
    "Write #rrggbb, rgb(r g b), lab(L a b), lch(L C h), xyz(X Y Z) or xyY(x y Y), with an "
    "illuminant such as D65 inside the brackets where it is not D50"
)
ADVICE = {
    "": f"The colour is empty. {WAYS}.",
    "#12345": "'#12345' is no hex colour. Write # and three or six digits of 0-9 and a-f, "
    "like #f60 or #ff6600.",
    "ff6600": "'ff6600' names no colour. Did you mean #ff6600?",
    "barn rad": "'barn rad' names no colour. Did you mean Barn red?",
    "zebra": f"'zebra' names no colour. {WAYS}, or the name of a stock ink.",
    "lab(50 20)": f"'lab(50 20)' needs three numbers and at most one illuminant. {WAYS}.",
    "lab(5 2 1 D66)": "'D66' in 'lab(5 2 1 D66)' is no illuminant. Did you mean D65?",
    "lab(5 2 1 moon)": "'moon' in 'lab(5 2 1 moon)' is no illuminant. Known are A, C, D50, D55, "
    "D65, D75, E, F2, F7, F11 (2 degrees).",
    "lab(150 20 10)": "L* in 'lab(150 20 10)' is 150, outside 0 to 100. Correct it.",
    "rgb(256 0 0)": "red in 'rgb(256 0 0)' is 256, outside 0 to 255. Correct it.",
    "rgb(1 2 3 D50)": "'rgb(1 2 3 D50)' puts sRGB under D50, but its white is D65 by definition. "
    "Leave the illuminant out.",
    "xyz(2 60 5)": "2 60 5 would be L* 82, a* -284, b* 90, which no surface can show. Check the "
    "numbers and their order.",
}


@pytest.mark.parametrize("text", ADVICE)
def test_what_is_no_colour_is_explained(text: str) -> None:
    with pytest.raises(ColourTextError) as caught:
        parse_colour(text, STOCK)
    assert str(caught.value) == ADVICE[text]


@given(text=st.one_of(st.text(max_size=40), st.text("labxyzrgc#0123456789.,()- D", max_size=30)))
@settings(max_examples=300, deadline=None)
def test_any_text_is_a_colour_or_one_line_of_advice(text: str) -> None:
    try:
        lab = parse_colour(text, STOCK)
    except ColourTextError as error:
        said = str(error)
    else:
        said = f"L* {lab[0]}"
    assert said
    assert "\n" not in said


WRITTEN = st.builds(
    "{}{}{}".format,
    st.sampled_from(["rgb(", "lab(", "LCH (", "xyz(", "xyY(", "#", "# ", "", "barn "]),
    st.lists(
        st.one_of(
            st.floats().map(repr),
            st.integers(-300, 300).map(str),
            st.sampled_from(
                ["D65", "d50", "F2", "1e400", "-0", ".", "red", ",", "ffffff", "\u2212 3"]
            ),
        ),
        max_size=5,
    ).map(" ".join),
    st.sampled_from([")", ") D65", "", ")) ", "("]),
)


@settings(max_examples=1_000)
@given(WRITTEN | st.text(max_size=30))
def test_any_words_are_a_colour_that_can_exist_or_none(text: str) -> None:
    with contextlib.suppress(ColourTextError):
        lightness, a, b = parse_colour(text, STOCK)
        assert -0.01 <= lightness <= 100.01
        assert abs(a) < 500
        assert abs(b) < 500
