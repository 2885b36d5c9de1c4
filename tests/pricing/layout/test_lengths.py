"""What a length typed by a person means."""

from __future__ import annotations

from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from artcheck.errors import UsageError
from artcheck.pricing.layout.lengths import as_integers, exact, not_negative, positive


@pytest.mark.parametrize(
    ("value", "meant"),
    [
        (7, Fraction(7)),
        (7.375, Fraction(59, 8)),
        (11.86, Fraction(593, 50)),
        (0.1 + 0.2, Fraction(3, 10)),
        (1e-06, Fraction(1, 1_000_000)),
        (Decimal("3.50"), Fraction(7, 2)),
        (Fraction(1, 3), Fraction(1, 3)),
        (1 / 3, Fraction(1, 3)),
        (280 / 25.4, Fraction(1400, 127)),
        (3.14159265358979, Fraction(3141593, 1_000_000)),
    ],
)
def test_the_number_meant(value: float | Decimal | Fraction, meant: Fraction) -> None:
    assert exact(value, "width") == meant


@given(st.integers(1, 200_000))
def test_hundredths_of_a_millimetre_survive_the_way_through_floats(hundredths: int) -> None:
    assert exact(hundredths / 100 / 25.4, "width") == Fraction(hundredths, 2540)


@pytest.mark.parametrize("value", [float("nan"), float("inf"), Decimal("nan"), 0, -1])
def test_refused(value: float | Decimal) -> None:
    with pytest.raises(UsageError, match="piece's width"):
        positive(value, "piece's width")


def test_zero_is_a_gutter() -> None:
    assert not_negative(0, "gutter") == 0


def test_common_unit() -> None:
    assert as_integers([Fraction(3, 2), Fraction(9, 4)]) == ((2, 3), Fraction(3, 4))
