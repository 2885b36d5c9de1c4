"""Film: rolls near their bound, sheets at the known number, pieces all there."""

from __future__ import annotations

import statistics
from collections import Counter
from dataclasses import replace
from decimal import Decimal
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from artcheck.errors import UsageError
from artcheck.pricing.gangs import Design, GangSheet, roll_gang, sheet_gang
from artcheck.pricing.gangs.designs import check_gang
from tests.pricing.gangs.cases import CASES, designs_of

HASTE_S = 0.1
"""A tenth of the usual budget keeps the tests short; the benchmark measures the whole."""


def _all_there(designs: list[Design], sheets: list[GangSheet]) -> None:
    made = Counter(p.design.name for sheet in sheets for p in sheet.placements)
    assert made == {design.name: design.quantity for design in designs}
    for sheet in sheets:
        check_gang(sheet)


def test_rolls_stay_near_the_known_bound() -> None:
    distances = []
    for case in CASES["roll"]:
        designs = designs_of(case)
        gang = roll_gang(designs, case["roll_width"], case["gutter"], case["edge"], HASTE_S)
        _all_there(designs, [gang.layout])
        assert gang.lower_bound_in <= case["length_best_known"] + 1e-9
        distances.append(gang.length_in / case["length_lower_bound"] - 1)
    assert statistics.mean(distances) <= 0.04
    assert max(distances) <= 0.08


@pytest.mark.parametrize("case", CASES["sheets"], ids=lambda case: case["id"])
def test_sheets_at_the_known_number(case: dict[str, Any]) -> None:
    designs = designs_of(case)
    gang = sheet_gang(designs, tuple(case["sheet"]), case["gutter"], case["margin"], HASTE_S)
    assert len(gang.sheets) == case["sheets_best_known"]
    assert case["sheets_lower_bound"] <= gang.lower_bound <= len(gang.sheets)
    _all_there(designs, list(gang.sheets))


def test_the_length_of_a_roll_by_hand() -> None:
    # 22 in roll, edge 0.25: four 5 x 3 across need 21.5 of 21.5; three rows with two gutters.
    designs = [Design(name="a", width_in=5, height_in=3, quantity=12, rotate=False)]
    gang = roll_gang(designs, 22, gutter=0.5, margin=0.25)
    assert gang.length_in == 0.25 + 3 * 3 + 2 * 0.5 + 0.25
    assert gang.proven
    assert gang.distance == 0


def test_a_nudge_puts_two_across_the_roll() -> None:
    def length(width: str, height: str) -> float:
        art = Design(
            name="a", width_in=Decimal(width), height_in=Decimal(height), quantity=56, rotate=False
        )
        return roll_gang([art], 22, gutter=Decimal("0.25")).length_in

    assert length("12", "11") == 56 * 11.25 - 0.25
    assert length("10.87", "11.86") == 28 * 12.11 - 0.25


def test_a_small_budget_still_gives_a_layout() -> None:
    case = CASES["roll"][0]
    designs = designs_of(case)
    gang = roll_gang(designs, case["roll_width"], case["gutter"], case["edge"], time_budget_s=0)
    _all_there(designs, [gang.layout])


def test_two_runs_give_the_same_layout() -> None:
    case = CASES["roll"][1]
    first, second = (
        roll_gang(designs_of(case), case["roll_width"], case["gutter"], 0, HASTE_S) for _ in "12"
    )
    assert first == second


def _design(**changes: Any) -> Design:
    return replace(Design(name="a", width_in=5, height_in=3, quantity=2), **changes)


@pytest.mark.parametrize(
    ("designs", "words"),
    [
        ([], "at least one design"),
        ([_design(quantity=0)], "quantity of a"),
        ([_design(width_in=0)], "size of a"),
        ([_design(width_in=23, height_in=24)], "larger than the roll of 22 in"),
        ([_design(width_in=23, rotate=False)], "larger than the roll of 22 in"),
        ([_design(quantity=6000)], "6000 pieces are too many"),
        ([_design()] * 201, "201 designs"),
    ],
)
def test_refused(designs: list[Design], words: str) -> None:
    with pytest.raises(UsageError, match=words):
        roll_gang(designs, 22)


def test_refused_for_a_sheet() -> None:
    with pytest.raises(UsageError, match=r"larger than the sheet of 12 x 15 in with its margin"):
        sheet_gang([_design(width_in=12.1, height_in=14.9)], (12, 15))


sides = st.integers(4, 40).map(lambda n: n / 4)


@settings(deadline=None, max_examples=40)
@given(
    st.lists(st.tuples(sides, sides, st.integers(1, 6), st.booleans()), min_size=1, max_size=4),
    st.integers(0, 2).map(lambda n: n / 4),
    st.integers(0, 2).map(lambda n: n / 4),
)
def test_layouts_hold_whatever_is_asked(
    wanted: list[tuple[float, float, int, bool]], gutter: float, margin: float
) -> None:
    designs = [
        Design(name=str(i), width_in=w, height_in=h, quantity=q, rotate=turns)
        for i, (w, h, q, turns) in enumerate(wanted)
    ]
    roll = roll_gang(designs, 13, gutter, margin, time_budget_s=0.01)
    _all_there(designs, [roll.layout])
    assert roll.lower_bound_in <= roll.length_in
    sheets = sheet_gang(designs, (13, 19), gutter, margin, time_budget_s=0.01)
    _all_there(designs, list(sheets.sheets))
    assert sheets.lower_bound <= len(sheets.sheets)
    for sheet in (roll.layout, *sheets.sheets):
        assert not any(p.rotated for p in sheet.placements if not p.design.rotate)
