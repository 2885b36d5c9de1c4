"""What the page is told, against the command line and the report."""

from __future__ import annotations

import json
import re
from importlib import resources
from pathlib import Path

import pytest
from fastapi.testclient import TestClient

from artcheck.cli.run import run
from artcheck.shop import load_order
from artcheck.web import desk
from tests.art import saved, two_inks
from tests.web.conftest import asked, drop

DEMO = Path(str(resources.files("artcheck") / "demo"))


def test_page_and_command_line_say_the_same(
    client: TestClient, capsys: pytest.CaptureFixture[str]
) -> None:
    art = DEMO / "art" / "2-bakery.png"
    order = load_order(DEMO / "orders" / "2-bakery.toml").model_dump(mode="json")
    order["prints"][0]["art"] = art.name
    request = {"order": order, "arts": [drop(client, art.read_bytes(), art.name)]}
    assert run(["check", "--order", str(DEMO / "orders" / "2-bakery.toml"), "--json", "-"]) == 0
    told = json.loads(capsys.readouterr().out)
    assert client.post("/api/report", json=request).json() == told

    parts = client.post("/api/evaluate", json=request).json()["parts"]
    assert told["recommendation"]["headline"] in parts["answer"]
    for method in told["methods"]:
        assert f"<b>{float(method['cost']['price_total']):,.2f}</b>" in parts["below"]
        assert f"{float(method['cost']['price_per_piece']):,.2f} USD each" in parts["below"]


def test_a_changed_order_is_answered_without_pixels(
    client: TestClient, art: bytes, monkeypatch: pytest.MonkeyPatch
) -> None:
    digest = drop(client, art)

    def no_pixels(*_: object) -> None:
        raise AssertionError("measured again")

    monkeypatch.setattr(desk.Desk, "_measure", no_pixels)
    headlines = set()
    for change in ({"quantity": 10}, {"quantity": 900}, {"colour": "red"}, {"fabric": "polyester"}):
        answer = client.post("/api/evaluate", json=asked(digest, **change))
        assert answer.status_code == 200
        headlines.add(answer.json()["headlines"][0])
    assert len(headlines) >= 3
    wide = client.post("/api/evaluate", json=asked(digest, width_in=8)).json()
    assert (wide["width_in"], wide["cloth"]) == (8, wide["cloth"])


def test_quantity_over_a_flip_changes_the_method(client: TestClient) -> None:
    """The bakery's order by hand: film to 56 pieces, a close call to 66, spot from 67."""
    art = DEMO / "art" / "2-bakery.png"
    order = load_order(DEMO / "orders" / "2-bakery.toml").model_dump(mode="json")
    order["prints"][0]["art"] = art.name
    request = {"order": order, "arts": [drop(client, art.read_bytes(), art.name)]}
    answers = {}
    for pieces in (56, 67):
        order["garment"]["quantity"] = pieces
        answers[pieces] = client.post("/api/evaluate", json=request).json()
    assert answers[56]["headlines"][0].startswith("Full-colour film by area: ")
    assert answers[67]["headlines"][0].startswith("Spot transfers")
    assert "a close call, 57–66 pieces" in answers[56]["parts"]["below"]


def test_art_without_an_order_is_answered_at_its_own_size(client: TestClient) -> None:
    """The bakery's file is 1,275 px at 300 dpi: 4.25 in, sharp enough, spot for good from 67."""
    art = DEMO / "art" / "2-bakery.png"
    order = {"garment": {}, "prints": [{"art": art.name}]}
    request = {"order": order, "arts": [drop(client, art.read_bytes(), art.name)]}
    answer = client.post("/api/evaluate", json=request).json()
    assert answer["headlines"] == ["Spot transfers from 67 pieces."]
    assert "We have reckoned with 4.25 in." in json.dumps(answer)
    assert "will look soft" not in json.dumps(answer)


def test_every_fault_of_an_order_is_told_in_words(client: TestClient, art: bytes) -> None:
    request = asked(drop(client, art), quantity=0, care_dots=9)
    answer = client.post("/api/evaluate", json=request)
    assert answer.status_code == 422
    faults = answer.json()["faults"]
    assert [fault.split(":")[0] for fault in faults] == ["garment.care_dots", "garment.quantity"]


@pytest.mark.parametrize("colour", ["plaid", "#12345", "lab(1 2)"])
def test_an_unknown_colour_is_told(client: TestClient, art: bytes, colour: str) -> None:
    answer = client.post("/api/evaluate", json=asked(drop(client, art), colour=colour))
    assert answer.status_code == 422
    assert colour in answer.json()["faults"][0]


def test_several_files_are_prints_of_one_order(client: TestClient, art: bytes) -> None:
    request = asked(drop(client, art), drop(client, art), quantity=24)
    answer = client.post("/api/evaluate", json=request | {"shown": 1}).json()
    assert len(answer["headlines"]) == 2
    assert "for the whole order, 24 pieces" in answer["parts"]["answer"]


def test_marks_are_where_the_report_found_them(client: TestClient, tmp_path: Path) -> None:
    """The bar of `two_inks` is 40 px wide: at half an inch for 540 px it is under any limit."""
    file = saved(two_inks(), tmp_path / "thin.png")
    request = asked(drop(client, file.read_bytes()), width_in=0.1)
    parts = client.post("/api/evaluate", json=request).json()["parts"]
    assert 'data-kind="thin line"' in parts["marks"]
    assert re.search(r'data-layer="thin line"> \d+ thin line', parts["switches"])
    place = re.search(r'data-place="([\d. ]+)"', parts["beside"])
    assert place is not None
    left, top, width, height = map(float, place[1].split())
    assert 0 <= left <= left + width <= 100
    assert 0 <= top <= top + height <= 100


def test_nothing_in_a_file_name_becomes_markup(client: TestClient, art: bytes) -> None:
    request = asked(drop(client, art))
    request["order"]["prints"][0]["art"] = "<img src=x onerror=alert(1)>.png"
    parts = client.post("/api/evaluate", json=request).json()["parts"]
    assert "<img src" not in "".join(parts.values())
    report = client.post("/api/report", json=request).json()
    assert report["artwork"]["file"] == "<img src=x onerror=alert(1)>.png"


def test_answers_carry_no_inline_style_or_script(client: TestClient, art: bytes) -> None:
    """The policy would drop them: what they say would be lost without a word."""
    request = asked(drop(client, art))
    request["order"]["prints"][0]["brand_colours"] = [{"name": "red", "colour": "#c81e28"}]
    html = "".join(client.post("/api/evaluate", json=request).json()["parts"].values())
    page = client.get("/").text
    assert not re.search(r"\sstyle=|\son\w+=|<style|<script>", html + page)
