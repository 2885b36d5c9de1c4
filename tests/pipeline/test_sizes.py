"""Prints on some garment sizes, one size of print or two, spares by size."""

from __future__ import annotations

from decimal import Decimal
from importlib import resources
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from artcheck.cli.run import run
from artcheck.domain.check import OrderReport
from artcheck.domain.order import Garment, Order, Print, SizeRun
from artcheck.domain.shop import Spares
from artcheck.errors import OrderFileError
from artcheck.pipeline import evaluate_order, measure_order
from artcheck.pricing.spares import apportioned, spares_by_size
from artcheck.shop import load_order, load_shop

DEMO = Path(str(resources.files("artcheck"))) / "demo"
SHOP = load_shop()
YOUTH, ADULT = ("youth M", "youth L"), ("adult M", "adult L")
SIZES = tuple(SizeRun(size=size, quantity=24, youth=size in YOUTH) for size in (*YOUTH, *ADULT))
ART = str(DEMO / "art" / "8-school.svg")


def school(*prints: Print) -> OrderReport:
    garment = Garment(kind="tee", colour="white", fabric="cotton", sizes=SIZES)
    order = Order(garment=garment, prints=prints)
    return evaluate_order(measure_order(order), order, SHOP)


def mascot(width_in: float, *sizes: str) -> Print:
    return Print(art=ART, width_in=width_in, sizes=sizes, method="spot")


def transfers(report: OrderReport) -> Decimal:
    assert report.quote is not None
    lines = report.quote.lines
    return sum((x.amount for x in lines if "sheets" in x.what or "set-up" in x.what), Decimal(0))


@pytest.mark.parametrize(("youth_in", "want"), [(8, "340.00"), (7.375, "302.50")])
def test_two_sizes_of_the_school_cost_what_the_story_says(youth_in: float, want: str) -> None:
    """Youth at 8 in (or two a sheet at 7.375 in), adults at 11 in, 48 and two spares of each."""
    report = school(mascot(youth_in, *YOUTH), mascot(11, *ADULT))
    assert transfers(report) == Decimal(want)
    assert [one.garment.pieces for one in report.prints] == [48, 48]


def test_one_size_for_all_is_told_with_its_saving() -> None:
    """242.75 instead of 340.00, one spare garment less (4.00) and its pressing (0.40)."""
    report = school(mascot(8, *YOUTH), mascot(11, *ADULT))
    assert report.quote is not None
    (note,) = [n for n in report.quote.notes if n.startswith("One print")]
    saving = Decimal("340.00") - Decimal("242.75") + Decimal("4.40")
    assert note.startswith(f"One print of 8 in for all sizes instead of two would cost {saving}")
    one = school(mascot(8))
    assert transfers(one) == Decimal("242.75")
    assert one.quote is not None
    assert report.quote.cost - one.quote.cost == saving
    assert not [n for n in one.quote.notes if n.startswith("One print")]


def test_prints_that_differ_in_more_than_size_are_not_joined() -> None:
    other = mascot(11, *ADULT).model_copy(update={"inks": ("Coal",)})
    report = school(mascot(8, *YOUTH), other)
    assert report.quote is not None
    assert not [n for n in report.quote.notes if n.startswith("One print")]


def test_labour_and_blanks_count_the_garments_that_carry_a_print() -> None:
    report = school(mascot(8, *YOUTH), mascot(4, *YOUTH, *ADULT))
    assert report.quote is not None
    count = {line.what: line.quantity for line in report.quote.lines}
    spares = report.quote.spares
    assert count["press labour"] == (48 + 2) + (96 + 3)
    assert count["tee blanks"] == 96 + sum(size.spares for size in spares)
    assert sum(size.spares for size in spares if size.size in YOUTH) >= 2  # both prints' spares fit


def test_the_school_order_is_spared_by_size() -> None:
    order = load_order(DEMO / "orders" / "8-school.toml")
    spares = spares_by_size(order, SHOP.prices.spares)
    assert [(s.size, s.quantity, s.spares) for s in spares] == [
        ("youth M", 24, 1),
        ("youth L", 24, 1),
        ("adult M", 24, 1),
        ("adult L", 24, 0),
    ]


quantities = st.lists(st.integers(1, 400), min_size=1, max_size=8)


@given(quantities, st.integers(0, 40))
def test_spares_are_shared_out_whole_and_by_quota(sizes: list[int], spares: int) -> None:
    """The quota rule: each size gets its exact share rounded down or up."""
    runs = [SizeRun(size=str(n), quantity=q) for n, q in enumerate(sizes)]
    counts = apportioned(runs, spares)
    assert sum(counts) == spares
    for run_, count in zip(runs, counts, strict=True):
        exact = run_.quantity * spares / sum(sizes)
        assert exact - 1 < count < exact + 1


@given(quantities)
def test_spares_by_size_sum_to_the_orders(sizes: list[int]) -> None:
    runs = tuple(SizeRun(size=str(n), quantity=q) for n, q in enumerate(sizes))
    order = Order(garment=Garment(sizes=runs), prints=(Print(art="a"),))
    spares = spares_by_size(order, Spares(share=0.03, least=1))
    assert sum(s.spares for s in spares) == max(1, -(-3 * sum(sizes) // 100))


def test_an_order_without_sizes_has_no_spares_by_size() -> None:
    order = Order(garment=Garment(quantity=40), prints=(Print(art="a"),))
    assert spares_by_size(order, SHOP.prices.spares) == ()


def test_a_size_that_nobody_ordered_is_a_fault(tmp_path: Path) -> None:
    file = tmp_path / "order.toml"
    file.write_text(
        '[garment]\nsizes = [{ size = "M", quantity = 5 }]\n'
        '[[prints]]\nart = "a.png"\nsizes = ["XL"]\n'
    )
    with pytest.raises(OrderFileError, match=r"a.png is for size XL, .* sizes are M"):
        load_order(file)


def test_an_order_with_no_garment_is_asked_for_it(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    file = tmp_path / "order.toml"
    file.write_text(f'[[prints]]\nart = "{ART}"\nwidth_in = 8\n')
    assert run(["check", "--order", str(file)]) == 0
    told = " ".join(capsys.readouterr().out.split())
    assert "How many pieces do you need" in told
    assert "Which garments are they" in told
    assert run(["gang", str(file)]) == 2
    assert "names no quantity" in capsys.readouterr().err
