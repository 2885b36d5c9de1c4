"""Copies on a sheet: proven tables, published instances, trade facts, and laws that must hold."""

from __future__ import annotations

import csv
from decimal import Decimal
from fractions import Fraction
from functools import cache
from pathlib import Path

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from artcheck.errors import UsageError
from artcheck.pricing.sheets import Layout, check_layout, copies_on_sheet

DATA = Path(__file__).parents[1] / "data" / "pricing" / "yield_dev.csv"
ROWS = list(csv.DictReader(DATA.read_text(encoding="utf-8").splitlines()))


def _layout_of(row: dict[str, str]) -> Layout:
    return copies_on_sheet(
        (Decimal(row["W"]), Decimal(row["H"])),
        (Decimal(row["w"]), Decimal(row["h"])),
        gutter=Decimal(row["gutter"]),
        margin=Decimal(row["margin"]),
        rotate=row["rotate"] == "1",
    )


@pytest.mark.parametrize("row", ROWS, ids=lambda row: row["id"])
def test_the_proven_optimum_is_reached(row: dict[str, str]) -> None:
    layout = _layout_of(row)
    assert layout.copies == int(row["optimum"])
    assert layout.copies >= int(row["simple_grid"])
    assert layout.upper_bound >= layout.copies


def test_at_least_99_of_100_are_proven() -> None:
    assert len(ROWS) == 100
    assert sum(_layout_of(row).proven for row in ROWS) >= 99


PUBLISHED = [
    # Morabito and Morales (1998) leave the first open, five-block recursion gives 56;
    # Birgin, Morabito and Nishihara, "A note on an L-approach for solving the manufacturer's pallet
    # loading problem" (2005), prove 57. The others stand in the same literature (Nelissen 1993;
    # Scheithauer and Terno 1996); values as in the table above.
    ((49, 28), (8, 3), 57),
    ((14, 10), (3, 2), 23),
    ((40, 25), (7, 3), 47),
    ((52, 33), (9, 4), 47),
    ((56, 52), (12, 5), 48),
    ((63, 44), (8, 5), 69),
]


@pytest.mark.parametrize(("sheet", "piece", "most"), PUBLISHED)
def test_published_pallets(sheet: tuple[int, int], piece: tuple[int, int], most: int) -> None:
    layout = copies_on_sheet(sheet, piece)
    assert layout.copies == most
    assert layout.proven


@pytest.mark.parametrize(("piece", "copies"), [((4, 4), 6), ((11, 6), 2), ((11, 11), 1)])
def test_common_sheet(piece: tuple[float, float], copies: int) -> None:
    """Common practice: what fits on an 11.25 x 14 in sheet without a gutter."""
    assert copies_on_sheet((11.25, 14), piece).copies == copies


@pytest.mark.parametrize(
    ("width", "across"), [(12, 1), (11.87, 1), (11.86, 2), (Decimal("11.86"), 2)]
)
def test_a_nudge_puts_two_across(width: float | Decimal, across: int) -> None:
    sheet = (Decimal("23.97"), 11)
    assert copies_on_sheet(sheet, (width, 10), gutter=0.25, rotate=False).copies == across


def test_binary_noise_decides_nothing() -> None:
    assert copies_on_sheet((0.3, 1), (0.1 + 0.2, 1)).copies == 1
    assert copies_on_sheet((1, 1), (0.1, 0.1)).copies == 100
    mm = [n / 25.4 for n in (300, 420, 100, 105)]
    assert copies_on_sheet((mm[0], mm[1]), (mm[2], mm[3])).copies == 12


@pytest.mark.parametrize(
    ("sheet", "piece", "margin"),
    [
        ((11, 14), (11.01, 14), 0),
        ((11, 14), (11, 14), 0.01),
        ((2, 2), (1, 1), 1),
        ((2, 2), (1, 1), 3),
    ],
)
def test_nothing_fits(sheet: tuple[int, int], piece: tuple[float, float], margin: float) -> None:
    layout = copies_on_sheet(sheet, piece, gutter=0.25, margin=margin)
    assert (layout.copies, layout.upper_bound, layout.proven) == (0, 0, True)


def test_margin_inside_each_edge_and_gutter_between_only() -> None:
    layout = copies_on_sheet((10, 4), (4, 3), gutter=1, margin=0.5)
    assert [(p.row_in, p.col_in, p.rotated) for p in layout.positions] == [
        (0.5, 0.5, False),
        (0.5, 5.5, False),
    ]


@pytest.mark.parametrize(
    ("sheet", "piece", "gutter", "margin", "words"),
    [
        ((0, 14), (1, 1), 0, 0, "sheet's width"),
        ((11, 14), (1, -1), 0, 0, "piece's height"),
        ((11, float("nan")), (1, 1), 0, 0, "finite"),
        ((11, 14), (float("inf"), 1), 0, 0, "finite"),
        ((11, 14), (1, 1), -0.1, 0, "gutter"),
        ((11, 14), (1, 1), 0, -0.1, "margin"),
        ((22, 120), (0.01, 0.01), 0, 0, "26400000 pieces would fit"),
    ],
)
def test_sizes_that_cannot_be_meant(
    sheet: tuple[float, float],
    piece: tuple[float, float],
    gutter: float,
    margin: float,
    words: str,
) -> None:
    with pytest.raises(UsageError, match=words):
        copies_on_sheet(sheet, piece, gutter, margin)


def test_a_spent_budget_is_admitted() -> None:
    hard = ((22, 60), (2.75, 2.375), 0, 0.5)
    hasty = copies_on_sheet(*hard, time_budget_s=0.001)
    assert not hasty.proven
    assert hasty.copies < hasty.upper_bound
    check_layout(hasty)


# --- laws ---------------------------------------------------------------------------------------

eighths = st.integers(8, 24 * 8).map(lambda n: Fraction(n, 8))
sides = st.integers(12, 90).map(lambda n: Fraction(n, 8))
gaps = st.integers(0, 4).map(lambda n: Fraction(n, 8))


@settings(deadline=None)
@given(st.tuples(eighths, eighths), st.tuples(sides, sides), gaps, gaps)
def test_transposing_changes_nothing(
    sheet: tuple[Fraction, Fraction],
    piece: tuple[Fraction, Fraction],
    gutter: Fraction,
    margin: Fraction,
) -> None:
    layout = copies_on_sheet(sheet, piece, gutter, margin)
    mirrored = copies_on_sheet(sheet[::-1], piece[::-1], gutter, margin)
    turned = copies_on_sheet(sheet, piece[::-1], gutter, margin)
    assert layout.copies == mirrored.copies == turned.copies
    check_layout(layout)


@settings(deadline=None)
@given(st.tuples(eighths, eighths), st.tuples(sides, sides), gaps, st.integers(1, 8), st.booleans())
def test_a_larger_piece_never_yields_more(
    sheet: tuple[Fraction, Fraction],
    piece: tuple[Fraction, Fraction],
    gutter: Fraction,
    growth: int,
    rotate: bool,
) -> None:
    grown = (piece[0] + Fraction(growth, 16), piece[1])
    small = copies_on_sheet(sheet, piece, gutter, rotate=rotate)
    large = copies_on_sheet(sheet, grown, gutter, rotate=rotate)
    assert large.copies <= small.copies
    assert large.upper_bound <= small.upper_bound or not large.proven


@settings(deadline=None)
@given(st.tuples(eighths, eighths), st.tuples(sides, sides))
def test_turning_never_hurts(
    sheet: tuple[Fraction, Fraction], piece: tuple[Fraction, Fraction]
) -> None:
    free = copies_on_sheet(sheet, piece)
    assert free.copies >= copies_on_sheet(sheet, piece, rotate=False).copies
    assert not any(p.rotated for p in copies_on_sheet(sheet, piece, rotate=False).positions)


@settings(deadline=None)
@given(st.integers(2, 9), st.integers(2, 6), st.integers(1, 5), st.integers(1, 4))
def test_small_sheets_against_trying_everything(across: int, down: int, a: int, b: int) -> None:
    assume(across * down <= 40)
    layout = copies_on_sheet((across, down), (a, b))
    assert layout.copies == _tried(across, down, a, b)
    assert layout.proven


def _tried(across: int, down: int, a: int, b: int) -> int:
    """The most copies, cell by cell: each free cell stays empty or is some piece's corner."""
    shapes = {(a, b), (b, a)}

    @cache
    def most(cell: int, taken: int) -> int:
        if cell == across * down:
            return 0
        x, y = cell % across, cell // across
        best = most(cell + 1, taken & ~(1 << cell))
        for w, h in shapes:
            if x + w > across or y + h > down:
                continue
            mask = sum(1 << (cell + i + j * across) for i in range(w) for j in range(h))
            if not taken & mask:
                best = max(best, 1 + most(cell + 1, (taken | mask) & ~(1 << cell)))
        return best

    return most(0, 0)
