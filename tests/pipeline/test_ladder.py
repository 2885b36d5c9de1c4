"""The ink ladder in the report: losses beside this order's costs, from records alone."""

from __future__ import annotations

import itertools
from decimal import Decimal
from functools import lru_cache
from importlib import resources
from pathlib import Path
from typing import Any

import pytest

from artcheck.domain.check import LadderRung, Report
from artcheck.domain.measurements import Measurements
from artcheck.domain.order import BrandColour, Garment, Order, Print
from artcheck.domain.separating import SeparationOptions
from artcheck.domain.shop import Shop
from artcheck.pipeline import check_order, evaluate, ink_choice, measure_file, separate
from artcheck.shop import load_order, load_shop
from tests.art import drawn, photograph, saved

FIVE = ("#c81e28", "#1e3cc8", "#1ea03c", "#f0c81e", "#141414")


@lru_cache
def demo(name: str) -> Report:
    with resources.as_file(resources.files("artcheck") / "demo" / "orders") as folder:
        (report,) = check_order(load_order(folder / f"{name}.toml"), load_shop()).prints
    return report


@pytest.fixture(scope="module")
def shop() -> Shop:
    return load_shop()


@pytest.fixture(scope="module")
def bars(tmp_path_factory: pytest.TempPathFactory) -> Path:
    body = "".join(
        f'<rect x="{20 + 110 * i}" y="20" width="90" height="{360 - 50 * i}" fill="{colour}"/>'
        for i, colour in enumerate(FIVE)
    )
    return saved(drawn(body), tmp_path_factory.mktemp("bars") / "bars.png")


@pytest.fixture(scope="module")
def measured(bars: Path) -> Measurements:
    return measure_file(bars)


def order_of(art: Path, quantity: int | None = 100, **more: Any) -> Order:
    return Order(
        garment=Garment(kind="tee", colour="white", fabric="cotton", quantity=quantity),
        prints=(Print(art=str(art), width_in=2.0, **more),),
    )


def of(report: Report, method: str = "spot") -> list[LadderRung]:
    return [rung for rung in report.ink_ladder if rung.method == method]


def losses(rung: LadderRung) -> tuple[float, float, float]:
    return (
        rung.mean_delta_e_2000,
        rung.p95_delta_e_2000,
        rung.worst_region_delta_e_2000,
    )


def test_candleworks_costs_and_losses_are_the_storys() -> None:
    """The demo's table: two stock inks 110.00 with the violet 9.5 off, both mixed 160.00."""
    report = demo("4-candleworks")
    both, shelf = [rung for rung in of(report) if rung.inks == 2]
    spot = next(m for m in report.methods if m.id == "spot")
    assert spot.cost is not None
    assert both.total == spot.cost.total
    assert both.per_piece == spot.cost.per_piece
    assert both.price_total == spot.cost.price_total
    assert shelf.total is not None
    assert both.total - shelf.total == Decimal("160.00") - Decimal("110.00")
    assert [ink.stock for ink in both.palette] == [False, False]
    assert [ink.stock for ink in shelf.palette] == [True, True]
    assert shelf.worst_region_delta_e_2000 == pytest.approx(9.5, abs=0.5)
    assert both.recommended
    assert "critical" in both.reason


def test_school_costs_are_the_storys() -> None:
    """The demo's ladder: one ink 158.50, two inks 242.75."""
    one, two = of(demo("8-school"))
    assert one.total is not None
    assert two.total is not None
    assert two.total - one.total == Decimal("242.75") - Decimal("158.50")
    assert one.mean_delta_e_2000 > 8
    assert two.recommended
    assert "84.25 USD less" in two.reason


@pytest.mark.parametrize("name", ["2-bakery", "3-wheelers", "4-candleworks", "8-school"])
def test_more_inks_lose_less_and_cost_more(name: str) -> None:
    best: list[LadderRung] = []
    for rung in of(demo(name)):
        if not best or rung.inks > best[-1].inks:
            best.append(rung)
    assert [rung.inks for rung in best] == list(range(1, len(best) + 1))
    for fewer, more in itertools.pairwise(best):
        assert all(a >= b - 1e-9 for a, b in zip(losses(fewer), losses(more), strict=True))
        assert fewer.total is not None
        assert more.total is not None
        assert more.total > fewer.total
    for method in {rung.method for rung in demo(name).ink_ladder}:
        (chosen,) = [rung for rung in of(demo(name), method) if rung.recommended]
        assert chosen.reason


def test_ladder_ends_at_what_the_method_prints(bars: Path, measured: Measurements) -> None:
    report = evaluate(measured, order_of(bars), load_shop())
    assert [rung.inks for rung in of(report)][-1] == 4
    assert [rung.inks for rung in of(report, "cut-film")] == [1]
    assert "prints 4 inks at most" in next(r.reason for r in of(report) if r.recommended)


def test_separating_gives_the_ladders_palette(bars: Path, shop: Shop) -> None:
    job = separate(order_of(bars), shop, SeparationOptions(inks=3))
    rung = next(r for r in of(job.report) if r.inks == 3)
    assert job.separated is not None
    assert [ink.name for ink in job.separated.inks] == [ink.name for ink in rung.palette]


def test_another_quantity_costs_no_search(bars: Path, measured: Measurements, shop: Shop) -> None:
    first = evaluate(measured, order_of(bars, 100), shop)
    searched = ink_choice._searched.cache_info().misses
    second = evaluate(measured, order_of(bars, 500), shop)
    assert ink_choice._searched.cache_info().misses == searched
    assert [losses(r) for r in of(first)] == [losses(r) for r in of(second)]
    assert [r.total for r in of(first)] != [r.total for r in of(second)]


def test_no_quantity_no_money(bars: Path, measured: Measurements, shop: Shop) -> None:
    rungs = of(evaluate(measured, order_of(bars, None), shop))
    assert len(rungs) >= 4
    assert {rung.total for rung in rungs} == {rung.per_piece for rung in rungs} == {None}


def test_critical_colour_is_in_every_rung(bars: Path, measured: Measurements, shop: Shop) -> None:
    brand = BrandColour(name="rook black", colour=FIVE[4], critical=True)
    free = of(evaluate(measured, order_of(bars), shop))
    held = of(evaluate(measured, order_of(bars, brand_colours=(brand,)), shop))
    black = next(ink.name for ink in shop.inks if ink.name == "Coal")
    assert black not in {ink.name for ink in free[0].palette}
    mixed_or_stock = {"rook black", black}
    best = {rung.inks: rung for rung in reversed(held)}
    assert all(mixed_or_stock & {ink.name for ink in rung.palette} for rung in best.values())


def test_inks_that_the_order_names_are_the_whole_choice(
    bars: Path, measured: Measurements, shop: Shop
) -> None:
    rungs = of(evaluate(measured, order_of(bars, inks=("Snow",)), shop))
    assert [[ink.name for ink in rung.palette] for rung in rungs] == [["Snow"]]
    assert "asks for no more" in rungs[0].reason


def test_photograph_has_no_ladder(shop: Shop, tmp_path: Path) -> None:
    art = saved(photograph(), tmp_path / "photo.png")
    assert evaluate(measure_file(art), order_of(art), shop).ink_ladder == ()
