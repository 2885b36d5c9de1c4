"""An order of several garments: each print judged on each, bought together."""

from __future__ import annotations

import json
from decimal import Decimal
from importlib import resources
from pathlib import Path

import pytest

from artcheck.cli.run import run
from artcheck.domain.check import OrderReport
from artcheck.domain.measurements import Measurements
from artcheck.domain.order import Garment, Order, Print
from artcheck.errors import OrderFileError, UsageError
from artcheck.pipeline import evaluate_order, measure_order, quote_order
from artcheck.report.data import to_json
from artcheck.report.papers.blocks import Art, Lines
from artcheck.report.papers.printer import printer_paper
from artcheck.report.papers.quote import garment_blocks
from artcheck.report.price_steps import explained
from artcheck.shop import load_order, load_shop
from tests.report.test_page import picture

DEMO = Path(str(resources.files("artcheck"))) / "demo"
SHOP = load_shop()
BOOKSHOP = f"""
name = "Plover Row bookshop"

[[garments]]
kind = "tee"
colour = "black"
fabric = "cotton"
sizes = [{{ size = "S", quantity = 12 }}, {{ size = "M", quantity = 26 }}]

[[garments]]
name = "pale hoodie"
kind = "hoodie"
colour = "natural"
fabric = "cotton"
sizes = [{{ size = "M", quantity = 9 }}, {{ size = "L", quantity = 5 }}]

[[garments]]
name = "their totes"
kind = "tote"
fabric = "cotton"
quantity = 25
supplied = true

[[prints]]
art = "{DEMO / "art" / "8-school.svg"}"
width_in = 9
garments = ["tee", "pale hoodie"]
art_minutes = 30
method = "spot"

[[prints]]
art = "{DEMO / "art" / "2-bakery.png"}"
width_in = 3
sizes = ["M"]

[[prints]]
art = "{DEMO / "art" / "1-league-logo.svg"}"
width_in = 6
garments = ["their totes"]
method = "film-area"
"""
Checked = tuple[Order, tuple[Measurements, ...], OrderReport]


@pytest.fixture(scope="module")
def bookshop(tmp_path_factory: pytest.TempPathFactory) -> Checked:
    file = tmp_path_factory.mktemp("orders") / "bookshop.toml"
    file.write_text(BOOKSHOP)
    order = load_order(file)
    measured = measure_order(order)
    return order, measured, evaluate_order(measured, order, SHOP)


def test_a_print_stands_once_for_each_garment_that_carries_it(bookshop: Checked) -> None:
    """The totes have no size M, so the small print is on tees and hoodies alone."""
    order, _, report = bookshop
    assert order.pieces == 38 + 14 + 25
    assert [(p.garments, p.sizes) for p in order.prints] == [
        (("tee",), ()),
        (("pale hoodie",), ()),
        (("tee",), ("M",)),
        (("pale hoodie",), ("M",)),
        (("their totes",), ()),
    ]
    assert [one.garment.pieces for one in report.prints] == [38, 14, 26, 9, 25]
    assert report.names == (
        "8-school.svg (tee)",
        "8-school.svg (pale hoodie)",
        "2-bakery.png (tee, M)",
        "2-bakery.png (pale hoodie, M)",
        "1-league-logo.svg (their totes)",
    )
    assert order.spread() == order


def test_each_garment_is_judged_for_itself(bookshop: Checked) -> None:
    """White ink shows on black and not on natural."""
    _, _, report = bookshop
    unreadable = [
        any(f.id == "contrast-unreadable" for m in one.methods for f in m.findings)
        for one in report.prints[2:4]
    ]
    assert unreadable == [False, True]


def test_copies_for_both_garments_are_one_purchase(bookshop: Checked) -> None:
    """(38 + 2) + (14 + 1) = 55 sheets of one copy in two inks at 3.00, and two set-ups of 10.00;
    apart 40 at 3.00 and 15 at 6.00 (cheaper than 20 at 4.50), with set-ups twice."""
    _, _, report = bookshop
    assert report.quote is not None
    (school,) = [one for one in report.quote.together if one.prints == (0, 1)]
    assert school.how == "one design"
    assert school.cost == 55 * Decimal("3.00") + 20
    assert school.cost_apart == 40 * Decimal("3.00") + 20 + min(
        15 * Decimal("6.00"), 20 * Decimal("4.50")
    ) + Decimal(20)


def test_garments_spares_and_labour_are_counted_for_each(bookshop: Checked) -> None:
    order, measured, report = bookshop
    assert report.quote is not None
    lines = {line.what: line for line in report.quote.lines}
    assert lines["tee blanks"].quantity == 38 + 2
    assert lines["pale hoodie blanks"].quantity == 14 + 1
    assert "their totes blanks" not in lines  # theirs: they cost the shop nothing
    assert lines["press labour"].quantity == (40 + 15) + (26 + 1) + (9 + 1) + (25 + 1)
    assert lines["art time, hours"].quantity == Decimal("0.5")  # once for both garments
    assert {(s.garment, s.size): s.spares for s in report.quote.spares} == {
        ("tee", "S"): 1,
        ("tee", "M"): 1,
        ("pale hoodie", "M"): 1,
        ("pale hoodie", "L"): 0,
    }
    quoted = quote_order(measured, order, report, SHOP)
    assert quoted.price == report.quote.price == sum(line.amount for line in quoted.lines)
    assert [one.name for one in quoted.garments] == ["tee", "pale hoodie", "their totes"]
    assert [one.included for one in quoted.garments] == [True, True, False]


def test_papers_name_every_garment(bookshop: Checked) -> None:
    order, measured, report = bookshop
    blocks = garment_blocks(quote_order(measured, order, report, SHOP))
    words = [line for block in blocks if isinstance(block, Lines) for line in block.texts]
    assert words == ["38 × tee, black, cotton", "14 × hoodie, natural, cotton", "25 × tote, cotton"]


def test_the_price_is_reckoned_from_the_prints_on(bookshop: Checked) -> None:
    _, _, report = bookshop
    steps = list(explained(report, SHOP.prices))
    assert any("prints: 38 + 2 = 40" in step for step in steps)
    assert any("a sheet holds 1, 55 prints need 55 sheets" in step for step in steps)


def refused(text: str, tmp_path: Path) -> str:
    file = tmp_path / "order.toml"
    file.write_text(text)
    with pytest.raises(OrderFileError) as fault:
        load_order(file)
    return str(fault.value)


def test_faults_of_garments_are_told(tmp_path: Path) -> None:
    two = '[[garments]]\nkind = "tee"\n[[garments]]\nkind = "tee"\n[[prints]]\nart = "a.png"\n'
    assert "a name of its own" in refused(two, tmp_path)
    both = '[garment]\nkind = "tee"\n[[garments]]\nkind = "hoodie"\n[[prints]]\nart = "a.png"\n'
    assert "not both" in refused(both, tmp_path)
    lost = '[[garments]]\nkind = "tee"\n[[prints]]\nart = "a.png"\ngarments = ["cap"]\n'
    assert "a.png is for cap" in refused(lost, tmp_path)
    bare = (
        '[[garments]]\nkind = "tee"\n[[garments]]\nkind = "cap"\n'
        '[[prints]]\nart = "a.png"\ngarments = ["tee"]\n'
    )
    assert "no print is for cap" in refused(bare, tmp_path)


def test_an_order_that_is_not_spread_is_refused() -> None:
    art = str(DEMO / "art" / "2-bakery.png")
    garments = (Garment(kind="tee", quantity=5), Garment(kind="hoodie", quantity=5))
    order = Order(garments=garments, prints=(Print(art=art, width_in=4),))
    measured = measure_order(order)
    with pytest.raises(UsageError, match="several garments"):
        evaluate_order(measured, order, SHOP)
    assert len(order.spread().prints) == 2


def test_options_that_mean_one_garment_are_refused(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    file = tmp_path / "bookshop.toml"
    file.write_text(BOOKSHOP)
    assert run(["check", "--order", str(file), "--quantity", "9"]) == 2
    assert "--quantity does not say which" in capsys.readouterr().err


def test_the_printers_sheet_orders_once_what_is_bought_once(bookshop: Checked) -> None:
    """55 sheets stand at the first of the two prints, the other refers to it."""
    order, measured, report = bookshop
    quoted = quote_order(measured, order, report, SHOP)
    blank = picture((0, 0, 20, 20))
    arts = [Art(blank, 2, 2, "#ffffff", 0.1, "") for _ in order.prints]
    assert report.quote is not None
    together = report.quote.together
    paper = printer_paper(quoted, together, report.prints, order.prints, SHOP, arts)
    pairs = [block.pairs for block in paper.blocks if isinstance(block, Art)]
    said = [value for own in pairs for _, value in own]
    assert said.count("55 × sheets 12 × 15 in, 2 inks") == 1
    assert said.count("with 8-school (tee)") == 1
    assert said.count("together with 8-school (pale hoodie):") == 1


def keys_of(value: object) -> set[str]:
    """Every key in a tree of JSON."""
    if isinstance(value, dict):
        return set(value).union(*map(keys_of, value.values()))
    return set().union(*map(keys_of, value)) if isinstance(value, list) else set()


def test_the_quote_tells_nothing_of_what_the_shop_pays(bookshop: Checked) -> None:
    """Told by keys: a deposit of half a price can equal its cost."""
    order, measured, report = bookshop
    assert report.quote is not None
    of_purchase = {"together", "decoration", "cost", "cost_apart", "unit_amount", "how", "layouts"}
    assert of_purchase <= keys_of(json.loads(to_json(report.quote)))
    quoted = quote_order(measured, order, report, SHOP)
    assert not of_purchase & keys_of(json.loads(to_json(quoted)))
