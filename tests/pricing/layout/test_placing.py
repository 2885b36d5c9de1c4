"""The check that every layout passes catches what is wrong."""

from __future__ import annotations

import math

import pytest

from artcheck.pricing.layout.placing import Box, LayoutFault, check_boxes

SHEET = (10.0, 8.0)


def test_a_good_layout_passes() -> None:
    boxes = [Box(0.5, 0.5, 4, 3), Box(0.5, 4.75, 4, 3), Box(3.75, 0.5, 9, 3.75)]
    check_boxes(boxes, SHEET, gutter_in=0.25, margin_in=0.5)
    check_boxes(boxes, (10.0, math.inf), gutter_in=0.25, margin_in=0.5)


@pytest.mark.parametrize(
    ("boxes", "words"),
    [
        ([Box(0.4, 0.5, 4, 3)], "hangs over"),
        ([Box(0.5, 5.6, 4, 3)], "hangs over"),
        ([Box(4.6, 0.5, 4, 3)], "hangs over"),
        ([Box(0.5, 0.5, 4, 3), Box(1, 1, 1, 1)], "nearer"),
        ([Box(0.5, 0.5, 4, 3), Box(0.5, 4.7, 4, 3)], "nearer"),
        ([Box(3.7, 0.5, 4, 3), Box(0.5, 0.5, 4, 3)], "nearer"),
        ([Box(0.5, 0.5, 1, 6), Box(1, 5, 1, 1), Box(3, 1.2, 1, 1)], "nearer"),
    ],
)
def test_a_bad_one_does_not(boxes: list[Box], words: str) -> None:
    with pytest.raises(LayoutFault, match=words):
        check_boxes(boxes, SHEET, gutter_in=0.25, margin_in=0.5)


def test_touching_is_allowed_without_a_gutter() -> None:
    check_boxes([Box(0, 0, 5, 8), Box(0, 5, 5, 8)], SHEET, gutter_in=0, margin_in=0)
