"""Shop and order files with wrong, odd and extreme values: told of, or priced without a fault."""

from __future__ import annotations

import io
import json
import re
import tempfile
from collections.abc import Iterator
from decimal import Decimal
from functools import cache
from pathlib import Path

from hypothesis import given, settings
from hypothesis import strategies as st

from artcheck.domain.check import OrderReport
from artcheck.domain.measurements import Measurements
from artcheck.errors import ArtcheckError, OrderFileError, ShopFileError
from artcheck.pipeline import evaluate_order, examine
from artcheck.plain import plain
from artcheck.shop import load_order, load_shop, packaged_shop_text
from tests.art import two_inks

SHOP = packaged_shop_text()
ORDER = """\
name = "Owl Parish fair"
customer = "Owl Parish"
number = "27"
date = 2031-04-01
needed_by = 2031-05-01
rush = false

[garment]
kind = "tee"
colour = "navy"
fabric = "cotton"
care_dots = 2
sizes = [{ size = "M", quantity = 30 }, { size = "L", quantity = 18 }]

[[prints]]
art = "owl.png"
width_in = 9.5
brand_colours = [{ name = "barn red", colour = "#c81e28" }]

[[prints]]
art = "owl.png"
height_in = 2.5
sizes = ["L"]
art_minutes = 20
"""

_EDGE = ["0", "-1", "1", "0.0", "1e-300", "1e300", "nan", "inf", "-inf", "9" * 30, "true", '""']
_ODD = ["[]", "{}", "[[]]", "1979-05-27", "07:32:00", '"\\u001b[2J"', '"\\u202e"', '"a\\nb"']
_COLOURS = ['"#12"', '"#gggggg"', '"rgb(0,0,0)"', '"lab 1 2 3"', '"cmyk 0 0 0 999"', '"no ink"']
VALUES = st.one_of(
    st.sampled_from(_EDGE + _ODD + _COLOURS),
    st.integers(-(10**6), 10**6).map(str),
    st.floats(allow_nan=False, allow_infinity=False).map(repr),
    st.decimals(-10, 10_000, places=2).map(lambda amount: f'"{amount}"'),
    st.text(max_size=12).map(json.dumps),
)
NUMBERS = st.one_of(
    st.sampled_from(["0", "1", "0.01", "1e-9", "0.000001", "1000000000", "999999999.99", "-1"]),
    st.integers(0, 10_000).map(str),
    st.decimals(0, 10_000, places=3).map(str),
)


@st.composite
def changed(draw: st.DrawFn, text: str) -> str:
    """A TOML text of which one to three values are others, or a line is lost or doubled."""
    lines = text.splitlines()
    for _ in range(draw(st.integers(1, 3))):
        number = draw(st.sampled_from([n for n, line in enumerate(lines) if line.strip()]))
        found = re.match(r"\s*[\w.\"-]+\s*=\s*", lines[number])
        how = draw(st.sampled_from(["value", *["number"] * 5, "lose", "double"]))
        numbers = list(re.finditer(r"(?<![\w#.-])-?\d+(?:\.\d+)?(?![\w.-])", lines[number]))
        if how == "value" and found:
            lines[number] = found[0] + draw(VALUES)
        elif how == "number" and numbers:
            one = draw(st.sampled_from(numbers))
            other = draw(NUMBERS)
            lines[number] = lines[number][: one.start()] + other + lines[number][one.end() :]
        elif how == "double":
            lines.insert(number, lines[number])
        else:
            lines.pop(number)
    return "\n".join(lines)


@cache
def measured() -> Measurements:
    file = io.BytesIO()
    two_inks().save(file, "PNG")
    return examine(file.getvalue(), "owl.png")[0]


def amounts(report: OrderReport) -> Iterator[tuple[str, Decimal | float]]:
    """Every number of a report, by its place."""
    stack: list[tuple[str, object]] = [("", report.model_dump())]
    while stack:
        place, here = stack.pop()
        if isinstance(here, dict):
            stack += [(f"{place}.{key}", value) for key, value in here.items()]
        elif isinstance(here, list | tuple):
            stack += [(f"{place}[{n}]", value) for n, value in enumerate(here)]
        elif isinstance(here, Decimal | float):
            yield place, here


def outcome(shop_text: str, order_text: str) -> str:
    """How it ends; anything but a report without faults or an error's plain words fails."""
    with tempfile.TemporaryDirectory() as place:
        shop_file, order_file = Path(place) / "shop.toml", Path(place) / "order.toml"
        shop_file.write_text(shop_text, "utf-8")
        order_file.write_text(order_text, "utf-8")
        try:
            order = load_order(order_file)
            report = evaluate_order([measured()] * len(order.prints), order, load_shop(shop_file))
        except ArtcheckError as error:
            stop = error
        else:
            check(report)
            return "priced"
    assert plain(str(stop)).strip()
    if isinstance(stop, ShopFileError | OrderFileError):
        assert stop.faults
        return "refused"
    return type(stop).__name__


def check(report: OrderReport) -> None:
    """No number of a report is none; no amount of money is below nothing, but for a saving."""
    for name, amount in amounts(report):
        assert Decimal(amount).is_finite(), (name, amount)
        if isinstance(amount, Decimal):
            assert amount >= 0 or name.endswith(".saving"), (name, amount)


def test_the_texts_themselves_are_priced() -> None:
    assert outcome(SHOP, ORDER) == "priced"


@settings(max_examples=150)
@given(changed(SHOP))
def test_changed_shops(text: str) -> None:
    outcome(text, ORDER)


@settings(max_examples=150)
@given(changed(ORDER))
def test_changed_orders(text: str) -> None:
    outcome(SHOP, text)


@settings(max_examples=300)
@given(st.text(max_size=200))
def test_any_text_as_a_shop_file(text: str) -> None:
    outcome(text, ORDER)
