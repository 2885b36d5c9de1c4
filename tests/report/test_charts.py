"""The cost chart: well-formed, to scale, harmless."""

from __future__ import annotations

import re
from math import log
from xml.etree import ElementTree as ET

import pytest
from hypothesis import given
from hypothesis import strategies as st

from artcheck.report.charts import MOST_POINTS, Curve, cost_chart

FILM = Curve("Film by area", tuple((n, 100 / n + 10) for n in range(1, 101)), chosen=True)
SPOT = Curve("Spot transfers", tuple((n, 300 / n + 8) for n in range(1, 101)))


def drawn(*curves: Curve, **given: object) -> ET.Element:
    text = cost_chart(curves, what="price a piece, USD", **given)  # type: ignore[arg-type]
    return ET.fromstring(text)  # our own output


def polylines(svg: ET.Element) -> list[list[tuple[float, float]]]:
    return [
        [(float(x), float(y)) for x, y in (p.split(",") for p in line.attrib["points"].split())]
        for line in svg.iter("polyline")
    ]


def words_of(svg: ET.Element) -> list[str]:
    return [text.text or "" for text in svg.iter("text")]


def test_curves_are_drawn_to_scale() -> None:
    film, spot = polylines(drawn(FILM, SPOT))
    assert film[0][0] == 0
    assert film[-1][0] == 100
    assert film[9] == pytest.approx((100 * log(10) / log(100), 100 * (1 - 20 / 350)), abs=0.01)
    assert spot[0][1] == pytest.approx(100 * (1 - 308 / 350), abs=0.01)


def test_amounts_start_at_zero_and_end_above_the_highest() -> None:
    shown = words_of(drawn(FILM, SPOT))
    assert "0" in shown
    assert "350" in shown


def test_quantities_are_round() -> None:
    assert {"1", "2", "5", "10", "20", "50", "100"} <= set(words_of(drawn(FILM)))


def test_legend_tells_each_method_at_the_orders_quantity() -> None:
    assert words_of(drawn(FILM, SPOT, pieces=50))[:2] == [
        "Film by area: 12.00 at 50",
        "Spot transfers: 14.00 at 50",
    ]


def test_curves_differ_by_dash_not_by_hue() -> None:
    svg = drawn(FILM, SPOT)
    dashes = [line.get("stroke-dasharray") for line in svg.iter("polyline")]
    assert len(set(dashes)) == 2
    assert {e.get("stroke") for e in svg.iter() if e.get("stroke")} == {"currentColor"}


def test_close_call_is_shaded_and_told() -> None:
    svg = drawn(FILM, SPOT, close_call=(57, 66))
    band = next(svg.iter("rect"))
    title = band.find("title")
    assert title is not None
    assert title.text == "close call: 57–66 pieces"
    assert float(band.attrib["x"]) == pytest.approx(100 * log(57) / log(100), abs=0.01)
    assert float(band.attrib["width"]) == pytest.approx(100 * log(67 / 57) / log(100), abs=0.01)


def test_close_call_beyond_the_curves_has_no_negative_width() -> None:
    band = next(drawn(FILM, close_call=(200, 300)).iter("rect"))
    assert float(band.attrib["width"]) == 0


def test_order_outside_the_curves_is_not_marked() -> None:
    inside = len(list(drawn(FILM, pieces=50).iter("line")))
    assert len(list(drawn(FILM, pieces=5000).iter("line"))) == inside - 1


def test_long_curves_are_thinned_but_keep_their_ends() -> None:
    long = Curve("x", tuple((n, 1.0 + n) for n in range(1, 10_001)))
    (points,) = polylines(drawn(long))
    assert len(points) <= MOST_POINTS + 2
    assert (points[0][0], points[-1][0]) == (0, 100)


def test_names_cannot_break_out() -> None:
    evil = Curve('<script>"&\n\u202e', FILM.points)
    text = cost_chart([evil], what="<b>")
    assert "<script>" not in text
    assert "\u202e" not in text
    assert "\n" not in text
    ET.fromstring(text)


@pytest.mark.parametrize("curves", [[], [Curve("one", ((1, 2.0),))]])
def test_too_little_to_draw(curves: list[Curve]) -> None:
    with pytest.raises(ValueError, match="two points"):
        cost_chart(curves, what="cost")


@pytest.mark.parametrize("amount", [0.0, 5e-324, 0.01, 4 * 999.9999999999999, 1e9])
def test_least_and_largest_amounts(amount: float) -> None:
    assert "0" in words_of(drawn(Curve("x", ((1, amount), (2, amount)))))


@given(
    st.lists(st.floats(min_value=0, max_value=1e9), min_size=2, max_size=30),
    st.integers(1, 1000),
)
def test_any_amounts_stay_inside_the_plot(amounts: list[float], first: int) -> None:
    curve = Curve("x", tuple((first + n, amount) for n, amount in enumerate(amounts)))
    svg = drawn(curve, pieces=first)
    for x, y in polylines(svg)[0]:
        assert -0.01 <= x <= 100.01
        assert -0.01 <= y <= 100.01
    assert not re.search(r"nan|inf", ET.tostring(svg, encoding="unicode"))
