"""Suppliers' terms and the price lists beside sheets, area and roll. Figures worked by hand."""

from __future__ import annotations

from decimal import Decimal
from pathlib import Path

import pytest

from artcheck.domain.prices import PerArea, PerSize, PerStitch
from artcheck.domain.shop import Method, PriceRules, Shop, Supplier
from artcheck.errors import PriceError, ShopFileError
from artcheck.pricing.delivery import FREE, Delivery, delivery_of
from artcheck.pricing.job import Job, Money
from artcheck.pricing.price_lines import price_lines
from artcheck.pricing.purchase import purchase
from artcheck.pricing.quote import Decoration, Run, arrived_together, method_cost, quote
from artcheck.shop import load_shop
from tests.pricing.shops import MONEY, SHOP, buy, job, method, usd

LINES = Money("USD", "each line")


def rules_with(*suppliers: Supplier) -> PriceRules:
    return SHOP.prices.model_copy(update={"suppliers": suppliers})


# --- free delivery ------------------------------------------------------------------------------


def test_more_sheets_are_bought_where_they_come_free() -> None:
    """Ten sheets at 4.00 and a set-up of 10.00 make 50.00, with 12.00 freight 62.00; twelve make
    58.00 and come free: 4.00 less."""
    wanted = job(30, 4.25, 4)  # 31 prints, six a sheet
    delivery = Delivery(freight=usd(12), free_from=usd(58))
    bought = purchase(method("spot").price, wanted, MONEY, delivery)
    assert (bought.needed, bought.bought, bought.total) == (6, 12, usd("58.00"))
    assert (bought.saving, bought.spare_copies) == (usd("4.00"), 12 * 6 - 31)
    assert bought.notes == (
        "12 sheets come without freight and 10 do not: buy 12, save 4.00",
        "41 spare transfers come with the sheets, good for a reorder",
    )


def test_a_free_delivery_that_costs_more_than_the_freight_is_left() -> None:
    wanted = job(30, 4.25, 4)
    bought = purchase(
        method("spot").price, wanted, MONEY, Delivery(freight=usd(5), free_from=usd(58))
    )
    assert (bought.bought, bought.total, bought.saving) == (10, usd("50.00"), usd(0))


def test_least_order_is_a_line_of_its_own() -> None:
    rules = rules_with(Supplier(name="film printer", least_order=usd(40)))
    film, wanted = method("film-area"), job(30, 4.25, 4)
    cost = method_cost(film, wanted, Run(pieces=30), rules, "USD")
    amounts = {line.what: line.amount for line in cost.lines}
    assert cost.decoration == usd("26.35")
    assert amounts["least order, film printer"] == usd("13.65")
    assert amounts["freight, film printer"] == usd("10.00")
    assert cost.total == sum(amounts.values()) == usd("26.35") + usd("13.65") + 10 + usd("12.40")


def test_terms_of_suppliers_and_the_shops_usual_freight() -> None:
    rules = rules_with(Supplier(name="film printer", freight=usd(3), free_from=usd(99)))
    assert delivery_of("film printer", rules) == Delivery(freight=usd(3), free_from=usd(99))
    assert delivery_of("transfer printer", rules) == Delivery(freight=usd(10))
    assert delivery_of(None, rules) == FREE


def two_films(first: int, second: int, rules: PriceRules) -> tuple[Decimal, Decimal]:
    """(goods, whole cost without work) of two prints of 10 x 4 in at 2.00 from one supplier."""
    film = method("film-area")
    jobs = [Job(prints=n, width_in=10, height_in=4, inks=1) for n in (first, second)]
    parts = [Decoration(method=film, job=j, bought=buy("film-area", j)) for j in jobs]
    quoted = quote(parts, Run(pieces=1), rules, "USD")
    work = sum(line.amount for line in quoted.lines if "labour" in line.what)
    goods = sum(p.bought.total for p in arrived_together(parts, rules, MONEY))
    return Decimal(goods), quoted.cost - work


def test_two_prints_of_one_supplier_reach_the_free_delivery_together() -> None:
    rules = rules_with(Supplier(name="film printer", free_from=usd(80)))
    assert two_films(20, 20, rules) == (usd("80.00"), usd("80.00"))  # reached: no freight
    assert two_films(20, 17, rules) == (usd("80.00"), usd("80.00"))  # 74 + 10 is dearer than 80
    assert two_films(20, 14, rules) == (usd("68.00"), usd("78.00"))  # 78 is cheaper than 80


def test_a_single_print_of_an_order_reaches_the_free_delivery_too() -> None:
    rules = rules_with(Supplier(name="film printer", free_from=usd(80)))
    film, wanted = method("film-area"), Job(prints=37, width_in=10, height_in=4, inks=1)
    part = Decoration(method=film, job=wanted, bought=buy("film-area", wanted))
    (arrived,) = arrived_together([part], rules, MONEY)
    assert (part.bought.total, arrived.bought.total) == (usd("74.00"), usd("80.00"))
    whole = quote([part], Run(pieces=36), rules, "USD")
    assert whole.cost == method_cost(film, wanted, Run(pieces=36), rules, "USD").total


def test_the_customers_lines_hold_the_terms() -> None:
    """10.00 and 20.00 of film; 30.00 missing to the least order and 10.00 freight beside them.

    A third and two thirds of 70.00, at a margin of one half, and the labour of two pieces each.
    """
    rules = rules_with(Supplier(name="film printer", least_order=usd(60)))
    film = method("film-area")
    jobs = [Job(prints=n, width_in=10, height_in=4, inks=1) for n in (5, 10)]
    parts = [Decoration(method=film, job=j, bought=buy("film-area", j)) for j in jobs]
    run = Run(pieces=1)
    quoted = quote(parts, run, rules, "USD")
    lines = price_lines(parts, run, rules, quoted, ["tee"], ["one", "two"])
    labour = 2 * 2 * usd("0.40")
    assert [line.amount - labour for line in lines] == [usd("46.67"), usd("93.33")]


def test_a_print_is_not_bought_up_for_a_delivery_that_the_other_makes_free() -> None:
    rules = rules_with(Supplier(name="film printer", free_from=usd(80)))
    film = method("film-area")
    jobs = [Job(prints=n, width_in=10, height_in=4, inks=1) for n in (37, 20)]
    parts = [
        Decoration(
            method=film,
            job=j,
            bought=purchase(film.price, j, MONEY, delivery_of("film printer", rules)),
        )
        for j in jobs
    ]
    assert parts[0].bought.bought == 40  # alone: 80 and free instead of 74 and 10
    assert [p.bought.bought for p in arrived_together(parts, rules, MONEY)] == [37, 20]


# --- other price lists --------------------------------------------------------------------------

CLASSES = PerSize.model_validate(
    {
        "kind": "per_size",
        "breaks": [1, 24],
        "classes": [
            {"name": "badge", "within_in": [4, 5], "prices": ["1.20", "0.90"]},
            {"name": "front", "within_in": [12, 12], "prices": ["3.00", "2.50"]},
        ],
        "per_design": "8.00",
    }
)


def test_a_print_pays_the_smallest_class_that_holds_it_either_way_up() -> None:
    for size in ((4, 5), (5, 4), (1, 1)):
        assert purchase(CLASSES, job(9, *size), LINES).total == 10 * usd("1.20") + 8
    assert purchase(CLASSES, job(9, 5, 4.25), LINES).total == 10 * usd("3.00") + 8


def test_twenty_prints_of_a_class_are_bought_as_twenty_four() -> None:
    """20 x 1.20 = 24.00; 24 x 0.90 = 21.60."""
    bought = purchase(CLASSES, job(19, 4, 4), LINES)
    assert (bought.needed, bought.bought, bought.spare_copies) == (20, 24, 4)
    assert bought.total == usd("29.60")
    assert bought.saving == usd("2.40")


@pytest.mark.parametrize(
    ("size", "words"), [((13, 6.5), "12.00 in wide"), ((6, 13), "5.53 in wide")]
)
def test_larger_than_every_class_names_the_largest_width(
    size: tuple[float, float], words: str
) -> None:
    with pytest.raises(PriceError, match=words):
        purchase(CLASSES, job(9, *size), LINES)


STITCHES = PerStitch.model_validate(
    {
        "kind": "per_stitch",
        "breaks": [1, 12],
        "per_thousand": ["1.00", "0.80"],
        "stitches_per_in2": 2000,
        "least_stitches": 5000,
        "per_design": "30.00",
        "widest_in": 12,
    }
)


def sewn(area_in2: float | None, pieces: int = 11) -> Job:
    return Job(prints=pieces, width_in=4, height_in=3, inks=2, ink_area_in2=area_in2)


def test_stitches_follow_the_inked_area_by_the_begun_thousand() -> None:
    assert purchase(STITCHES, sewn(4.1), LINES).total == 11 * 9 + 30  # 8200 stitches: 9 thousand
    assert purchase(STITCHES, sewn(1.0), LINES).total == 11 * 5 + 30  # the least


def test_stitches_tell_the_cheaper_quantity_and_do_not_buy_it() -> None:
    bought = purchase(STITCHES, sewn(4.1), LINES)
    assert bought.bought == 11
    assert bought.notes == ("12 pieces would cost 86.40 to print, less than 11 do",)


def test_stitches_need_the_inked_area() -> None:
    with pytest.raises(PriceError, match="inked area"):
        purchase(STITCHES, sewn(None), LINES)


WEEDED = PerArea(
    kind="per_area",
    per_in2=usd("0.03"),
    per_piece=usd("0.25"),
    weeding_seconds_per_shape=20,
    weeding_per_hour=usd(30),
)


def test_weeding_is_paid_by_the_shape() -> None:
    """Twelve shapes of 20 s make 240 s: 2.00 at 30.00 an hour."""
    wanted = Job(prints=10, width_in=10, height_in=4, inks=1, shapes=12)
    assert purchase(WEEDED, wanted, LINES).total == 10 * (usd("1.20") + usd("0.25") + 2)


def test_weeding_without_a_count_is_said() -> None:
    wanted = Job(prints=10, width_in=10, height_in=4, inks=1)
    bought = purchase(WEEDED, wanted, LINES)
    assert bought.total == 10 * (usd("1.20") + usd("0.25"))
    assert any("not counted" in note for note in bought.notes)


@pytest.mark.parametrize(
    ("method_id", "size", "words"),
    [
        ("spot", (30.0, 10.0), "15.00 in wide"),
        ("film-area", (30.0, 25.0), "26.40 in wide"),
        ("film-roll", (23.0, 46.0), "22.00 in wide"),
    ],
)
def test_too_large_names_the_largest_width_that_fits(
    method_id: str, size: tuple[float, float], words: str
) -> None:
    """By proportion: 30 x 25 in with its shorter side at 22 in is 26.4 in wide."""
    price = method(method_id).price
    with pytest.raises(PriceError, match=words):
        purchase(price, job(9, *size), MONEY)
    most = float(words.split()[0])
    assert purchase(price, job(9, most, most * size[1] / size[0]), MONEY).total > 0
    with pytest.raises(PriceError):
        purchase(price, job(9, most + 0.01, (most + 0.01) * size[1] / size[0]), MONEY)


# --- the shop file ------------------------------------------------------------------------------

SECOND = """
[[prices.suppliers]]
name = "{name}"
free_from = "150"

[[methods]]
id = "spot-2"
like = "{like}"
name = "Spot transfers from the north"
supplier = "northern printer"
[methods.price]
kind = "per_sheet"
sheet_in = [10, 16]
breaks = [5, 50]
fewest_sheets = 5
by_inks = {{ 1 = [5, 2] }}
"""


def with_second(tmp_path: Path, like: str = "spot", name: str = "northern printer") -> Shop:
    from artcheck.shop import packaged_shop_text

    file = tmp_path / "shop.toml"
    terms, table = SECOND.format(like=like, name=name).split("[[methods]]")
    head, tail = packaged_shop_text().split("[prices.change_minutes]", 1)
    # the second supplier's table comes after the packaged methods and before the inks
    methods, rest = tail.split("# Inks on the shelf", 1)
    file.write_text(
        f"{head}{terms}[prices.change_minutes]{methods}[[methods]]{table}# Inks on the shelf{rest}"
    )
    return load_shop(file)


def test_a_second_supplier_of_one_method_is_its_price_and_its_terms(tmp_path: Path) -> None:
    shop = with_second(tmp_path)
    first, second = shop.method("spot"), shop.method("spot-2")
    own = {"id", "name", "supplier", "price"}
    alike = set(Method.model_fields) - own
    assert all(getattr(first, key) == getattr(second, key) for key in alike)
    assert delivery_of(second.supplier, shop.prices).free_from == 150
    five = method_cost(second, job(5, 5, 5), Run(pieces=5), shop.prices, "USD")
    assert (
        five.decoration == 25
    )  # two of the three sheets by ten inches hold six: five are the least
    assert five.sheets_bought == 5


def test_terms_and_likeness_that_name_nothing_are_faults(tmp_path: Path) -> None:
    with pytest.raises(ShopFileError, match=r"methods\[4\] \"spot-2\".like: 'spott' is no method"):
        with_second(tmp_path, like="spott")
    with pytest.raises(ShopFileError, match="'nothern printer' supplies no method"):
        with_second(tmp_path, name="nothern printer")
