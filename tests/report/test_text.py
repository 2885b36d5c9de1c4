"""The text report as its reader meets it: order, width, hostile names."""

from __future__ import annotations

import io
from decimal import Decimal

import pytest
from rich.console import Console

from artcheck.domain.check import OrderReport, Report
from artcheck.report.text import render_order_text, render_text
from tests.report import factory


def shown(report: Report | OrderReport, width: int = 80, *, colour: bool = False) -> str:
    file = io.StringIO()
    console = Console(
        file=file,
        width=width,
        color_system="truecolor" if colour else None,
        force_terminal=colour,
        legacy_windows=False,
    )
    if isinstance(report, OrderReport):
        render_order_text(report, console)
    else:
        render_text(report, console)
    return file.getvalue()


@pytest.mark.parametrize("name", factory.EXAMPLES)
def test_answer_is_the_first_line(name: str) -> None:
    report = factory.EXAMPLES[name]()
    first = " ".join(shown(report, 200).splitlines()[0].split())
    assert first == report.recommendation.headline


@pytest.mark.parametrize("width", [80, 100, 132])
@pytest.mark.parametrize("name", factory.EXAMPLES)
def test_fits_the_terminal_and_cuts_nothing_off(name: str, width: int) -> None:
    text = shown(factory.EXAMPLES[name](), width)
    assert max(map(len, text.splitlines())) <= width
    assert "…" not in text


def test_large_amounts_still_fit() -> None:
    base = factory.candleworks()
    huge = factory.cost(9999, "19999.99", "99999.99", prints=10299, copies=2, sheets=(5150, 5200))
    methods = tuple(m.model_copy(update={"cost": huge}) for m in base.methods)
    text = shown(base.model_copy(update={"methods": methods}))
    assert "5150, buy 5200" in text
    assert "199,999.98" in text
    assert max(map(len, text.splitlines())) <= 80


def test_pipe_gets_no_escape_codes() -> None:
    assert "\x1b" not in shown(factory.candleworks())


def test_terminal_gets_swatches_in_the_inks_colour() -> None:
    text = shown(factory.candleworks(), colour=True)
    assert "\x1b[48;2;97;35;170m   \x1b[0m dusk violet" in text  # #6123aa, the block alone


def test_sections_stand_in_the_order_of_use() -> None:
    text = shown(factory.bakery())
    heads = [
        "Film by area: 345.50",
        "\nMethods, USD\n",
        "\nCheapest by quantity\n",
        "\nWhat would change it\n",
        "\nNote\n",
        "\nInks: 1\n",
        "\nThe art: 2-bakery.png\n",
        "\nAsk the customer\n",
        "\nTell the customer\n",
        "\nAt the press\n",
        "\nStop, other methods only\n",
        "Prices are the invented demo list",
    ]
    places = [text.index(head) for head in heads]
    assert places == sorted(places)


def test_stop_of_the_answer_stands_before_the_methods() -> None:
    text = shown(factory.wheelers())
    assert text.index("\nStop\n") < text.index("\nMethods")


def test_finding_tells_measure_limit_source_and_remedy_once() -> None:
    text = " ".join(shown(factory.bakery()).split())
    assert text.count("The narrowest gap is 1.16 pt") == 1
    assert "[Spot transfers, Cut film]" in text
    assert "Do: open gaps under 2 pt" in text
    assert "measured 1.16, limit 2 pt: common practice, others say 1 to 3 pt (gap-narrow)" in text


def test_methods_are_named_only_where_that_says_something() -> None:
    findings = {
        name: factory.finding(name, "note", f"{name} noted", measured=1.0, limit=2.0)
        for name in ("all", "answer", "shared", "other")
    }
    of_answer = (findings["all"], findings["answer"], findings["shared"])
    of_other = (findings["all"], findings["shared"], findings["other"])
    methods = (
        factory.method(factory.AREA, of_answer),
        factory.method(factory.SPOT, of_other),
        factory.method(factory.CUT, (findings["all"],)),
    )
    lines = shown(factory.bakery().model_copy(update={"methods": methods})).splitlines()
    assert "  • all noted" in lines
    assert "  • answer noted" in lines
    assert "  • shared noted [also Spot transfers]" in lines
    assert "  • other noted [Spot transfers]" in lines


def test_needed_and_bought_sheets_are_two_figures() -> None:
    assert "6, buy 10" in shown(factory.bakery())


def test_brand_colours_say_how_near_each_way_comes() -> None:
    text = shown(factory.candleworks())
    line = next(line for line in text.splitlines() if line.startswith("dusk violet, critical"))
    assert "another colour, 7.7" in line
    assert "Plum, 9.5" in line
    assert "mix it" in line


def test_real_prices_are_not_called_invented() -> None:
    own = factory.bakery().model_copy(update={"demo_prices": False})
    assert "invented" not in shown(own)


def test_order_gives_every_answer_first_and_shares_the_end() -> None:
    text = shown(factory.order())
    assert text.splitlines()[0].startswith("2-bakery.png: Film by area")
    assert text.index("Quote for 30 pieces") < text.index("\n2-bakery.png ---")
    for once in ("Ask the customer", "At the press", "Please confirm", "invented demo list"):
        assert text.count(once) == 1
    assert "Film by area: 305 °F" in text
    assert "Spot transfers: 375 °F" in text


def test_order_of_one_print_is_that_print_with_its_quote() -> None:
    whole = factory.order()
    text = shown(whole.model_copy(update={"prints": whole.prints[:1], "names": whole.names[:1]}))
    assert text.startswith("Film by area: 345.50")
    assert "Quote for 30 pieces, USD" in text


def test_amounts_are_written_out() -> None:
    whole = factory.order()
    assert whole.quote is not None
    line = whole.quote.lines[0].model_copy(update={"quantity": Decimal("1E+2")})
    quote = whole.quote.model_copy(update={"lines": (line,)})
    text = shown(whole.model_copy(update={"quote": quote}))
    assert " 100 " in text
    assert "E+" not in text


@pytest.mark.parametrize("colour", [False, True])
def test_hostile_name_is_shown_escaped(colour: bool) -> None:
    text = shown(factory.hostile(), 200, colour=colour)
    assert r"a[bold red]b[/]\n\x1b[31mc\u202egpj.\ud800<script>" in text
    assert "\u202e" not in text
    assert "\x1b[31mc" not in text
    text.encode("utf-8")


def test_separate_designs_are_numbered() -> None:
    lines = shown(factory.sponsors()).splitlines()
    head = lines.index("3 separate designs")
    assert lines[head + 3].split()[:3] == ["2", "1", "100"]


def test_fewer_inks_show_loss_beside_cost() -> None:
    text = shown(factory.candleworks())
    assert "Fewer inks: loss and cost, Spot transfers" in text
    assert "24.5" in text
    assert "610.40" in text
    assert "dusk violet (mixed)" in " ".join(text.split())
    assert "2 inks: one ink less is off by" in text


def test_no_choice_of_inks_is_no_ladder() -> None:
    report = factory.candleworks()
    alone = report.model_copy(update={"ink_ladder": report.ink_ladder[:1]})
    assert "Fewer inks" not in shown(alone)
