"""Bounds: published examples, and never below what exists."""

from __future__ import annotations

from itertools import product

from hypothesis import given
from hypothesis import strategies as st

from artcheck.pricing.layout.bounds import barnes, measures, scales, splits, upper_bound
from artcheck.pricing.layout.canonical import Problem, staircase


def test_barnes_beats_the_area() -> None:
    # 5 x 5 by bars of 3 x 2: area 4; bars of 3 leave at least 1 x 1, as does the area's remainder.
    assert barnes(Problem(5, 5, 3, 2)) == 4
    # 21 x 23 by 5 x 4: the area says 24, so does Barnes, and 23 is the truth (by exact search).
    assert barnes(Problem(21, 23, 5, 4)) == 24
    # 10 x 10 by 4 x 1: bars of 4 leave 2 x 2 or (4 - 2) x (4 - 2): 24, where the area says 25
    # (the classic chessboard-colouring example; from memory).
    assert barnes(Problem(10, 10, 4, 1)) == 24


@given(st.integers(10, 120), st.integers(2, 12), st.integers(2, 12))
def test_scales_keep_to_the_length(length: int, a: int, b: int) -> None:
    fitting = list(enumerate(staircase(length, a, b)))
    for scale in scales(length, a, b):
        used = [i * scale.a + j * scale.b for i, j in fitting]
        assert max(used) == scale.length


@given(st.integers(12, 90), st.integers(12, 90), st.integers(2, 12), st.integers(2, 12))
def test_both_grids_lie_below_the_bound(across: int, down: int, a: int, b: int) -> None:
    problem = Problem(across, down, a, b)
    bounds = measures(problem)
    straight, turned = (across // a) * (down // b), (across // b) * (down // a)
    assert upper_bound(problem, bounds) >= max(straight, turned)
    assert straight in splits(bounds, straight)
    assert 0 in splits(bounds, turned)


@given(st.integers(12, 90), st.integers(12, 90), st.integers(2, 12), st.integers(2, 12))
def test_an_interval_is_what_the_measures_leave(across: int, down: int, a: int, b: int) -> None:
    bounds = measures(Problem(across, down, a, b))
    copies = across * down // (a * b)
    left = [n for n in range(copies + 1) if all(m.waste(n, copies - n) >= 0 for m in bounds)]
    assert list(splits(bounds, copies)) == left


def test_pairs_of_scales_beat_the_area() -> None:
    # 87 x 479 by 28 x 45 (a 22 x 120 in roll): 33 by area and by Barnes, 31 is the truth.
    problem = Problem(87, 479, 28, 45)
    assert problem.across * problem.down // (problem.a * problem.b) == 33
    assert barnes(problem) == 33
    assert upper_bound(problem, measures(problem)) == 31


def test_measures_cover_every_pair() -> None:
    problem = Problem(31, 50, 3, 13)
    pairs = product(scales(31, 3, 13), scales(50, 3, 13))
    assert len(measures(problem)) == 1 + len(list(pairs))
