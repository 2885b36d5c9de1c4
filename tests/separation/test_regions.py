"""Every pixel one ink, at printed size, with the edges where the art has them.

The truth is the drawing itself, rendered without anti-aliasing at the output's resolution.
"""

from __future__ import annotations

import io

import cv2
import numpy as np
import pytest
import resvg_py
from numpy.typing import NDArray
from PIL import Image

from artcheck.colour.spaces import hex_to_lab
from artcheck.domain.artwork import Cutout
from artcheck.domain.base import Lab
from artcheck.domain.separation import NO_INK, InkPlan, Loss, Separated, SpotInk
from artcheck.errors import UsageError
from artcheck.separation.regions import separate_regions
from tests.art import drawn, on_white, svg

RED, WHITE, PINK, BLACK, BLUE = "#c81e28", "#ffffff", "#e48f94", "#101010", "#1e3cc8"
LILAC = "#d898b0"
"""Near the middle of red and white, and not quite it."""
FACTOR = 3
"""Output pixels per pixel of the art."""

SHAPES = (
    f'<rect x="10" y="10" width="280" height="180" rx="30" fill="{RED}"/>'
    f'<circle cx="95.3" cy="100.6" r="61.4" fill="{WHITE}"/>'
    f'<path d="M180 40 L270 95 L190 160 Z" fill="{BLUE}"/>'
)


def plan_of(*codes: str) -> InkPlan:
    inks = tuple(SpotInk(name=c, hex=c, lab=hex_to_lab(c), stock=False) for c in codes)
    loss = Loss(mean_delta_e_2000=0, p95_delta_e_2000=0, worst_region_delta_e_2000=0)
    return InkPlan(inks=inks, loss=loss, locked=())


def cutout_of(image: Image.Image) -> Cutout:
    rgba = np.asarray(image.convert("RGBA"))
    return Cutout(
        rgb=rgba[..., :3].copy(),
        coverage=rgba[..., 3].copy(),
        box=(0, 0, image.height, image.width),
    )


def jpeg(image: Image.Image, quality: int = 60) -> Image.Image:
    page = Image.new("RGB", image.size, RED)
    page.paste(image, mask=image.getchannel("A"))
    out = io.BytesIO()
    page.save(out, "JPEG", quality=quality)
    return Image.open(out).convert("RGB")


def separated(
    image: Image.Image,
    *codes: str,
    knock_out_within: float = 0.0,
    garment_lab: Lab | None = None,
) -> Separated:
    return separate_regions(
        cutout_of(image),
        plan_of(*codes),
        ppi=100.0 * FACTOR,
        width_in=image.width / 100,
        garment_lab=garment_lab,
        knock_out_within=knock_out_within,
    )


def truth(body: str, width: int, height: int, *codes: str) -> NDArray[np.uint8]:
    """Labels of the drawing at the output's resolution."""
    page = svg(body, width, height).replace(
        f'width="{width}" height="{height}"',
        f'width="{width * FACTOR}" height="{height * FACTOR}"',
        1,
    )
    png = resvg_py.svg_to_bytes(svg_string=page, shape_rendering="crisp_edges")
    rgba = np.asarray(Image.open(io.BytesIO(bytes(png))).convert("RGBA"), np.int32)
    colours = np.array([[int(c[i : i + 2], 16) for i in (1, 3, 5)] for c in codes])
    apart = np.abs(rgba[..., None, :3] - colours).sum(axis=-1)
    labels = apart.argmin(axis=-1).astype(np.uint8)
    labels[rgba[..., 3] < 128] = NO_INK
    return np.asarray(labels, np.uint8)


def farthest_px(got: NDArray[np.bool_], wanted: NDArray[np.bool_]) -> float:
    """Farthest distance of any wrong pixel from the true edge, in pixels of the art."""
    wrong = got != wanted
    if not wrong.any():
        return 0.0
    inner = cv2.distanceTransform(wanted.astype(np.uint8), cv2.DIST_L2, 5)
    outer = cv2.distanceTransform(1 - wanted.astype(np.uint8), cv2.DIST_L2, 5)
    return float(np.maximum(inner, outer)[wrong].max()) / FACTOR


def test_edges_stay_within_half_a_pixel_of_the_art() -> None:
    codes = RED, WHITE, BLUE
    got = separated(drawn(SHAPES, 300, 200), *codes).labels
    wanted = truth(SHAPES, 300, 200, *codes)
    assert got.shape == (600, 900)
    for label in (0, 1, 2, NO_INK):
        assert farthest_px(got == label, wanted == label) <= 0.5


def test_a_blend_of_two_inks_is_not_taken_for_a_third() -> None:
    """Pink is just between red and white: it prints where it fills an area, not along the rim."""
    body = SHAPES + f'<rect x="250" y="20" width="25" height="25" fill="{PINK}"/>'
    codes = RED, WHITE, BLUE, PINK
    got = separated(drawn(body, 300, 200), *codes).labels
    wanted = truth(body, 300, 200, *codes)
    assert farthest_px(got == 3, wanted == 3) <= 0.5
    assert not (
        (got == 3) & (cv2.dilate((wanted == 3).astype(np.uint8), np.ones((9, 9))) == 0)
    ).any()


def test_bled_colour_is_no_rim_of_an_ink_as_light() -> None:
    hair, skin, lash = "#2d242d", "#966661", "#372128"  # hair and lash: light 39.7 and 40.4
    art = (
        f'<rect width="300" height="200" fill="{hair}"/><circle cx="150" cy="100" r="70"'
        f' fill="{skin}"/><circle cx="150" cy="90" r="16" fill="{lash}"/>'
    )
    got = separated(jpeg(drawn(art, 300, 200)), hair, skin, lash).labels == 2
    wanted = truth(art, 300, 200, hair, skin, lash) == 2
    assert (got & wanted).sum() / (got | wanted).sum() >= 0.85


def test_jpeg_halos_print_in_no_ink_of_their_own() -> None:
    image = jpeg(drawn(SHAPES, 300, 200))
    codes = RED, WHITE, BLUE, PINK, BLACK
    got = separated(image, *codes).labels
    wanted = truth(f'<rect width="300" height="200" fill="{RED}"/>' + SHAPES, 300, 200, *codes)
    assert not (got >= 3).any()
    for label in range(3):
        mine, theirs = got == label, wanted == label
        assert (mine & theirs).sum() / (mine | theirs).sum() >= 0.98


def test_the_outermost_rim_is_mixed_with_the_paper_beyond_the_box() -> None:
    """A box of ink on white paper, half a pixel off the grid, and an ink as pale as its rim."""
    page = np.full((60, 80, 3), 255, np.uint8)
    page[10:50, 10:70] = (29, 108, 79)
    page[10:50, [10, 69]] = (142, 182, 167)
    coverage = np.where(page[..., 0] == 255, 0, 255).astype(np.uint8)
    coverage[10:50, [10, 69]] = 128
    art = Cutout(rgb=page, coverage=coverage, box=(10, 10, 50, 70), paper_hex=WHITE)
    plan = plan_of("#1d6c4f", "#8eb6a7")
    got = separate_regions(art, plan, ppi=300, width_in=0.6, garment_lab=None)
    assert set(np.unique(got.labels)) == {0, NO_INK}
    assert (got.labels[:, 3:-3] == 0).all()


def test_a_line_thinner_than_two_pixels_keeps_its_ink() -> None:
    body = (
        f'<rect width="300" height="200" fill="{WHITE}"/>'
        f'<path d="M20 10 L280 35" stroke="{BLACK}" stroke-width="1.6"/>'
        f'<circle cx="150" cy="115" r="70" fill="none" stroke="{RED}" stroke-width="1.4"/>'
    )
    codes = WHITE, BLACK, RED
    got = separated(drawn(body, 300, 200), *codes).labels
    wanted = truth(body, 300, 200, *codes)
    for label in (1, 2):
        assert farthest_px(got == label, wanted == label) <= 0.5


def test_a_line_that_straddles_two_rows_is_its_own_ink_and_not_the_blend() -> None:
    body = (
        f'<rect width="300" height="200" fill="{WHITE}"/>'
        f'<rect x="20" y="59.5" width="250" height="1" fill="{RED}"/>'
        f'<rect x="20" y="120" width="40" height="40" fill="{RED}"/>'
        f'<rect x="120" y="120" width="40" height="40" fill="{LILAC}"/>'
    )
    got = separated(drawn(body, 300, 200), WHITE, RED, LILAC).labels
    assert not (got[:300] == 2).any()
    assert (got[180, 60:810] == 1).mean() > 0.95


def test_the_garment_shows_where_its_colour_is_left_to_it() -> None:
    body = SHAPES.replace(BLUE, "#121212")
    image = drawn(body, 300, 200)
    bare = separated(image, RED, WHITE, knock_out_within=5, garment_lab=hex_to_lab(BLACK)).labels
    printed = separated(image, RED, WHITE, BLACK).labels
    assert ((bare == NO_INK) == ((printed == 2) | (printed == NO_INK))).mean() > 0.999


def test_two_runs_give_the_same() -> None:
    image = jpeg(drawn(SHAPES, 300, 200))
    first, second = (separated(image, RED, WHITE, BLUE) for _ in range(2))
    assert first.labels.tobytes() == second.labels.tobytes()


def test_a_smaller_print_than_the_art_is_a_mean_and_not_a_choice_of_pixels() -> None:
    image = drawn(SHAPES, 1200, 800).resize((1200, 800))
    got = separate_regions(
        cutout_of(image),
        plan_of(RED, WHITE, BLUE),
        ppi=100,
        width_in=3,
        garment_lab=None,
    )
    assert got.labels.shape == (200, 300)
    assert got.height_in == pytest.approx(2.0)


def test_art_without_ink_is_refused() -> None:
    with pytest.raises(UsageError, match="no ink"):
        separated(Image.new("RGBA", (20, 20)), RED)


def test_a_print_without_a_pixel_is_refused() -> None:
    with pytest.raises(UsageError, match="no pixel"):
        separate_regions(
            cutout_of(drawn(SHAPES, 300, 200)),
            plan_of(RED),
            ppi=300,
            width_in=0.001,
            garment_lab=None,
        )


def test_guessed_coverage_inside_the_art_leaves_no_ring_of_bare_cloth() -> None:
    """Where paper was removed, ringing beside strong edges is read as partial coverage."""
    body = (
        f'<circle cx="150" cy="100" r="90" fill="{RED}"/>'
        f'<circle cx="150" cy="100" r="30" fill="{BLUE}"/>'
    )
    image = on_white(drawn(body, 300, 200))
    coverage = np.asarray(drawn(body, 300, 200))[..., 3].copy()
    cv2.circle(coverage, (150, 100), 33, 55, thickness=3)
    cutout = Cutout(
        rgb=np.asarray(image).copy(), coverage=coverage, box=(0, 0, 200, 300), paper_hex=WHITE
    )
    got = separate_regions(cutout, plan_of(RED, BLUE), ppi=300, width_in=3, garment_lab=None).labels
    wanted = truth(body, 300, 200, RED, BLUE)
    for label in (0, 1, NO_INK):
        assert farthest_px(got == label, wanted == label) <= 0.5
