"""The demo story's figures, to the cent, against a separate program's results."""

from __future__ import annotations

from decimal import Decimal
from itertools import groupby

import pytest

from artcheck.pricing.crossover import crossover
from artcheck.pricing.job import Job
from artcheck.pricing.purchase import cost_curve
from artcheck.pricing.quote import Decoration, Run, pieces_with_spares, quote
from artcheck.pricing.sheets import copies_on_sheet
from tests.pricing.shops import EXPECTED, MONEY, SHOP, buy, job, method, usd

ORDERS = EXPECTED["orders"]


@pytest.mark.parametrize("row", EXPECTED["copies"], ids=lambda r: f"{r['piece']}")
def test_copies_on_the_sheet(row: dict) -> None:  # type: ignore[type-arg]
    layout = copies_on_sheet(tuple(row["sheet"]), tuple(row["piece"]), gutter=row["gutter"])
    assert layout.copies == row["optimum"]


SPOT = [
    # order, key, pieces, width, height, inks, mixed
    ("2 bakery", "spot", 30, 4.25, 4, 1, 0),
    ("3 wheelers", "spot", 54, 12, 11, 1, 0),
    ("4 candle", "spot_stock", 34, 9, 6.5, 2, 0),
    ("4 candle", "spot_one_mixed", 34, 9, 6.5, 2, 1),
    ("4 candle", "spot_two_mixed", 34, 9, 6.5, 2, 2),
    ("5 fair", "spot", 60, 12, 14, 1, 0),
    ("6 band", "spot3", 12, 12, 14, 3, 0),
    ("6 band", "spot4", 12, 12, 14, 4, 0),
    ("7 ferry, cotton tote", "spot", 200, 7, 7, 1, 0),
    ("8 school", "one_size", 96, 9, 9, 2, 0),
    ("8 school", "one_ink", 96, 9, 9, 1, 0),
    ("8 school", "adult", 48, 11, 11, 2, 0),
    ("8 school", "youth_8", 48, 8, 8, 2, 0),
    ("8 school", "youth_7_375", 48, 7.375, 7.375, 2, 0),
    ("1 league", "logo_spot", 15, 3.5, 3, 2, 0),
]


@pytest.mark.parametrize(("order", "key", "pieces", "width", "height", "inks", "mixed"), SPOT)
def test_spot_sheets(
    order: str, key: str, pieces: int, width: float, height: float, inks: int, mixed: int
) -> None:
    want = ORDERS[order][key]
    got = buy("spot", job(pieces, width, height, inks, mixed))
    assert got.copies_per_sheet == want["copies"]
    assert max(got.needed or 0, 0) == want["need"]
    assert got.bought == want["order"]
    assert got.lines[0].unit_amount == usd(want["per_sheet"])
    assert got.lines[0].amount == usd(want["sheets_cost"])
    assert got.total == usd(want["total"])


AREA = [
    ("2 bakery", "area", 30, 4.25, 4),
    ("3 wheelers", "area", 54, 12, 11),
    ("4 candle", "area", 34, 9, 6.5),
    ("5 fair", "area", 60, 12, 14),
    ("6 band", "area", 12, 12, 14),
    ("7 ferry, cotton tote", "area", 200, 7, 7),
    ("8 school", "area", 96, 9, 9),
    ("1 league", "logo_area", 15, 3.5, 3),
]


@pytest.mark.parametrize(("order", "key", "pieces", "width", "height"), AREA)
def test_film_by_area(order: str, key: str, pieces: int, width: float, height: float) -> None:
    want = ORDERS[order][key]
    got = buy("film-area", job(pieces, width, height))
    assert got.total == usd(want["total"])
    if got.lines[0].quantity > 1:
        assert got.lines[0].unit_amount == usd(want["each"])


ROLL = [
    ("2 bakery", "roll", 30, 4.25, 4),
    ("3 wheelers", "roll", 54, 12, 11),
    ("3 wheelers", "roll_at_11_86x10_87", 54, 11.86, 10.87),
    ("7 ferry, cotton tote", "roll", 200, 7, 7),
]


@pytest.mark.parametrize(("order", "key", "pieces", "width", "height"), ROLL)
def test_film_by_the_roll(order: str, key: str, pieces: int, width: float, height: float) -> None:
    want = ORDERS[order][key]
    got = buy("film-roll", job(pieces, width, height))
    assert got.bought == want["feet"]
    assert got.total == usd(want["total"])


def test_names_and_numbers_by_area_and_cut_in_the_shop() -> None:
    name = Job(prints=15, width_in=10, height_in=2, inks=1, each_different=True)
    number = Job(prints=15, width_in=6, height_in=8, inks=1, each_different=True)
    league = ORDERS["1 league"]
    for method_id, key in (("film-area", "numbers_names_area"), ("cut-film", "numbers_names_film")):
        assert buy(method_id, name).total + buy(method_id, number).total == usd(league[key])


FLIPS = [
    (ORDERS["2 bakery"]["crossovers"], 4.25, 4, 1, 0),
    (ORDERS["3 wheelers"]["crossovers"], 12, 11, 1, 0),
    (ORDERS["4 candle"]["crossovers_two_mixed"], 9, 6.5, 2, 2),
    (EXPECTED["flips_5x5"], 5, 5, 1, 0),
]


@pytest.mark.parametrize(("want", "width", "height", "inks", "mixed"), FLIPS)
def test_flips(
    want: list[list[object]], width: float, height: float, inks: int, mixed: int
) -> None:
    most = 400
    prints = [pieces_with_spares(q, SHOP.prices.spares) for q in range(1, most + 1)]
    design = job(1, width, height, inks, mixed)
    totals = {}
    for name, method_id in (("dtf", "film-area"), ("spot", "spot")):
        curve = cost_curve(method(method_id).price, design, MONEY, prints[-1])
        totals[name] = [curve[n] for n in prints]
    got = crossover(totals)
    assert [[f.from_quantity, f.to_quantity, f.method] for f in got.flips] == want


def test_close_call_of_the_bakery() -> None:
    most = 400
    prints = [pieces_with_spares(q, SHOP.prices.spares) for q in range(1, most + 1)]
    curves = {
        m: cost_curve(method(m).price, job(1, 4.25, 4), MONEY, prints[-1])
        for m in ("film-area", "spot")
    }
    got = crossover({m: [curve[n] for n in prints] for m, curve in curves.items()})
    assert got.close_call == (57, 66)
    assert got.stable_from_quantity == 67


QUOTES = [
    # key, method, pieces, blank, width, height, inks, mixed, art minutes
    ("2", "film-area", 30, 4, 4.25, 4, 1, 0, 0),
    ("3", "spot", 54, 4, 12, 11, 1, 0, 0),
    ("4", "spot", 34, 15, 9, 6.5, 2, 2, 0),
    ("4 film", "film-area", 34, 15, 9, 6.5, 2, 0, 0),
    ("5", "spot", 60, 4, 12, 14, 1, 0, 60),
    ("6", "film-area", 12, 4, 12, 14, 3, 0, 30),
    ("7", "spot", 200, 2, 7, 7, 1, 0, 0),
    ("8", "spot", 96, 4, 9, 9, 2, 0, 30),
]


@pytest.mark.parametrize(
    ("key", "method_id", "pieces", "blank", "width", "height", "inks", "mixed", "minutes"), QUOTES
)
def test_quotes(
    key: str,
    method_id: str,
    pieces: int,
    blank: int,
    width: float,
    height: float,
    inks: int,
    mixed: int,
    minutes: int,
) -> None:
    wanted = job(pieces, width, height, inks, mixed)
    part = Decoration(method=method(method_id), job=wanted, bought=buy(method_id, wanted))
    run = Run(pieces=pieces, blank=Decimal(blank), art_minutes=minutes)
    got = quote([part], run, SHOP.prices, "USD")
    want = EXPECTED["quotes"][key]
    assert got.cost == usd(want["cost"])
    assert got.price == usd(want["price"])
    assert got.price_per_piece == usd(want["each"])
    assert got.cost == sum(line.amount for line in got.lines)


def test_quote_of_the_league_with_three_prints_a_jersey() -> None:
    film = method("film-area")
    logo = job(15, 3.5, 3, 2)
    name = Job(prints=15, width_in=10, height_in=2, inks=1, each_different=True)
    number = Job(prints=15, width_in=6, height_in=8, inks=1, each_different=True)
    parts = [
        Decoration(method=film, job=j, bought=buy("film-area", j)) for j in (logo, name, number)
    ]
    run = Run(pieces=15, blank=Decimal(9), art_minutes=15)
    got = quote(parts, run, SHOP.prices, "USD")
    want = EXPECTED["quotes"]["1"]
    assert (got.cost, got.price, got.price_per_piece) == tuple(map(usd, want.values()))


def test_gathered_flips_have_no_hole() -> None:
    got = crossover({"a": [1, 2, 3, 4], "b": [2, 2, 2, 2]})
    assert [(f.from_quantity, f.to_quantity, f.method) for f in got.flips] == [
        (1, 1, "a"),
        (2, 2, "tie"),
        (3, 4, "b"),
    ]
    assert [k for k, _ in groupby(f.method for f in got.flips)] == ["a", "tie", "b"]
