"""Wording and figures shared by the text report and the page."""

from __future__ import annotations

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from artcheck.domain.check import GarmentReport
from artcheck.domain.findings import Evidence
from artcheck.report import words
from tests.report import factory


@given(st.text())
def test_plain_text_prints_and_holds_no_line_end(text: str) -> None:
    assert words.plain(text).isprintable()


@given(st.text(alphabet=st.characters(categories=["L", "N", "P", "S"])))
def test_plain_leaves_readable_text_alone(text: str) -> None:
    assert words.plain(text) == text


def test_plain_shows_what_was_there() -> None:
    assert words.plain("a\nb\x1bc\u202ed\u00a0e\ud800") == r"a\nb\x1bc\u202ed e\ud800"


@pytest.mark.parametrize(
    ("share", "shown"),
    [(0.0, "0%"), (0.004, "0.4%"), (0.0994, "9.9%"), (0.0996, "10%"), (0.58, "58%"), (1.0, "100%")],
)
def test_percent(share: float, shown: str) -> None:
    assert words.percent(share) == shown


@pytest.mark.parametrize(
    ("value", "shown"),
    [
        (1.161, "1.16"),
        (26.512, "26.5"),
        (4.25, "4.25"),
        (248.0, "248"),
        (1234.5, "1,234"),
        (0.02, "0.02"),
        ("do not iron", "do not iron"),
        (None, words.NOTHING),
    ],
)
def test_figure(value: float | str | None, shown: str) -> None:
    assert words.figure(value) == shown


def test_money_keeps_its_decimals() -> None:
    assert words.money(Decimal("1448.80")) == "1,448.80"
    assert words.money(Decimal("1E+3")) == "1,000"


@pytest.mark.parametrize(
    ("evidence", "said"),
    [
        (
            Evidence(measured=1.16, limit=2.0, unit="pt", limit_source="x"),
            "measured 1.16, limit 2 pt: x",
        ),
        (Evidence(measured=None, limit=2.0, unit="", limit_source="x"), "limit 2: x"),
        (Evidence(measured=7.0, limit=None, unit="inks", limit_source="x"), "7 inks; x"),
        (Evidence(measured=None, limit=None, unit="", limit_source="x"), "x"),
    ],
)
def test_evidence(evidence: Evidence, said: str) -> None:
    assert words.evidence_words(evidence) == said


def test_a_finding_of_several_methods_stands_once_worst_first() -> None:
    shared = words.shared_findings(factory.bakery().methods)
    assert [s.finding.id for s in shared] == ["line-thin", "gap-narrow", "placement-wide"]
    assert shared[1].methods == (factory.SPOT, factory.CUT)
    assert len(shared[2].methods) == 4


def test_findings_that_differ_in_the_methods_name_alone_are_one() -> None:
    def found(name: str, limit: float) -> words.SharedFinding:
        text = f"The thinnest line is 0.61 pt; {name.lower()} hold 0.75."
        given = factory.finding("line-thin", "stop", text, measured=0.61, limit=limit)
        return words.SharedFinding(given, (name,))

    area, roll = found(factory.AREA, 0.75), found(factory.ROLL, 0.75)
    methods = [factory.method(s.methods[0], (s.finding,)) for s in (area, roll)]
    assert words.shared_findings(methods)[0].methods == (factory.AREA, factory.ROLL)
    other = found(factory.ROLL, 1.0)
    methods[1] = factory.method(factory.ROLL, (other.finding,))
    assert len(words.shared_findings(methods)) == 2


def test_findings_on_the_answer_are_told_from_the_others() -> None:
    own, others = words.own_and_other_findings(factory.bakery())
    assert [s.finding.id for s in own] == ["placement-wide"]
    assert [s.finding.id for s in others] == ["line-thin", "gap-narrow"]


def test_without_an_answer_every_finding_counts() -> None:
    own, others = words.own_and_other_findings(factory.ferry())
    assert len(own) == 2
    assert others == ()


def test_the_answer_leads_and_the_unsuitable_end_the_ranking() -> None:
    names = [method.name for method in words.ranked(factory.bakery())]
    assert names == [factory.AREA, factory.SPOT, factory.ROLL, factory.CUT]


def test_reasons_are_not_said_twice() -> None:
    assert words.why_not(factory.ferry()) == ()
    assert words.why_not(factory.wheelers()) == (
        (factory.AREA, "It costs 247.60 USD more in all."),
    )


def test_quantities_end_open_and_mark_the_close_call() -> None:
    rows = words.quantity_rows(factory.bakery())
    assert [row.quantities for row in rows] == [
        "1–56",
        "57–58",
        "59–61",
        "62–64",
        "65–66",
        "67 and up",
    ]
    assert [row.close for row in rows] == [False, True, True, True, True, False]


def test_a_long_close_call_is_one_row() -> None:
    names = ("film-area", "spot")
    starts = [(n, names[n % 2]) for n in range(1, 30)]
    calm = factory.bakery()
    answer = calm.recommendation.model_copy(
        update={"flips": factory.flips(*starts), "close_call": (2, 28)}
    )
    rows = words.quantity_rows(calm.model_copy(update={"recommendation": answer}))
    assert [row.quantities for row in rows] == ["1", "2–28", "29 and up"]
    assert rows[1].answer == f"{factory.AREA} and {factory.SPOT} in turn"


@pytest.mark.parametrize(
    ("garment", "said"),
    [
        (GarmentReport(), "4.25 × 4.00 in"),
        (GarmentReport(pieces=30), "30 × garment, 4.25 × 4.00 in"),
        (
            GarmentReport(
                kind="tee", colour="navy", fabric="cotton", pieces=1200, placement="back"
            ),
            "1,200 × tee, navy, cotton, back, 4.25 × 4.00 in",
        ),
        (GarmentReport(kind="tote", placement="tote"), "tote, 4.25 × 4.00 in"),
    ],
)
def test_job_in_a_line(garment: GarmentReport, said: str) -> None:
    assert words.job_words(factory.bakery().model_copy(update={"garment": garment})) == said


def test_press_in_both_scales() -> None:
    assert words.press_settings(factory.SPOT_PRESS).startswith("375 °F (191 °C), 12 s")


def test_ink_count_says_how_else_it_may_be_read() -> None:
    assert words.ink_count_words(factory.candleworks().inks) == "2 (or 3)"
    assert words.ink_count_words(factory.photograph().inks) == "none to count: a photograph"


def test_inks_that_the_order_asks_for_are_told_from_the_arts_own() -> None:
    inks = factory.bakery().inks.model_copy(update={"count": 4})
    assert words.ink_count_words(inks) == "1 asked for, 4 in the art"


def test_two_inks_of_one_name_keep_their_own_contrast() -> None:
    base = factory.candleworks()
    inks = tuple(ink.model_copy(update={"name": "Plum"}) for ink in base.inks.list)
    contrast = tuple(c.model_copy(update={"ink": "Plum"}) for c in base.contrast)
    twin = base.model_copy(
        update={"inks": base.inks.model_copy(update={"list": inks}), "contrast": contrast}
    )
    verdicts = [c.verdict for _, c in words.inks_with_contrast(twin) if c]
    assert verdicts == ["clear", "weak"]
