"""The search over mixed sets: what it finds holds, what it refutes does not exist."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from artcheck.pricing.layout.allowance import Allowance, SpentError
from artcheck.pricing.layout.exact import search
from artcheck.pricing.layout.mixed import Kind, Piece
from artcheck.pricing.layout.placing import Box, check_boxes


def _check(size: tuple[int, int], counts: tuple[int, ...], pieces: list[Piece]) -> None:
    check_boxes([Box(y, x, s.width, s.height) for x, y, s in pieces], size, 0, 0)
    assert tuple(sum(s.kind == i for _, _, s in pieces) for i in range(len(counts))) == counts


def test_the_smallest_perfect_squared_rectangle() -> None:
    # Nine different squares tile 33 x 32 (Z. Moron, 1925; the sides from memory), and no other
    # rectangle of that area that holds the largest.
    squares = (18, 15, 14, 10, 9, 8, 7, 4, 1)
    kinds = [Kind(n, n) for n in squares]
    counts = (1,) * len(kinds)
    assert sum(n * n for n in squares) == 33 * 32
    pieces = search((33, 32), kinds, counts, Allowance(5))
    assert pieces is not None
    _check((33, 32), counts, pieces)
    assert search((44, 24), kinds, counts, Allowance(5)) is None


def test_turning_may_be_forbidden() -> None:
    assert search((4, 2), [Kind(2, 4)], (1,), Allowance(1)) is not None
    assert search((4, 2), [Kind(2, 4, turns=False)], (1,), Allowance(1)) is None


def test_a_spent_allowance_is_told() -> None:
    kinds = [Kind(7, 3), Kind(5, 4), Kind(3, 3)]
    with pytest.raises(SpentError):
        search((23, 19), kinds, (8, 8, 9), Allowance(0))


sizes = st.tuples(st.integers(1, 5), st.integers(1, 5))


@settings(deadline=None)
@given(sizes, st.lists(st.tuples(sizes, st.integers(1, 3)), min_size=1, max_size=3))
def test_both_ways_of_seeing_a_sheet_agree(
    sheet: tuple[int, int], wanted: list[tuple[tuple[int, int], int]]
) -> None:
    size = (sheet[0] + 3, sheet[1] + 3)
    kinds = [Kind(*side, turns=False) for side, _ in wanted]
    counts = tuple(n for _, n in wanted)
    upright = search(size, kinds, counts, Allowance(10))
    lying = search(
        size[::-1], [Kind(k.height, k.width, turns=False) for k in kinds], counts, Allowance(10)
    )
    assert (upright is None) == (lying is None)
    if upright is not None:
        _check(size, counts, upright)
