"""The art on its garment, decoded by Pillow and held against Pillow's own compositing."""

from __future__ import annotations

import base64
import io

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from numpy.typing import NDArray
from PIL import Image

from artcheck.domain.artwork import Cutout
from artcheck.domain.base import Box
from artcheck.report.pictures import (
    PNG_AT_MOST_BYTES,
    UNKNOWN_GARMENT_HEX,
    Picture,
    picture_on,
    place_in,
)
from tests.art import noise, two_inks

NAVY = "#232b4f"
NAVY_RGB = (0x23, 0x2B, 0x4F)


def cutout_of(
    rgb: NDArray[np.uint8],
    coverage: NDArray[np.uint8] | None = None,
    box: Box | None = None,
    paper_hex: str | None = None,
) -> Cutout:
    height, width = rgb.shape[:2]
    if coverage is None:
        coverage = np.full((height, width), 255, np.uint8)
    return Cutout(rgb=rgb, coverage=coverage, box=box or (0, 0, height, width), paper_hex=paper_hex)


def flat(colour: tuple[int, int, int], height: int = 8, width: int = 12) -> NDArray[np.uint8]:
    return np.full((height, width, 3), colour, np.uint8)


def seen(picture: Picture) -> NDArray[np.uint8]:
    return np.asarray(Image.open(io.BytesIO(picture.data)).convert("RGB"))


def test_opaque_art_keeps_its_colours() -> None:
    assert np.array_equal(
        seen(picture_on(cutout_of(flat((200, 30, 40))), NAVY)), flat((200, 30, 40))
    )


def test_open_places_show_the_garment() -> None:
    nothing = np.zeros((8, 12), np.uint8)
    picture = picture_on(cutout_of(flat((200, 30, 40)), nothing), NAVY)
    assert np.array_equal(seen(picture), flat(NAVY_RGB))


def test_unknown_garment_is_neutral_grey() -> None:
    nothing = np.zeros((8, 12), np.uint8)
    (grey,) = set(seen(picture_on(cutout_of(flat((0, 0, 0)), nothing), None)).ravel().tolist())
    assert f"#{grey:02x}{grey:02x}{grey:02x}" == UNKNOWN_GARMENT_HEX


def test_transparency_composes_as_pillow_does() -> None:
    art = two_inks()
    rgba = np.asarray(art)
    expected = Image.new("RGBA", art.size, NAVY)
    expected.alpha_composite(art)
    found = seen(picture_on(cutout_of(rgba[..., :3].copy(), rgba[..., 3].copy()), NAVY))
    difference = found.astype(int) - np.asarray(expected.convert("RGB")).astype(int)
    assert np.abs(difference).max() <= 1


@pytest.mark.parametrize("covered", [0, 64, 128, 200, 255])
def test_rim_of_removed_paper_shows_garment_instead_of_paper(covered: int) -> None:
    ink, paper, share = np.array((200, 30, 40)), np.array((255, 255, 255)), covered / 255
    rim = np.rint(share * ink + (1 - share) * paper).astype(np.uint8)
    cutout = cutout_of(
        flat(tuple(rim.tolist())), np.full((8, 12), covered, np.uint8), paper_hex="#ffffff"
    )
    expected = share * ink + (1 - share) * np.array(NAVY_RGB)
    assert np.abs(seen(picture_on(cutout, NAVY)) - expected).max() <= 2


def test_shows_the_printed_box_only() -> None:
    rgb = flat((255, 255, 255), 20, 30)
    rgb[5:15, 10:25] = (200, 30, 40)
    picture = picture_on(cutout_of(rgb, box=(5, 10, 15, 25)), NAVY)
    assert picture.frame == (5, 10, 15, 25)
    assert (picture.width_px, picture.height_px) == (15, 10)
    assert np.array_equal(seen(picture), flat((200, 30, 40), 10, 15))


def test_large_art_is_made_smaller_and_small_art_is_not_enlarged() -> None:
    large = picture_on(cutout_of(flat((1, 2, 3), 300, 900)), NAVY, longest_px=300)
    assert (large.width_px, large.height_px) == (300, 100)
    small = picture_on(cutout_of(flat((1, 2, 3), 30, 90)), NAVY, longest_px=300)
    assert (small.width_px, small.height_px) == (90, 30)


def test_thinnest_art_keeps_a_pixel() -> None:
    picture = picture_on(cutout_of(flat((1, 2, 3), 1, 4000)), NAVY, longest_px=100)
    assert (picture.width_px, picture.height_px) == (100, 1)


def test_averages_when_made_smaller() -> None:
    stripes = flat((0, 0, 0), 200, 200)
    stripes[:, ::2] = 255
    found = seen(picture_on(cutout_of(stripes), NAVY, longest_px=100))
    assert np.abs(found.astype(int) - 127.5).max() <= 1


def test_colour_under_full_transparency_does_not_bleed_when_made_smaller() -> None:
    rgb = flat((200, 30, 40), 400, 400)
    rgb[:, 200:] = (0, 255, 0)
    coverage = np.zeros((400, 400), np.uint8)
    coverage[:, :201] = 255  # one column of the green is inked, the rest of it open
    found = seen(picture_on(cutout_of(rgb, coverage), "#000000", longest_px=40))
    assert found[..., 1].max() < 60


def test_flat_art_is_png_and_heavy_art_jpeg() -> None:
    assert picture_on(cutout_of(flat((1, 2, 3))), NAVY).mime == "image/png"
    heavy = picture_on(cutout_of(noise((700, 700, 3))), NAVY)
    assert heavy.mime == "image/jpeg"
    assert Image.open(io.BytesIO(heavy.data)).format == "JPEG"
    assert len(heavy.data) < 700 * 700 * 3 > PNG_AT_MOST_BYTES


def test_address_holds_the_file() -> None:
    picture = picture_on(cutout_of(flat((1, 2, 3))), NAVY)
    head, _, body = picture.uri.partition(",")
    assert head == "data:image/png;base64"
    assert base64.b64decode(body) == picture.data


def test_same_art_same_bytes() -> None:
    cutout = cutout_of(noise((300, 300, 3)))
    assert picture_on(cutout, NAVY) == picture_on(cutout, NAVY)


class TestPlaces:
    FRAME = (100, 200, 300, 600)

    def test_in_percent_of_the_frame(self) -> None:
        place = place_in(self.FRAME, (150, 300, 200, 400))
        assert place is not None
        assert (place.left, place.top, place.width, place.height) == (25, 25, 25, 25)

    def test_cut_at_the_frame(self) -> None:
        place = place_in(self.FRAME, (0, 0, 200, 400))
        assert place is not None
        assert (place.left, place.top, place.width, place.height) == (0, 0, 50, 50)

    @pytest.mark.parametrize("where", [(0, 0, 100, 200), (300, 200, 310, 600), (0, 0, 50, 700)])
    def test_none_outside(self, where: Box) -> None:
        assert place_in(self.FRAME, where) is None

    @given(st.tuples(*[st.integers(0, 700)] * 4))
    def test_never_beyond_the_picture(self, where: Box) -> None:
        place = place_in(self.FRAME, where)
        if place is not None:
            assert place.left >= 0 <= place.top
            assert place.width > 0 < place.height
            assert place.left + place.width <= 100.002
            assert place.top + place.height <= 100.002
