"""Shop and order files: packaged defaults, the shop's own, and every fault at once."""

from __future__ import annotations

import re
from decimal import Decimal
from pathlib import Path
from typing import get_args

import pytest

from artcheck.domain import prices
from artcheck.domain.base import Record
from artcheck.domain.prices import PerSheet
from artcheck.errors import OrderFileError, ShopFileError
from artcheck.shop import load_order, load_shop, packaged_shop_text


def test_packaged_shop_says_that_it_is_a_demo() -> None:
    shop = load_shop()
    assert shop.demo
    assert shop.prices.margin == Decimal("0.50")


def test_every_limit_names_unit_status_and_reason() -> None:
    limits = load_shop().limits
    for name in type(limits).model_fields:
        limit = getattr(limits, name)
        assert limit.unit, name
        assert limit.reason, name
        assert limit.status in ("standard", "practice", "memory"), name


def test_a_limit_the_shop_changes_is_the_shops(tmp_path: Path) -> None:
    file = tmp_path / "shop.toml"
    file.write_text("[limits.line_spot]\nchange = 1.2\n")
    limit = load_shop(file).limits.line_spot
    assert (limit.change, limit.stop, limit.unit) == (1.2, 0.5, "pt")
    assert limit.source == "this shop's figure"
    assert load_shop(file).demo


OWN = """
name = "Own shop"
currency = "EUR"
inks = [{ name = "Ink", lab = [50, 0, 0] }]
garment_colours = [{ name = "white", lab = [95, 0, 0] }]
[prices]
margin = "0.4"
freight_per_supplier_order = "0"
labour_per_press = "0"
art_per_hour = "0"
spares = { share = 0, least = 0 }
[[methods]]
id = "film"
name = "Film"
family = "full_colour"
exact_inks = false
fades = "yes"
photos = true
each_different = true
part_transparent = false
price = { kind = "per_area", per_in2 = "0.04" }
"""


def test_own_methods_bring_no_invented_price(tmp_path: Path) -> None:
    file = tmp_path / "shop.toml"
    file.write_text(OWN)
    shop = load_shop(file)
    assert not shop.demo
    assert [m.id for m in shop.methods] == ["film"]
    assert shop.garments == ()
    assert shop.fabrics  # the trade's, not the demo's
    file.write_text(OWN.replace('currency = "EUR"\n', ""))
    with pytest.raises(ShopFileError, match="currency is missing"):
        load_shop(file)


def test_list_with_holes_and_rising_breaks_is_refused_with_all_faults(tmp_path: Path) -> None:
    file = tmp_path / "shop.toml"
    sheets = """
[methods.price]
kind = "per_sheet"
sheet_in = [12, 15]
breaks = [20, 10]
by_inks = { 1 = ["1", "2"], 3 = ["1"] }
"""
    file.write_text(OWN.replace('price = { kind = "per_area", per_in2 = "0.04" }', sheets))
    with pytest.raises(ShopFileError) as caught:
        load_shop(file)
    told = str(caught.value)
    assert "breaks must rise" in told
    assert "must price 1, 2, 3" in told
    assert 'methods[0] "film"' in told


FIVE = """
name = "Own shop"
inks = [{ name = "Ink", lab = [50, 0, 0] }, { name = "ink", lab = [40, 0, 0] }]
garment_colours = [{ name = "white", lab = [95, 0, 0] }]
[prices]
margin = 1.5
mark_up = 1
freight_per_supplier_order = "10 EUR"
labour_per_press = 0
art_per_hour = 0
spares = { share = 0, least = 0 }
[[methods]]
id = "spot"
name = "Spot"
family = "spot"
exact_inks = true
fades = "no"
photos = false
each_different = false
part_transparent = false
[methods.price]
kind = "per_sheet"
sheet_in = [12, 15]
margin_in = 6
breaks = [10, 40, 20]
fewest_sheets = 5
currency = "GBP"
by_inks = { 1 = [3, 2, 2.5], 2 = [4, 1, 1], 4 = [9, 8] }
"""


def test_every_fault_of_a_file_is_told_at_its_own_place(tmp_path: Path) -> None:
    """Also those that lie behind others: a check of the whole must not wait for its parts."""
    file = tmp_path / "shop.toml"
    file.write_text(FIVE)
    with pytest.raises(ShopFileError) as caught:
        load_shop(file)
    faults = dict(fault.split(": ", 1) for fault in caught.value.faults if ": " in fault)
    told = set(caught.value.faults)
    price = 'methods[0] "spot".price'
    wanted = {
        'inks[1] "ink"': "more than once",
        "prices": "either margin or mark_up",
        "prices.margin": "0.5 for 50 %",
        "prices.freight_per_supplier_order": "no plain number",
        f"{price}.breaks[2]": "20 follows 40",
        f"{price}.breaks[0]": "prices start at 10 sheets but 5 may be bought",
        f"{price}.margin_in": "nothing of the sheet",
        f"{price}.by_inks": "must price 1, 2, 3",
        f"{price}.by_inks.1[2]": "2.5 follows 2",
        f"{price}.by_inks.2[1]": "less than 2 for an ink fewer",
        f"{price}.by_inks.4": "2 prices for 3 breaks",
    }
    for place, words in wanted.items():
        assert words in faults[place], place
    assert "currency is missing" in told
    assert any(f.startswith(f"{price}.currency") and "one currency" in f for f in told)
    assert f"{price}.by_inks.2[2]" in faults
    assert len(told) == len(wanted) + 3


def test_a_file_without_faults_is_not_refused_for_what_is_allowed(tmp_path: Path) -> None:
    """Equal prices at two breaks, or for two inks, are a price list like any other."""
    file = tmp_path / "shop.toml"
    sheets = """
[methods.price]
kind = "per_sheet"
sheet_in = [12, 15]
breaks = [1, 20]
by_inks = { 1 = [3, 3], 2 = [3, 3] }
"""
    file.write_text(OWN.replace('price = { kind = "per_area", per_in2 = "0.04" }', sheets))
    assert isinstance(load_shop(file).methods[0].price, PerSheet)


@pytest.mark.parametrize("margin", ["1", "1.5", "-0.1", "nan", '"50 %"'])
def test_margins_that_are_none(margin: str, tmp_path: Path) -> None:
    file = tmp_path / "shop.toml"
    file.write_text(f"[prices]\nmargin = {margin}\n")
    with pytest.raises(ShopFileError, match=r"1 fault: prices\.margin: "):
        load_shop(file)


def test_a_margin_of_nothing_sells_at_cost(tmp_path: Path) -> None:
    file = tmp_path / "shop.toml"
    file.write_text("[prices]\nmargin = 0\n")
    assert load_shop(file).prices.margin == 0


@pytest.mark.parametrize("currency", ["usd", "US$", "EURO", ""])
def test_currencies_that_are_none(currency: str, tmp_path: Path) -> None:
    file = tmp_path / "shop.toml"
    file.write_text(f'currency = "{currency}"\n')
    with pytest.raises(ShopFileError, match="ISO 4217"):
        load_shop(file)


def test_the_documented_price_lists_load(tmp_path: Path) -> None:
    page = (Path(__file__).parents[2] / "docs" / "prices.md").read_text(encoding="utf-8")
    block = page.split("```toml\n")[1].split("```")[0]
    methods, terms = block.split("[[prices.suppliers]]")
    own = OWN.split("[[methods]]")[0]
    file = tmp_path / "shop.toml"
    file.write_text(f"{own}[[prices.suppliers]]{terms}\n{methods}")
    shop = load_shop(file)
    assert [m.price.kind for m in shop.methods] == ["per_size", "per_area"]
    assert shop.methods[1].photos  # from the method it is like
    assert [s.least_order for s in shop.prices.suppliers] == [20]
    for kind in prices.__dict__.values():
        if isinstance(kind, type) and issubclass(kind, Record) and "kind" in kind.model_fields:
            row = next(line for line in page.splitlines() if line.startswith(f"| `{tag(kind)}`"))
            assert set(kind.model_fields) - {"kind"} == set(re.findall(r"`(\w+)`", row)[1:])


def tag(kind: type[Record]) -> str:
    return str(get_args(kind.model_fields["kind"].annotation)[0])


def test_packaged_text_is_a_valid_shop_file(tmp_path: Path) -> None:
    file = tmp_path / "shop.toml"
    file.write_text(packaged_shop_text())
    assert load_shop(file) == load_shop()


def test_margin_and_mark_up_exclude_each_other(tmp_path: Path) -> None:
    file = tmp_path / "shop.toml"
    file.write_text('[prices]\nmark_up = "1.0"\n')
    with pytest.raises(ShopFileError, match="either margin or mark_up"):
        load_shop(file)


def test_ink_rows_are_read_by_number() -> None:
    price = load_shop().method("spot").price
    assert isinstance(price, PerSheet)
    assert price.by_inks[4][0] == Decimal("10.00")


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("", "prints is missing"),
        ("prints = []", "prints"),
        ('[[prints]]\nart = "a.png"\nwidth_in = 0\n', "width_in"),
        ('[[prints]]\nart = "a.png"\nwidth_in = 4\nheight_in = 4\n', "not both"),
        ('[[prints]]\nart = "a.png"\nwith_in = 4\n', "did you mean width_in"),
        ("not toml at all", "not TOML"),
        ('[garment]\nquantity = 0\n[[prints]]\nart = "a.png"\n', "greater than or equal to 1"),
        ('[garment]\nquantity = 1000000000\n[[prints]]\nart = "a.png"\n', "1000000"),
    ],
)
def test_order_faults(text: str, words: str, tmp_path: Path) -> None:
    file = tmp_path / "order.toml"
    file.write_text(text)
    with pytest.raises(OrderFileError, match=words):
        load_order(file)


def test_art_is_beside_the_order(tmp_path: Path) -> None:
    file = tmp_path / "order.toml"
    file.write_text('[[prints]]\nart = "art/a.png"\n')
    assert load_order(file).prints[0].art == str(tmp_path / "art" / "a.png")


def test_missing_file_is_one_clear_fault(tmp_path: Path) -> None:
    with pytest.raises(ShopFileError, match="cannot be opened"):
        load_shop(tmp_path / "none.toml")
