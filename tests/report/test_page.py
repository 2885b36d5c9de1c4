"""The page: whole HTML, nothing fetched, nothing of a name taken for markup, every figure shown."""

from __future__ import annotations

import json
import re
from collections.abc import Iterator
from dataclasses import dataclass, field
from html.parser import HTMLParser
from importlib import resources
from itertools import pairwise
from math import log10
from typing import Any

import numpy as np
import pytest

from artcheck.colour.spaces import contrast_ratio, hex_to_lab
from artcheck.domain.artwork import Cutout
from artcheck.domain.check import Report, StockMatch
from artcheck.report import words
from artcheck.report.data import to_json
from artcheck.report.page import Chart, chart_of, render_order_page, render_page
from artcheck.report.pictures import Picture, picture_on
from artcheck.report.words import plain
from tests.report import factory
from tests.report.factory import EXAMPLES, HOSTILE_NAME

VOID = {"br", "img", "input", "link", "meta"}
"""Elements without an end tag (HTML Living Standard, section 13.1.2)."""

SELF_CLOSED = {"line", "path", "rect"}
"""Shapes of SVG, which the page closes at once."""


@dataclass
class Page(HTMLParser):
    """A page taken apart strictly: every element closed in turn, every id once."""

    source: str
    tags: list[tuple[str, dict[str, str]]] = field(default_factory=list)
    words: list[str] = field(default_factory=list)

    def __post_init__(self) -> None:
        super().__init__(convert_charrefs=True)
        self.open: list[str] = []
        self.feed(self.source)
        self.close()
        assert self.open == []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        assert len(dict(attrs)) == len(attrs), f"an attribute twice in {tag}"
        self.tags.append((tag, {name: value or "" for name, value in attrs}))
        if tag not in VOID:
            self.open.append(tag)

    def handle_startendtag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        assert tag in SELF_CLOSED
        self.tags.append((tag, {name: value or "" for name, value in attrs}))

    def handle_endtag(self, tag: str) -> None:
        assert self.open.pop() == tag

    def handle_data(self, data: str) -> None:
        if self.open and self.open[-1] != "style":
            self.words.append(data)

    @property
    def text(self) -> str:
        return " ".join(" ".join(self.words).split())

    def all(self, tag: str) -> list[dict[str, str]]:
        return [attributes for name, attributes in self.tags if name == tag]

    def values(self, *names: str) -> Iterator[str]:
        for _, attributes in self.tags:
            yield from (attributes[name] for name in names if name in attributes)


def picture(frame: tuple[int, int, int, int] = (0, 0, 1200, 1275)) -> Picture:
    height, width = frame[2], frame[3]
    cutout = Cutout(
        rgb=np.zeros((height, width, 3), np.uint8),
        coverage=np.zeros((height, width), np.uint8),
        box=frame,
    )
    return picture_on(cutout, "#5a3a22")


@pytest.fixture(params=sorted(EXAMPLES))
def report(request: pytest.FixtureRequest) -> Report:
    return EXAMPLES[request.param]()


# --- the page as a file -------------------------------------------------------------------------


def test_whole_html(report: Report) -> None:
    page = Page(render_page(report, (picture(),)))
    assert page.source.lstrip().lower().startswith("<!doctype html>")
    assert page.all("html") == [{"lang": "en"}]
    assert len(page.all("h1")) == len(page.all("main")) == 1


def test_every_id_once_and_every_reference_met(report: Report) -> None:
    page = Page(render_page(report, (picture(),)))
    ids = list(page.values("id"))
    assert len(ids) == len(set(ids))
    asked = [ref for value in page.values("aria-labelledby", "for") for ref in value.split()]
    asked += [link["href"].removeprefix("#") for link in page.all("a")]
    asked += re.findall(r"url\(#([^)]*)\)", page.source)
    assert set(asked) <= set(ids)


def test_nothing_is_fetched_and_nothing_runs(report: Report) -> None:
    page = Page(render_page(report, (picture(),)))
    assert page.all("script") == []
    assert not any(name.startswith("on") for _, given in page.tags for name in given)
    for address in page.values("src", "href", "action", "data", "poster", "srcset"):
        assert address.startswith(("#", "data:"))
    assert "@import" not in page.source
    assert not re.search(r"url\((?!#)", page.source)
    assert "://" not in page.source


def test_pictures_have_words(report: Report) -> None:
    page = Page(render_page(report, (picture(),)))
    assert all("alt" in image for image in page.all("img"))
    assert all(attributes.get("aria-label") for attributes in page.all("svg"))


def test_headings_skip_no_level(report: Report) -> None:
    for source in (render_page(report), render_order_page(factory.order())):
        levels = [int(tag[1]) for tag, _ in Page(source).tags if re.fullmatch("h[1-6]", tag)]
        assert levels[0] == 1
        assert all(after - before <= 1 for before, after in pairwise(levels))


def test_same_report_same_bytes(report: Report) -> None:
    assert render_page(report, (picture(),)) == render_page(report, (picture(),))


# --- what it says -------------------------------------------------------------------------------


def test_the_answer_is_the_heading(report: Report) -> None:
    source = render_page(report)
    heading = re.search(r"<h1[^>]*>(.*?)</h1>", source, re.DOTALL)
    assert heading is not None
    assert Page(f"<p>{heading[1]}</p>").text == plain(report.recommendation.headline)


def test_every_finding_with_its_limit_and_its_source(report: Report) -> None:
    text = Page(render_page(report)).text
    for shared in words.shared_findings(report.methods):
        assert plain(shared.finding.text) in text
        assert plain(words.evidence_words(shared.finding.evidence)) in text
        assert shared.finding.id in text


def test_every_amount_of_every_method(report: Report) -> None:
    text = Page(render_page(report)).text
    for cost in (method.cost for method in report.methods if method.cost):
        amounts = [cost.decoration, cost.total, cost.price_total, cost.price_per_piece]
        amounts += [line.amount for line in cost.lines]
        assert [a for a in amounts if f"{a:,f}" not in text] == []
        assert all(note in text for note in cost.notes)


def test_every_line_to_read_or_to_send(report: Report) -> None:
    text = Page(render_page(report)).text
    answer = report.recommendation
    for line in (*answer.reasons, *answer.would_change_it, *report.questions, *report.messages):
        assert plain(line) in text


def test_every_ink_and_brand_colour_as_a_swatch(report: Report) -> None:
    page = Page(render_page(report))
    styles = " ".join(page.values("style"))
    for ink in report.inks.list:
        assert f"background:{ink.hex}" in styles
        assert ink.name in page.text
    for brand in report.brand_colours:
        assert f"{brand.verdict}, {brand.delta_e_2000:.1f} dE00" in page.text
        assert brand.print_condition in page.text


def test_like_hue_and_shelf_ink_stand_beside_the_colour_asked_for() -> None:
    report = factory.candleworks()
    orange, violet = report.brand_colours
    assert orange.nearest_ink is not None
    near = StockMatch(name="Tangerine", delta_e_2000=3.3, lab=(65, 56, 66))
    report = report.model_copy(
        update={"brand_colours": (orange.model_copy(update={"nearest_ink": near}), violet)}
    )
    page = Page(render_page(report))
    pairs = [tag["aria-label"] for tag in page.all("div") if tag.get("class") == "pair"]
    assert len(pairs) == 4  # orange: print, ink; violet: print, print of the same hue
    assert "Tangerine, 3.3 dE00" in page.text
    assert "8.4 dE00" in page.text


def test_press_settings_and_cautions_of_the_answer() -> None:
    text = Page(render_page(factory.wheelers())).text
    assert "375 °F (191 °C), 12 s" in text
    assert all(caution in text for caution in factory.CAUTIONS)


def test_nothing_to_press_where_nothing_suits() -> None:
    assert "At the press" not in Page(render_page(factory.ferry())).text


@pytest.mark.parametrize("demo", [True, False])
def test_invented_prices_say_so(demo: bool) -> None:
    report = factory.bakery().model_copy(update={"demo_prices": demo})
    assert ("invented demo list" in Page(render_page(report)).text) is demo


def test_order_shows_its_quote_and_each_print_once() -> None:
    order = factory.order()
    page = Page(render_order_page(order, (picture(), None)))
    assert order.quote is not None
    assert f"{order.quote.price:,f} USD" in page.text
    assert all(line.what in page.text for line in order.quote.lines)
    assert [a["id"] for a in page.all("article")] == ["p1", "p2"]
    for line in order.prints[0].questions:
        assert page.text.count(line) == 1


def json_numbers(value: Any) -> Iterator[str]:
    if isinstance(value, dict):
        for inner in value.values():
            yield from json_numbers(inner)
    elif isinstance(value, list):
        for inner in value:
            yield from json_numbers(inner)
    elif isinstance(value, str) and re.fullmatch(r"\d+\.\d\d", value):
        yield value


def test_page_and_json_agree_on_money(report: Report) -> None:
    data = json.loads(to_json(report))
    costs = [
        {k: v for k, v in method["cost"].items() if k != "per_piece"}
        for method in data["methods"]
        if method["cost"]
    ]
    text = Page(render_page(report)).text.replace(",", "")
    assert [amount for amount in json_numbers(costs) if amount not in text] == []


# --- the art and its places ---------------------------------------------------------------------


def test_art_is_shown_on_its_garment() -> None:
    report = factory.bakery()
    shown = picture()
    page = Page(render_page(report, (shown,)))
    image = next(i for i in page.all("img") if i["src"] == shown.uri)
    assert report.artwork.file in image["alt"]
    assert report.garment.hex is not None
    assert any(f"background:{report.garment.hex}" in style for style in page.values("style"))


def test_without_a_picture_there_are_no_marks() -> None:
    page = Page(render_page(factory.bakery()))
    assert page.all("img") == []
    assert not any(key.endswith("-m1") for key in page.values("id"))


def test_marks_lie_where_the_findings_do_and_link_both_ways() -> None:
    report = factory.bakery()
    page = Page(render_page(report, (picture(),)))
    marks = {a["id"]: a for a in page.all("a") if "mark" in a.get("class", "").split()}
    placed = [
        s.finding.evidence.where
        for found in words.own_and_other_findings(report)
        for s in found
        if s.finding.evidence.where
    ]
    assert len(marks) == len(placed) > 0
    row0, col0, _, _ = placed[0]
    assert f"left:{round(col0 / 1275 * 100, 3)}%" in marks["p1-m1"]["style"]
    assert f"top:{round(row0 / 1200 * 100, 3)}%" in marks["p1-m1"]["style"]
    assert marks["p1-m1"]["href"] == "#p1-f1"
    assert "#p1-m1" in set(page.values("href"))


def test_separate_designs_bear_the_numbers_that_findings_use() -> None:
    report = factory.sponsors()
    frame = (0, 0, 1200, 1275)
    page = Page(render_page(report, (picture(frame),)))
    boxes = [span for span in page.all("span") if span.get("class") == "design"]
    for number, (group, box) in enumerate(zip(report.groups, boxes, strict=True), 1):
        assert f"left:{round(group.where[1] / 12.75, 3)}%" in box["style"]
        assert f"design {number}" in page.text


def test_what_nothing_cures_comes_first() -> None:
    text = Page(render_page(factory.ferry())).text
    before = text[text.index("Before printing") :]
    stops = [f for m in factory.ferry().methods for f in m.findings if f.severity == "stop"]
    hopeless = min(before.index(f.text) for f in stops if not f.curable)
    assert all(before.index(f.text) > hopeless for f in stops if f.curable)


# --- strangers' names ---------------------------------------------------------------------------


def test_hostile_names_stay_text() -> None:
    source = render_page(factory.hostile(), (picture(),))
    page = Page(source)
    source.encode("utf-8")
    assert plain(HOSTILE_NAME) in page.text
    assert page.all("script") == []
    assert all(character.isprintable() or character == "\n" for character in source)


@pytest.mark.parametrize("key", ["name", "hex"])
def test_hostile_ink_cannot_leave_its_attribute(key: str) -> None:
    ink = factory.bakery().inks.list[0].model_copy(update={key: '"><script>alert(1)</script>'})
    inks = factory.bakery().inks.model_copy(update={"list": (ink,)})
    page = Page(render_page(factory.bakery().model_copy(update={"inks": inks, "contrast": ()})))
    assert page.all("script") == []


def test_hostile_order_name() -> None:
    page = Page(render_order_page(factory.order().model_copy(update={"order": HOSTILE_NAME})))
    assert page.all("script") == []
    assert plain(HOSTILE_NAME) in page.text


# --- the chart ----------------------------------------------------------------------------------


def chart(report: Report) -> Chart:
    found = chart_of(report)
    assert found is not None
    return found


def test_no_chart_where_one_method_is_always_cheapest() -> None:
    assert chart_of(factory.ferry()) is None


def test_bars_cover_the_axis_once() -> None:
    bars = sorted(
        (bar.x, bar.x + bar.width) for lane in chart(factory.bakery()).lanes for bar in lane.bars
    )
    assert bars[0][0] == 0
    assert bars[-1][1] == pytest.approx(100, abs=0.01)
    for (_, end), (start, _) in pairwise(bars):
        assert start == pytest.approx(end, abs=0.01)


def test_positions_are_logarithmic() -> None:
    found = chart(factory.bakery())
    for x, label in found.ticks:
        top = int(found.ticks[-1][1].replace(",", ""))
        expected = 100 * log10(int(label.replace(",", ""))) / log10(top + 1)
        assert x == pytest.approx(expected, abs=0.01)


def test_close_call_spans_its_flips() -> None:
    report = factory.bakery()
    found = chart(report)
    assert found.close is not None
    assert report.recommendation.close_call is not None
    inside = [
        bar
        for lane in found.lanes
        for bar in lane.bars
        if found.close.x - 0.01 <= bar.x < found.close.x + found.close.width - 0.01
    ]
    assert sum(bar.width for bar in inside) == pytest.approx(found.close.width, abs=0.02)


def test_the_order_stands_in_its_methods_stretch() -> None:
    report = factory.bakery()
    found = chart(report)
    assert found.order_x is not None
    (lane,) = (lane for lane in found.lanes if lane.chosen)
    assert any(bar.x <= found.order_x <= bar.x + bar.width for bar in lane.bars)


# --- legibility ---------------------------------------------------------------------------------

TEXT_CONTRAST = 4.5
"""Least contrast of text (WCAG 2.2, success criterion 1.4.3)."""

GRAPHIC_CONTRAST = 3.0
"""Least contrast of what must be seen to understand a graphic (WCAG 2.2, criterion 1.4.11)."""


def palettes() -> list[dict[str, str]]:
    css = (resources.files("artcheck.report") / "templates" / "style.css").read_text("utf-8")
    blocks = re.findall(r":root\s*\{([^}]*)\}", css)
    return [dict(re.findall(r"--([a-z]+):\s*(#[0-9a-f]{3,6});", block)) for block in blocks]


@pytest.mark.parametrize("palette", palettes(), ids=["light", "dark", "print"])
def test_contrast_of_text_and_graphics(palette: dict[str, str]) -> None:
    def ratio(one: str, other: str) -> float:
        return contrast_ratio(hex_to_lab(palette[one]), hex_to_lab(palette[other]))

    for ground in ("ground", "sheet"):
        for text in ("ink", "quiet", "stop", "change"):
            assert ratio(text, ground) >= TEXT_CONTRAST
    for graphic in ("bar", "strong", "change", "stop"):
        assert ratio(graphic, "ground") >= GRAPHIC_CONTRAST


def test_greys_are_neutral() -> None:
    """A tinted page would tint the colours that are judged on it."""
    for palette in palettes():
        for name in ("ground", "sheet", "ink", "quiet", "rule", "bar", "strong"):
            _, a, b = hex_to_lab(palette[name])
            assert abs(a) < 0.5 > abs(b)


def test_ladder_marks_what_is_recommended() -> None:
    html = render_page(factory.candleworks())
    table = html[html.index('<table class="lines ladder">') :]
    (row,) = re.findall(r'<tr class="recommended">(.*?)</tr>', table)
    assert row.startswith('<th scope="row">2</th>')
    assert "dusk violet (mixed)" in row
    assert "Recommended</strong>: 2 inks: one ink less" in table
