"""What must hold whatever the art: sizes, turns, and facts of the trade."""

from __future__ import annotations

from decimal import Decimal
from pathlib import Path

import pytest
from PIL import Image

from artcheck import pipeline
from artcheck.domain.order import BrandColour, Garment, Order, Print
from artcheck.shop import load_shop
from tests.art import drawn, on_white, saved, two_inks

SHOP = load_shop()


def order(path: Path, width_in: float = 4.0, quantity: int = 24, **garment: object) -> Order:
    return Order(
        garment=Garment.model_validate({"quantity": quantity, **garment}),
        prints=(Print(art=str(path), width_in=width_in),),
    )


def test_scaling_art_leaves_shares_and_ink_count(tmp_path: Path) -> None:
    small = pipeline.measure_file(saved(two_inks(600), tmp_path / "s.png"))
    large = pipeline.measure_file(saved(two_inks(1200), tmp_path / "l.png"))
    assert small.inks.count == large.inks.count == 2
    for a, b in zip(small.inks.inks, large.inks.inks, strict=True):
        assert a.share == pytest.approx(b.share, abs=0.005)
        assert a.hex == b.hex
    assert large.area.ink_px == pytest.approx(4 * small.area.ink_px, rel=0.005)


def test_doubling_the_width_doubles_lines_and_halves_resolution(tmp_path: Path) -> None:
    art = drawn(
        '<path d="M50 200H550" stroke="#000" stroke-width="6"/><circle cx="90" cy="90" r="60"/>'
    )
    measured = pipeline.measure_file(saved(art, tmp_path / "a.png"))
    one, two = measured.at(4), measured.at(8)
    line = measured.detail.thinnest_line_px
    assert line == pytest.approx(6, rel=0.02)
    assert two.optional_pt(line) == pytest.approx(2 * (one.optional_pt(line) or 0))
    assert two.effective_dpi == pytest.approx((one.effective_dpi or 0) / 2)
    assert two.box_area_in2 == pytest.approx(4 * one.box_area_in2)


def test_rotating_changes_nothing_but_the_box(tmp_path: Path) -> None:
    upright = pipeline.measure_file(saved(two_inks(), tmp_path / "a.png"))
    turned_art = two_inks().transpose(Image.Transpose.ROTATE_90)
    turned = pipeline.measure_file(saved(turned_art, tmp_path / "b.png"))
    assert turned.box_size_px == upright.box_size_px[::-1]
    assert turned.area.ink_px == pytest.approx(upright.area.ink_px, rel=1e-6)
    assert turned.inks.count == upright.inks.count
    shares = [ink.share for ink in upright.inks.inks]
    assert [ink.share for ink in turned.inks.inks] == pytest.approx(shares, rel=1e-3)
    assert turned.tone.kind == upright.tone.kind
    a, b = turned.detail.thinnest_line_px, upright.detail.thinnest_line_px
    assert (a is None) == (b is None)
    assert a is None or a == pytest.approx(b, rel=0.01)


def test_white_box_is_removed_and_kept_on_request(tmp_path: Path) -> None:
    path = saved(on_white(two_inks()), tmp_path / "a.jpg", quality=85)
    clear = pipeline.measure_file(saved(two_inks(), tmp_path / "a.png"))
    removed = pipeline.measure_file(path)
    assert removed.background.kind == "removed"
    assert removed.area.ink_px == pytest.approx(clear.area.ink_px, rel=0.01)
    kept = pipeline.measure_file(path, background="keep")
    assert kept.background.kind == "kept"
    assert kept.area.coverage == 1


# Facts of the trade: common practice, no source.


def test_small_one_ink_is_cheaper_by_area_and_full_front_by_the_sheet(tmp_path: Path) -> None:
    art = saved(drawn('<circle cx="300" cy="200" r="180" fill="#c81e28"/>'), tmp_path / "a.png")
    measured = pipeline.measure_file(art)
    small = pipeline.evaluate(measured, order(art, 3.5), SHOP)
    large = pipeline.evaluate(measured, order(art, 11.0), SHOP)
    assert small.recommendation.method == "film-area"
    assert large.recommendation.method == "spot"


def test_two_more_inks_flip_a_mid_size_order_to_full_colour(tmp_path: Path) -> None:
    def discs(colours: list[str]) -> Path:
        body = "".join(
            f'<circle cx="{80 + 130 * n}" cy="200" r="60" fill="{c}"/>'
            for n, c in enumerate(colours)
        )
        return saved(drawn(body), tmp_path / f"{len(colours)}.png")

    answers = {}
    for colours in (["#c81e28", "#1e3cc8"], ["#c81e28", "#1e3cc8", "#f0b91b", "#0f6d3a"]):
        art = discs(colours)
        measured = pipeline.measure_file(art)
        assert measured.inks.count == len(colours)
        report = pipeline.evaluate(measured, order(art, 10.0, 70), SHOP)
        answers[len(colours)] = report.recommendation.method
    assert answers == {2: "spot", 4: "film-area"}


def test_area_price_times_area(tmp_path: Path) -> None:
    art = saved(
        drawn('<rect width="600" height="300" fill="#c81e28"/>', 600, 300), tmp_path / "a.png"
    )
    report = pipeline.evaluate(pipeline.measure_file(art), order(art, 8.0, 100), SHOP)
    cost = next(m.cost for m in report.methods if m.id == "film-area")
    assert cost is not None
    assert cost.decoration == Decimal("0.05") * 8 * 4 * 103


def test_critical_brand_colour_out_of_reach_decides(tmp_path: Path) -> None:
    art = saved(drawn('<circle cx="300" cy="200" r="180" fill="#ff6700"/>'), tmp_path / "a.png")
    measured = pipeline.measure_file(art)
    plain = order(art, 3.5)
    brand = BrandColour(name="ember orange", colour="lab(65 60 78)", critical=True)
    print_ = plain.prints[0].model_copy(update={"brand_colours": (brand,)})
    critical = plain.model_copy(update={"prints": (print_,)})
    assert pipeline.evaluate(measured, plain, SHOP).recommendation.method == "film-area"
    assert pipeline.evaluate(measured, critical, SHOP).recommendation.method == "spot"


def test_unsuitable_everywhere_says_why(tmp_path: Path) -> None:
    art = saved(two_inks(), tmp_path / "a.png")
    report = pipeline.evaluate(
        pipeline.measure_file(art), order(art, fabric="non-woven polypropylene"), SHOP
    )
    assert report.recommendation.method is None
    assert "polypropylene" in report.recommendation.headline


def test_size_larger_than_the_sheet_names_the_largest(tmp_path: Path) -> None:
    art = saved(drawn('<rect width="600" height="400" fill="#c81e28"/>'), tmp_path / "a.png")
    report = pipeline.evaluate(pipeline.measure_file(art), order(art, 21.0), SHOP)
    spot = next(m for m in report.methods if m.id == "spot")
    assert spot.verdict == "unsuitable"
    finding = next(f for f in spot.findings if f.id == "price-none")
    assert "at most 15.00 in wide" in finding.text


def test_a_garment_without_a_price_is_told(tmp_path: Path) -> None:
    measured = pipeline.measure_file(saved(two_inks(), tmp_path / "a.png"))

    def told(**garment: object) -> list[str]:
        asked = order(tmp_path / "a.png", 4.0, 24, **garment)
        report = pipeline.evaluate(measured, asked, SHOP)
        return [f.text for f in report.methods[0].findings if f.id == "garment-unpriced"]

    (text,) = told(kind="raincoat", fabric="cotton")
    assert "'cotton raincoat'" in text
    assert not told(kind="tee")
    assert not told(kind="raincoat", supplied=True)
    assert not told()
