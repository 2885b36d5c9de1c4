"""The smallest equivalent problem asks the same question."""

from __future__ import annotations

from hypothesis import given
from hypothesis import strategies as st

from artcheck.pricing.layout.canonical import (
    Problem,
    settle,
    smallest_equivalent,
    staircase,
)

lengths, shorts = st.integers(20, 900), st.integers(3, 60)


@given(lengths, lengths, shorts, shorts)
def test_the_same_numbers_of_sides_fit(across: int, down: int, a: int, b: int) -> None:
    small = smallest_equivalent(Problem(across, down, a, b))
    assert staircase(small.across, small.a, small.b) == staircase(across, a, b)
    assert staircase(small.down, small.a, small.b) == staircase(down, a, b)


@given(st.integers(5, 40), st.integers(5, 40), st.integers(2, 9), st.integers(2, 9))
def test_no_smaller_sides_would_do(across: int, down: int, a: int, b: int) -> None:
    small = smallest_equivalent(Problem(across, down, a, b))
    wanted = [staircase(n, a, b) for n in (across, down)]
    for p in range(1, small.a):
        for q in range(1, small.b):
            stairs = [[staircase(n, p, q) for n in range(60)] for _ in range(2)]
            assert not all(w in s for w, s in zip(wanted, stairs, strict=True))


def test_a_fine_grid_shrinks() -> None:
    # 22 x 120 in, film gutter 0.375, pieces 9.375 x 2.125: sixty-fourths of an inch and less.
    assert smallest_equivalent(Problem(179, 963, 78, 20)) == Problem(80, 432, 35, 9)


def test_chains_move_together() -> None:
    # Two of 3 then one of 2 along a line, carried over to 30 and 21.
    assert settle([(0, False), (3, False), (6, True)], (3, 2), (30, 21)) == {0: 0, 3: 30, 6: 60}
