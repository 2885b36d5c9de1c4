"""The constraint solver and the own search give the same answers."""

from __future__ import annotations

import pytest

from artcheck.pricing.layout.allowance import Allowance, SpentError
from artcheck.pricing.layout.constraints import solve
from artcheck.pricing.layout.exact import search
from artcheck.pricing.layout.mixed import Kind
from artcheck.pricing.layout.placing import Box, check_boxes

CASES = [
    ((23, 31), [Kind(14, 9), Kind(10, 11)], (2, 4), False),
    ((23, 31), [Kind(14, 9), Kind(10, 11)], (1, 3), True),
    ((44, 55), [Kind(42, 15), Kind(12, 16), Kind(36, 17)], (2, 2, 1), False),
    ((5, 5), [Kind(3, 2)], (4,), True),
    ((5, 5), [Kind(3, 2, turns=False)], (4,), False),
]


@pytest.mark.parametrize(("size", "kinds", "counts", "fits"), CASES)
def test_they_agree(
    size: tuple[int, int], kinds: list[Kind], counts: tuple[int, ...], fits: bool
) -> None:
    pieces = solve(size, kinds, counts, Allowance(5))
    assert (pieces is not None) == fits
    assert (search(size, kinds, counts, Allowance(5)) is not None) == fits
    if pieces is not None:
        check_boxes([Box(y, x, s.width, s.height) for x, y, s in pieces], size, 0, 0)
        placed = [sum(s.kind == i for _, _, s in pieces) for i in range(len(counts))]
        assert tuple(placed) == counts


def test_few_large_pieces_with_slack_are_where_it_helps() -> None:
    # Seven pieces with 17 % to spare: the own search takes seconds, the solver hundredths.
    kinds = [Kind(1045, 251), Kind(1043, 379), Kind(377, 301), Kind(744, 283)]
    with pytest.raises(SpentError):
        search((1250, 1550), kinds, (1, 1, 1, 4), Allowance(0.05))
    assert solve((1250, 1550), kinds, (1, 1, 1, 4), Allowance(1)) is not None


def test_out_of_time_is_told() -> None:
    kinds = [Kind(75, 60), Kind(50, 39), Kind(53, 53), Kind(63, 20)]
    with pytest.raises(SpentError):
        solve((172, 188), kinds, (4, 1, 1, 7), Allowance(0.05))
