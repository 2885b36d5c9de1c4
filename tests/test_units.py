"""Lengths and money against their definitions."""

from __future__ import annotations

import contextlib
import math
from decimal import Decimal

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from artcheck.units import (
    celsius_to_fahrenheit,
    fahrenheit_to_celsius,
    inches,
    points,
    round_money,
)


@pytest.mark.parametrize(
    ("text", "value"),
    [
        ("11in", 11),
        ("11", 11),
        ('3.5"', 3.5),
        ("25.4mm", 1),
        ("2.54 cm", 1),
        ("72pt", 1),
        (".5in", 0.5),
    ],
)
def test_lengths(text: str, value: float) -> None:
    """1 in = 25.4 mm (1959); 1 pt = 1/72 in (CSS Values and Units Level 4)."""
    assert inches(text) == pytest.approx(value)


@pytest.mark.parametrize("text", ["", "wide", "0in", "-2in", "3 ft", "1e3in", "nan", "in"])
def test_lengths_that_are_none(text: str) -> None:
    with pytest.raises(ValueError):
        inches(text)


def test_point_is_a_seventy_second() -> None:
    assert points(300, 300) == 72
    assert points(1, 72) * 25.4 / 72 == pytest.approx(0.3528, abs=5e-5)


@pytest.mark.parametrize(("f", "c"), [(32, 0), (212, 100), (375, 190.56), (305, 151.67)])
def test_temperatures(f: float, c: float) -> None:
    assert fahrenheit_to_celsius(f) == pytest.approx(c, abs=0.005)
    assert celsius_to_fahrenheit(fahrenheit_to_celsius(f)) == pytest.approx(f)


@pytest.mark.parametrize(
    ("amount", "currency", "rounded"),
    [
        ("0.525", "USD", "0.53"),
        ("0.524", "EUR", "0.52"),
        ("10.5", "JPY", "11"),
        ("1.2345", "KWD", "1.235"),
    ],
)
def test_money_rounds_half_up_to_the_currencys_digits(
    amount: str, currency: str, rounded: str
) -> None:
    assert round_money(Decimal(amount), currency) == Decimal(rounded)


@given(st.decimals(min_value=0, max_value=10**6, places=4))
def test_rounding_is_within_half_a_unit_and_stable(amount: Decimal) -> None:
    once = round_money(amount, "USD")
    assert abs(once - amount) <= Decimal("0.005")
    assert round_money(once, "USD") == once


@settings(max_examples=1_000)
@given(
    st.from_regex(
        r"[-+ ]?(0{300}|9{400})?[0-9]{0,9}[.,]?[0-9e]{0,9} ?(in|mm|cm|pt|\"|ft)?", fullmatch=True
    )
)
def test_any_words_are_a_length_that_can_be_or_none(text: str) -> None:
    with contextlib.suppress(ValueError):
        assert 0 < inches(text) < math.inf
