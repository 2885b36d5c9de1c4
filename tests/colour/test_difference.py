"""CIEDE2000 against the paper's pairs and against colour-science."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import colour
import numpy as np
import numpy.typing as npt
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from artcheck.colour.difference import delta_e_2000, delta_e_2000_single

Kernel = Callable[[npt.NDArray[np.float64], npt.NDArray[np.float64]], npt.NDArray[np.floating]]

# Sharma, Wu, Dalal, "The CIEDE2000 color-difference formula: implementation notes, supplementary
# test data, and mathematical observations", Color Research and Application 30 (2005), table 1.
PAIRS = np.loadtxt(
    Path(__file__).parent.parent / "data" / "colour" / "ciede2000_sharma2005.csv", delimiter=","
)

LAB = st.tuples(st.floats(0, 100), st.floats(-128, 128), st.floats(-128, 128))


def in_float64(
    one: npt.NDArray[np.float64], two: npt.NDArray[np.float64]
) -> npt.NDArray[np.floating]:
    return delta_e_2000(one, two)


def in_float32(
    one: npt.NDArray[np.float64], two: npt.NDArray[np.float64]
) -> npt.NDArray[np.floating]:
    return delta_e_2000(one.astype(np.float32), two.astype(np.float32))


def one_by_one(
    one: npt.NDArray[np.float64], two: npt.NDArray[np.float64]
) -> npt.NDArray[np.floating]:
    pairs = zip(one.tolist(), two.tolist(), strict=True)
    return np.array([delta_e_2000_single(tuple(a), tuple(b)) for a, b in pairs])


KERNELS = pytest.mark.parametrize("kernel", [in_float64, in_float32, one_by_one])


@KERNELS
@pytest.mark.parametrize("order", [(0, 3), (3, 0)], ids=["as printed", "swapped"])
def test_published_pairs(kernel: Kernel, order: tuple[int, int]) -> None:
    first, second = order
    found = kernel(PAIRS[:, first : first + 3], PAIRS[:, second : second + 3])
    assert len(PAIRS) == 34
    assert found == pytest.approx(PAIRS[:, 6], abs=1e-4)


@KERNELS
@pytest.mark.parametrize(("number", "expected"), [(10, 7.1792), (14, 4.8045)])
def test_antipodal_hues_are_not_split_by_rounding(
    kernel: Kernel, number: int, expected: float
) -> None:
    # The hues of pairs 10 and 14 are exactly 180 degrees apart, where the mean hue jumps; atan2
    # may put them a rounding error to either side. The paper counts "at most 180" as near, and
    # neighbours beyond (pairs 11 and 15) as far: 7.2195 and 4.7461.
    pair = PAIRS[number - 1 : number]
    assert kernel(pair[:, :3], pair[:, 3:6]) == pytest.approx([expected], abs=1e-4)
    beyond = PAIRS[number : number + 1]
    assert abs(float(kernel(beyond[:, :3], beyond[:, 3:6])[0]) - expected) > 0.03


@KERNELS
def test_agrees_with_colour_science(kernel: Kernel) -> None:
    rng = np.random.default_rng(2005)
    low, high = [0, -128, -128], [100, 128, 128]
    one, two = rng.uniform(low, high, (20_000, 3)), rng.uniform(low, high, (20_000, 3))
    tolerance = 1e-3 if kernel is in_float32 else 1e-9
    expected = colour.delta_E(one, two, method="CIE 2000")
    assert kernel(one, two) == pytest.approx(expected, abs=tolerance)


@KERNELS
def test_agrees_with_colour_science_on_near_colours(kernel: Kernel) -> None:
    # A search ends among differences below 1, where float32 has the least to spare.
    rng = np.random.default_rng(7)
    one = rng.uniform([5, -90, -90], [95, 90, 90], (20_000, 3))
    two = one + rng.normal(0, 0.5, one.shape)
    tolerance = 1e-3 if kernel is in_float32 else 1e-9
    expected = colour.delta_E(one, two, method="CIE 2000")
    assert kernel(one, two) == pytest.approx(expected, abs=tolerance)


def test_shapes_broadcast() -> None:
    grid = np.zeros((4, 5, 3))
    assert delta_e_2000(grid, [50, 0, 0]).shape == (4, 5)
    assert delta_e_2000(grid[:, np.newaxis], grid[np.newaxis]).shape == (4, 4, 5)
    assert delta_e_2000([50.0, 0, 0], [50.0, 0, 0]).shape == ()


def test_types_are_kept() -> None:
    assert delta_e_2000(np.zeros(3, np.float32), np.ones(3, np.float32)).dtype == np.float32
    assert delta_e_2000(np.zeros(3), np.ones(3)).dtype == np.float64
    assert delta_e_2000([0, 0, 0], [1, 1, 1]).dtype == np.float64


@given(one=LAB, two=LAB)
@settings(max_examples=300, deadline=None)
def test_symmetric_and_zero_only_for_itself(
    one: tuple[float, float, float], two: tuple[float, float, float]
) -> None:
    forth, back = delta_e_2000_single(one, two), delta_e_2000_single(two, one)
    assert forth == pytest.approx(back, abs=1e-9)
    assert forth == pytest.approx(float(delta_e_2000(one, two)), abs=1e-9)
    assert delta_e_2000_single(one, one) == 0
