import cv2
import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.typing import NDArray

from artcheck.imaging.components import Pieces, outer_boxes, pieces_and_holes


def blobs(seed: int, smooth: float, level: float) -> NDArray[np.uint8]:
    noise = np.random.default_rng(seed).normal(size=(40, 50)).astype(np.float32)
    return (cv2.GaussianBlur(noise, (0, 0), smooth) > level).astype(np.uint8)


def as_set(found: Pieces) -> list[tuple[int, ...]]:
    return sorted(tuple(int(v) for v in box) for box in found.boxes)


def labelled(mask: NDArray[np.uint8], connectivity: int) -> list[tuple[int, ...]]:
    stats = cv2.connectedComponentsWithStats(mask, connectivity=connectivity)[2][1:]
    return sorted((int(t), int(x), int(t + h), int(x + w)) for x, t, w, h, _ in stats)


@given(st.integers(0, 10_000), st.floats(0.4, 2), st.floats(-0.1, 0.3))
@settings(max_examples=60, deadline=None)
def test_pieces_are_those_of_labelling_every_pixel(seed: int, smooth: float, level: float) -> None:
    mask = blobs(seed, smooth, level)
    pieces, holes = pieces_and_holes(mask)
    assert as_set(pieces) == labelled(mask, 8)
    ground = cv2.copyMakeBorder(1 - mask, 1, 1, 1, 1, cv2.BORDER_CONSTANT, value=1)
    cv2.floodFill(ground, None, (0, 0), 0, flags=4)
    assert as_set(holes) == labelled(np.asarray(ground, np.uint8)[1:-1, 1:-1], 4)


@given(st.integers(0, 10_000), st.floats(0.4, 2), st.floats(-0.1, 0.3))
@settings(max_examples=60, deadline=None)
def test_outer_boxes_are_those_of_the_mask_with_its_holes_filled(
    seed: int, smooth: float, level: float
) -> None:
    mask = blobs(seed, smooth, level)
    outside = cv2.copyMakeBorder(1 - mask, 1, 1, 1, 1, cv2.BORDER_CONSTANT, value=1)
    cv2.floodFill(outside, None, (0, 0), 2, flags=4)
    filled = (outside[1:-1, 1:-1] != 2).astype(np.uint8)
    found = sorted(tuple(int(v) for v in box) for box in outer_boxes(mask))
    assert found == labelled(filled, 8)


def test_areas_by_counting() -> None:
    mask = np.zeros((40, 60), np.uint8)
    mask[5:25, 10:40] = 1
    mask[10:14, 20:26] = 0
    mask[30, 50] = 1
    mask[33, 5:30] = 1  # one pixel wide
    pieces, holes = pieces_and_holes(mask)
    assert sorted(pieces.areas) == [1, 25, 20 * 30 - 24]
    assert list(holes.areas) == [24]
    assert list(holes.boxes[0]) == [10, 20, 14, 26]


@given(st.integers(0, 10_000))
@settings(max_examples=30, deadline=None)
def test_areas_of_pieces_and_holes_add_up(seed: int) -> None:
    mask = blobs(seed, 1.5, 0.2)
    pieces, _ = pieces_and_holes(mask)
    # An outline may cut the inner corner of a hole: a pixel or two of it.
    assert abs(int(pieces.areas.sum()) - int(mask.sum())) <= 0.03 * mask.sum() + 2


def test_nothing() -> None:
    pieces, holes = pieces_and_holes(np.zeros((8, 8), np.uint8))
    assert pieces.areas.size == 0
    assert holes.areas.size == 0
