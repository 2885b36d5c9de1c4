"""Fine detail at printed size: taken out, thickened, opened or told, each with its place.

Sizes are drawn in pixels of a 600 ppi plate: 8.3 pixels are a point.
"""

from __future__ import annotations

import cv2
import numpy as np
import pytest
from numpy.typing import NDArray

from artcheck.domain.base import Box
from artcheck.domain.separation import NO_INK, Change
from artcheck.separation.cleaning import Holds, cleaned
from tests.separation.drawings import ink, shapes

PPI = 600.0
HOLDS = Holds(speck_pt=1.5, line_pt=1.0, gap_pt=2.0, open_pt=1.0)
INKS = (ink("Poppy"), ink("Coal"))


def page(height: int = 300, width: int = 400) -> NDArray[np.uint8]:
    return np.full((height, width), NO_INK, np.uint8)


def clean(
    labels: NDArray[np.uint8], holds: Holds = HOLDS
) -> tuple[NDArray[np.uint8], tuple[Change, ...]]:
    before = labels.copy()
    got, changes = cleaned(labels, INKS, holds, PPI)
    assert np.array_equal(labels, before)
    return got, changes


def inside(part: Box, whole: Box | None) -> bool:
    assert whole is not None
    return (
        whole[0] <= part[0] and whole[1] <= part[1] and whole[2] >= part[2] and whole[3] >= part[3]
    )


def thinnest(mask: NDArray[np.bool_], row: int) -> int:
    """Pixels of a mask in one row."""
    return int(mask[row].sum())


def test_specks_are_taken_out_and_larger_dots_stay() -> None:
    labels = page()
    labels[50:58, 60:68] = 0  # 0.96 pt
    labels[50:70, 200:220] = 0  # 2.4 pt
    labels[150:280, 50:350] = 0
    labels[200:208, 100:108] = 1  # a speck on another ink takes that ink's place
    labels[200:230, 300:330] = 1
    got, changes = clean(labels)
    assert (got[45:65, 50:80] == NO_INK).all()
    assert (got[195:215, 95:115] == 0).all()
    assert np.array_equal(got[40:, 190:], labels[40:, 190:])
    assert [c.what for c in changes] == [
        "Dots of Poppy smaller than 1.5 pt taken out",
        "Dots of Coal smaller than 1.5 pt taken out",
    ]
    assert inside((50, 60, 58, 68), changes[0].where)
    assert inside((200, 100, 208, 108), changes[1].where)


def test_an_ink_of_specks_alone_does_not_vanish() -> None:
    labels = page()
    for col in range(40, 360, 20):
        labels[100:106, col : col + 6] = 0
    got, changes = clean(labels)
    assert np.array_equal(got, labels)
    assert [c.what for c in changes] == [
        "All of Poppy is smaller than 1.5 pt and will hardly hold (16 of them)"
    ]


@pytest.mark.parametrize("slope", [0, 40, 100])
def test_thin_lines_are_thickened_about_their_middle(slope: int) -> None:
    labels = page()
    rim = labels.copy()
    cv2.line(rim, (150, 30), (150 + slope, 270), 0, 3)
    labels[:] = rim
    got, changes = clean(labels)
    cosine = np.cos(np.arctan2(slope, 240))
    for row in range(60, 240, 20):
        before, after = labels[row] == 0, got[row] == 0
        assert after.sum() * cosine == pytest.approx(8.3, abs=1.6)
        centre = [np.flatnonzero(line).mean() for line in (before, after)]
        assert centre[0] == pytest.approx(centre[1], abs=1.0)
    (change,) = changes
    assert change.what == "Lines of Poppy thinner than 1 pt thickened"
    assert inside((40, 152, 260, 148 + slope), change.where)


def test_a_thin_line_on_another_ink_is_thickened_into_it() -> None:
    labels = page()
    labels[20:280, 20:380] = 0
    labels[148:152, 60:340] = 1
    got, _ = clean(labels)
    assert (got[:, 200] == 1).sum() in (8, 9, 10)
    assert (got[20:280, 20:380] != NO_INK).all()


def test_letters_too_small_keep_their_shape_and_are_told() -> None:
    """Thickened, their counters would close: that is worse than a thin line."""
    labels = page()
    for col in (60, 90, 120, 150):
        cv2.ellipse(labels, (col, 100), (6, 12), 0, 0, 360, 0, 4)
    labels[88:112, 170:176] = 0  # an i and its dot: the stem is a stroke, the dot is the letter's
    labels[76:82, 170:176] = 0
    got, changes = clean(labels)
    assert np.array_equal(got, labels)
    assert {c.what.split(" (")[0] for c in changes} == {
        "Lines of Poppy thinner than 1 pt may not hold",
        "Dots of Poppy smaller than 1.5 pt, as of letters, will hardly hold",
        "Openings smaller than 1.5 pt will fill in",
    }


def test_wide_shapes_keep_every_pixel() -> None:
    labels = shapes(440, 600, inks=2)
    labels[labels == 3] = 1
    holds = Holds(speck_pt=1.5, line_pt=0.5, gap_pt=0.6, open_pt=0.5)
    got, changes = clean(labels, holds)
    assert np.array_equal(got, labels)
    assert changes == ()


def test_pointed_shapes_change_at_their_points_alone() -> None:
    labels = page(400, 400)
    angles = np.arange(10) * np.pi / 5
    radii = np.where(np.arange(10) % 2 == 0, 180, 80)
    star = np.stack([200 + radii * np.sin(angles), 200 - radii * np.cos(angles)], axis=1)
    cv2.fillPoly(labels, [star.round().astype(np.int32)], 0)
    got, changes = clean(labels)
    assert np.array_equal(got, labels)
    assert changes == ()


def test_narrow_gaps_are_opened_and_wider_ones_told() -> None:
    labels = page()
    labels[40:120, 40:197] = 0
    labels[40:120, 202:360] = 0  # 5 px: 0.6 pt
    labels[180:260, 40:195] = 0
    labels[180:260, 207:360] = 0  # 12 px: 1.4 pt
    got, changes = clean(labels)
    assert (got[80] == NO_INK).sum() - (labels[80] == NO_INK).sum() in (2, 3, 4, 5)
    assert np.array_equal(got[150:], labels[150:])
    assert [c.what for c in changes] == [
        "Gaps narrower than 1 pt opened to it",
        "Gaps narrower than 2 pt may fill in",
    ]
    assert inside((60, 197, 100, 202), changes[0].where)
    assert inside((200, 195, 240, 207), changes[1].where)
    away = np.ones(labels.shape, np.bool_)
    away[30:130, 192:207] = False
    assert np.array_equal(got[away], labels[away])


def test_a_gap_between_lines_that_would_grow_too_thin_is_told_only() -> None:
    labels = page()
    labels[40:260, 140:149] = 0  # 9 px, just wide enough
    labels[40:260, 153:162] = 0
    got, changes = clean(labels)
    assert np.array_equal(got, labels)
    assert [c.what for c in changes] == ["Gaps narrower than 1 pt will fill in"]


def test_cloth_beyond_the_print_is_no_gap() -> None:
    labels = page(100, 100)
    labels[4:96, 4:96] = 0
    _, changes = clean(labels)
    assert changes == ()


def test_where_nothing_is_mended_places_are_told() -> None:
    labels = page()
    labels[40:260, 100:104] = 0
    labels[40:260, 200:300] = 0
    labels[40:260, 305:390] = 0
    holds = Holds(speck_pt=1.5, line_pt=1.0, gap_pt=2.0, open_pt=1.0, mend=False)
    got, changes = clean(labels, holds)
    assert np.array_equal(got, labels)
    assert [c.what for c in changes] == [
        "Lines of Poppy thinner than 1 pt may not hold",
        "Gaps narrower than 1 pt will fill in",
    ]


def test_many_places_are_counted_and_close_ones_are_one() -> None:
    labels = page(1800, 1800)
    labels[:, 0:20] = 0
    for row in range(60, 1790, 350):
        for col in range(60, 1790, 200):
            labels[row : row + 5, col : col + 5] = 0
            labels[row : row + 5, col + 20 : col + 25] = 0
    got, changes = clean(labels)
    assert (got[:, 30:] == NO_INK).all()
    assert len(changes) == 31
    assert changes[0].what == "Dots of Poppy smaller than 1.5 pt taken out (2 of them)"
    assert changes[-1].where is None
    assert "more elsewhere" in changes[-1].what
