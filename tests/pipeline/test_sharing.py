"""An order's prints on shared sheets, from the art to the quote."""

from __future__ import annotations

from decimal import Decimal
from importlib import resources
from pathlib import Path

import pytest

from artcheck.domain.check import OrderReport
from artcheck.domain.measurements import Measurements
from artcheck.domain.order import Garment, Order, Print, SizeRun
from artcheck.pipeline import evaluate_order, measure_order, quote_order
from artcheck.pipeline.ganging import gang_order
from artcheck.shop import load_order, load_shop

DEMO = Path(str(resources.files("artcheck"))) / "demo"
SHOP = load_shop()


@pytest.fixture(scope="module")
def choir() -> tuple[Order, tuple[Measurements, ...], OrderReport]:
    """Chest and back in one ink, a sleeve in two, on 31 white tees."""
    wheelers = str(DEMO / "art" / "3-wheelers.pdf")
    sizes = tuple(SizeRun(size=s, quantity=q) for s, q in (("S", 9), ("M", 14), ("L", 8)))
    order = Order(
        name="Heron Lane choir",
        garment=Garment(kind="tee", colour="white", fabric="cotton", sizes=sizes),
        prints=(
            Print(art=wheelers, width_in=3.5, placement="left chest"),
            Print(art=wheelers, width_in=9, placement="back"),
            Print(art=str(DEMO / "art" / "8-school.svg"), width_in=3, placement="sleeve"),
        ),
    )
    measured = measure_order(order)
    return order, measured, evaluate_order(measured, order, SHOP)


def test_the_chest_rides_on_the_sheets_of_the_back(
    choir: tuple[Order, tuple[Measurements, ...], OrderReport],
) -> None:
    """One of each on 12 x 15 in: 32 sheets, of which 40 cost 80.00, and one set-up of 10.00. By
    film the chest would add 32 x 0.56 = 17.92, on sheets of its own 50.00."""
    _, _, report = choir
    assert report.quote is not None
    assert [one.recommendation.method for one in report.prints] == ["spot", "spot", "film-area"]
    (together,) = report.quote.together
    assert together.prints == (0, 1)
    assert (together.cost, together.cost_apart) == (Decimal("90.00"), Decimal("140.00"))
    assert report.quote.decoration == Decimal("90.00") + 32 * Decimal("0.50")
    chest, back, sleeve = (one.recommendation for one in report.prints)
    assert "on sheets shared with 3-wheelers (back)" in chest.headline
    assert "on sheets shared with 3-wheelers (left chest)" in back.headline
    assert "shared" not in sleeve.headline
    assert not [r for r in chest.reasons if "50.00" in r]  # what it costs alone decides nothing


def test_the_quote_and_the_gang_say_the_same(
    choir: tuple[Order, tuple[Measurements, ...], OrderReport],
) -> None:
    order, measured, report = choir
    assert report.quote is not None
    quoted = quote_order(measured, order, report, SHOP)
    assert quoted.price == report.quote.price == sum(line.amount for line in quoted.lines)
    ganged, _ = gang_order(measured, order, report, SHOP)
    assert ganged.order_decoration == report.quote.decoration


def test_a_method_of_gangs_alone_is_told_where_it_is_cheaper() -> None:
    """The league by film: 61.00; on one length of roll, which the shop prices for comparison only,
    6 feet at 9.00, from the same supplier."""
    order = load_order(DEMO / "orders" / "1-league.toml")
    report = evaluate_order(measure_order(order), order, SHOP)
    assert report.quote is not None
    assert report.quote.decoration == Decimal("61.00")
    (note,) = [n for n in report.quote.notes if "film by the roll" in n]
    assert "would cost 7.00 USD less" in note
