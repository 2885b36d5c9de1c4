"""Filling gap by gap: what is placed holds, what is left is counted."""

from __future__ import annotations

from hypothesis import given
from hypothesis import strategies as st

from artcheck.pricing.layout.mixed import Kind, fill, shapes_of
from artcheck.pricing.layout.placing import Box, check_boxes

kinds = st.builds(Kind, st.integers(1, 9), st.integers(1, 9), st.booleans())
wanted = st.lists(st.tuples(kinds, st.integers(0, 5)), min_size=1, max_size=4)


@given(wanted, st.integers(1, 14), st.integers(1, 14), st.integers(1, 3), st.randoms())
def test_sheets_are_filled_without_overlap(
    some: list[tuple[Kind, int]], width: int, height: int, turns: int, dice: object
) -> None:
    assert hasattr(dice, "random")
    counts = [n for _, n in some]
    shapes = shapes_of([kind for kind, _ in some], width, height)
    rows = [[dice.random() for _ in shapes] for _ in range(turns)]
    filled = fill((width, height), shapes, counts, rows)
    check_boxes([Box(y, x, s.width, s.height) for x, y, s in filled.pieces], (width, height), 0, 0)
    placed = [sum(s.kind == i for _, _, s in filled.pieces) for i in range(len(counts))]
    assert [a + b for a, b in zip(placed, filled.left, strict=True)] == counts
    assert filled.top == max((y + s.height for _, y, s in filled.pieces), default=0)


def test_a_gap_prefers_what_fills_it() -> None:
    # 10 wide: the 6 is liked more, the 4 then fills the gap although the 3 is liked better.
    shapes = shapes_of(
        [Kind(6, 2, turns=False), Kind(3, 2, turns=False), Kind(4, 2, turns=False)], 10, 2
    )
    filled = fill((10, 2), shapes, [1, 1, 1], [[1.0, 0.9, 0.1]])
    assert [(x, s.width) for x, _, s in filled.pieces] == [(0, 6), (6, 4)]
    assert filled.left == (0, 1, 0)


def test_squares_lie_one_way_only() -> None:
    assert len(shapes_of([Kind(3, 3), Kind(2, 3), Kind(2, 3, turns=False)], 5, 5)) == 4
