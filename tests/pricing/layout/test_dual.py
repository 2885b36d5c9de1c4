"""Lower bounds for mixed sets: worked by hand, and never above what exists."""

from __future__ import annotations

from fractions import Fraction

from hypothesis import given
from hypothesis import strategies as st

from artcheck.pricing.layout.dual import least_length, least_sheets, stretches
from artcheck.pricing.layout.mixed import Kind, fill, shapes_of


def test_more_than_half_each_way_needs_a_sheet_each() -> None:
    # Four 6 x 6 on 10 x 10: area says 1.44 sheets, but no two share one.
    assert least_sheets((10, 10), [Kind(6, 6)], [4]) == 4


def test_wide_pieces_pile_up() -> None:
    # Three of 7 x 2 on a roll of 10 lie above each other, though their area takes only 4.2.
    assert least_length(10, [Kind(7, 2, turns=False)], [3]) == 6


def test_a_roll_ends_where_a_pile_ends() -> None:
    # Area 36 on a width of 10: 3.6; heights are multiples of 3.
    assert least_length(10, [Kind(4, 3, turns=False)], [3]) == 6


@given(st.integers(4, 30), st.lists(st.integers(1, 30), min_size=1, max_size=5))
def test_what_fits_side_by_side_still_fits(length: int, sides: list[int]) -> None:
    fitting = [side for side in sides if side <= length]
    side_by_side, used = [], 0
    for side in fitting:
        if used + side <= length:
            side_by_side.append(side)
            used += side
    for stretch in stretches(length, fitting):
        assert sum((stretch[side] for side in side_by_side), Fraction(0)) <= 1


kinds = st.builds(Kind, st.integers(1, 9), st.integers(1, 9), st.booleans())


@given(st.lists(st.tuples(kinds, st.integers(1, 4)), min_size=1, max_size=4))
def test_never_above_a_layout(wanted: list[tuple[Kind, int]]) -> None:
    some, counts = [kind for kind, _ in wanted], [n for _, n in wanted]
    endless = sum(max(k.width, k.height) * n for k, n in wanted)
    shapes = shapes_of(some, 11, endless)
    filled = fill((11, endless), shapes, counts, [[1.0] * len(shapes)])
    assert not any(filled.left)
    assert least_length(11, some, counts) <= filled.top
    assert least_sheets((11, filled.top), some, counts) <= 1
