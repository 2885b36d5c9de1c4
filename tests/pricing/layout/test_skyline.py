"""The exact search: finds what exists, refutes what does not, admits when time ends."""

from __future__ import annotations

import pytest

from artcheck.pricing.layout.allowance import Allowance
from artcheck.pricing.layout.bounds import measures
from artcheck.pricing.layout.canonical import Problem
from artcheck.pricing.layout.placing import Box, check_boxes
from artcheck.pricing.layout.skyline import pack


def test_the_pinwheel() -> None:
    # Four 3 x 2 around an empty cell: no straight cut makes it.
    problem = Problem(5, 5, 3, 2)
    answer = pack(problem, measures(problem), 4, Allowance(1))
    assert answer.placed is not None
    boxes = [Box(y, x, *((2, 3) if t else (3, 2))) for x, y, t in answer.placed]
    assert len(boxes) == 4
    check_boxes(boxes, (5, 5), 0, 0)


@pytest.mark.parametrize(
    ("problem", "copies"),
    [
        # One more than the optimum, though every bound allows it (a constraint solver agrees).
        (Problem(43, 47, 6, 7), 48),
        (Problem(21, 23, 4, 5), 24),
        (Problem(13, 14, 3, 5), 12),
        (Problem(26, 27, 10, 3), 23),
        (Problem(34, 93, 7, 10), 45),
    ],
)
def test_refuted(problem: Problem, copies: int) -> None:
    answer = pack(problem, measures(problem), copies, Allowance(1))
    assert answer.placed is None
    assert answer.proven


def test_out_of_time_is_no_proof() -> None:
    problem = Problem(31, 50, 3, 13)
    answer = pack(problem, measures(problem), 39, Allowance(0.001))
    assert answer.placed is None
    assert not answer.proven
