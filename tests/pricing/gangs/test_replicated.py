"""Sheets printed all alike, against proven optima and against trying everything."""

from __future__ import annotations

from decimal import Decimal
from itertools import product
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from artcheck.errors import UsageError
from artcheck.pricing.gangs import Design, ReplicatedGang, replicated_gang
from artcheck.pricing.gangs.designs import check_gang
from artcheck.pricing.gangs.replicated import Cost
from tests.pricing.gangs.cases import CASES, designs_of


def _gang(case: dict[str, Any], most_layouts: int) -> ReplicatedGang:
    return replicated_gang(
        designs_of(case),
        tuple(case["sheet"]),
        case["gutter"],
        case["margin"],
        most_layouts=most_layouts,
    )


@pytest.mark.parametrize("layouts", [1, 2])
@pytest.mark.parametrize("case", CASES["replicated"], ids=lambda case: case["id"])
def test_the_proven_optimum_is_reached(case: dict[str, Any], layouts: int) -> None:
    gang = _gang(case, layouts)
    want = case["one_layout" if layouts == 1 else "two_layouts"]
    assert gang.sheets == want["sheets"]
    assert gang.proven
    assert gang.lower_bound <= gang.sheets
    assert len(gang.runs) <= layouts
    for run in gang.runs:
        check_gang(run.layout)
    for design in designs_of(case):
        made = sum(run.sheets * run.layout.copies_of(design) for run in gang.runs)
        assert made >= design.quantity


def _with_setup(setup: int) -> Cost:
    def cost(sheets: int, inks: frozenset[str]) -> Decimal:
        assert not inks
        return sheets * Decimal("1.10") + setup

    return cost


def test_a_second_setup_must_pay() -> None:
    # 96 sheets on one layout, 62 on two: 34 sheets against one set-up.
    case = next(case for case in CASES["replicated"] if case["id"] == "rep03")
    sheet = tuple(case["sheet"])
    for setup, layouts, sheets in ((30, 2, 62), (38, 1, 96)):
        gang = replicated_gang(
            designs_of(case),
            sheet,
            case["gutter"],
            case["margin"],
            most_layouts=2,
            cost=_with_setup(setup),
        )
        assert (len(gang.runs), gang.sheets) == (layouts, sheets)
        assert gang.cost == sheets * Decimal("1.10") + layouts * setup


def test_an_ink_that_only_one_design_needs_is_kept_off_the_other_layout() -> None:
    red, black = frozenset({"red"}), frozenset({"black"})
    designs = [
        Design(name="a", width_in=5, height_in=5, quantity=40, inks=red),
        Design(name="b", width_in=5, height_in=5, quantity=40, inks=black),
    ]

    def cost(sheets: int, inks: frozenset[str]) -> Decimal:
        return Decimal(sheets + 25 * len(inks))

    gang = replicated_gang(designs, (11, 11), gutter=1, most_layouts=2, cost=cost)
    # Together 2 + 2 on 20 sheets with two inks: 70. Apart 10 sheets of four each: 35 + 35.
    assert gang.cost == 70
    assert len(gang.runs) == 1


def test_designs_that_never_share_a_sheet() -> None:
    designs = [Design(name=n, width_in=8, height_in=8, quantity=5) for n in "ab"]
    with pytest.raises(UsageError, match="2 designs do not fit on 1 layout"):
        replicated_gang(designs, (12, 15))
    two = replicated_gang(designs, (12, 15), most_layouts=2)
    assert [run.sheets for run in two.runs] == [5, 5]


def test_two_runs_give_the_same_layout() -> None:
    case = CASES["replicated"][1]
    assert _gang(case, 2) == _gang(case, 2)


# --- against trying everything ---


def _fits(across: int, down: int, sizes: list[tuple[int, int]]) -> bool:
    """Pieces one by one, each at every place: slow and plain."""

    def placed(taken: int, rest: list[tuple[int, int]]) -> bool:
        if not rest:
            return True
        for w, h in {rest[0], rest[0][::-1]}:
            for x, y in product(range(across - w + 1), range(down - h + 1)):
                mask = sum(1 << (x + i + (y + j) * across) for i in range(w) for j in range(h))
                if not taken & mask and placed(taken | mask, rest[1:]):
                    return True
        return False

    if sum(w * h for w, h in sizes) > across * down:
        return False
    return placed(0, sorted(sizes, key=lambda s: -s[0] * s[1]))


sizes = st.tuples(st.integers(1, 4), st.integers(1, 3))


@settings(deadline=None, max_examples=60)
@given(st.integers(3, 5), st.integers(3, 5), st.tuples(sizes, sizes), st.integers(1, 5))
def test_fewest_sheets_against_trying_everything(
    across: int, down: int, two: tuple[tuple[int, int], tuple[int, int]], quantity: int
) -> None:
    quantities = (quantity, 3)
    pieces = list(zip(two, quantities, strict=True))
    counts = [[-(-q // n) for q in quantities] for n in range(1, 6)]
    wanted = next(
        (
            n
            for n, copies in enumerate(counts, 1)
            if _fits(across, down, [s for s, k in zip(two, copies, strict=True) for _ in range(k)])
        ),
        None,
    )
    designs = [
        Design(name=str(i), width_in=w, height_in=h, quantity=q)
        for i, ((w, h), q) in enumerate(pieces)
    ]
    try:
        gang = replicated_gang(designs, (across, down))
    except UsageError:
        assert wanted is None
    else:
        assert (gang.sheets, gang.proven) == (wanted, True)
