"""Proof, press sheet and printer's sheet of small orders, read back and measured."""

from __future__ import annotations

import html
import re
import tempfile
from pathlib import Path
from typing import Any

import numpy as np
import pypdfium2
import pytest
from numpy.typing import NDArray

from artcheck import pipeline
from artcheck.colour.mixing import light_of
from artcheck.colour.spaces import hex_to_srgb8, lab_to_hex
from artcheck.domain.check import OrderReport
from artcheck.domain.order import BrandColour, Garment, Order, Print, SizeRun
from artcheck.domain.quote import OrderQuote
from artcheck.domain.separating import SeparationOptions
from artcheck.domain.shop import Shop
from artcheck.report.papers import NAMES, Papers, job_papers
from artcheck.report.papers.printer import transfer_lines
from artcheck.report.papers.sizes import in_units
from artcheck.report.words import chosen_method
from artcheck.shop import load_shop
from tests.art import BLUE, RED, drawn, saved, two_inks
from tests.report.papers.test_pdf import texts

PPI = 72
IMAGE = pypdfium2.raw.FPDF_PAGEOBJ_IMAGE
PAPER = (255, 255, 255)
Job = tuple[Order, OrderReport, OrderQuote, Papers]


@pytest.fixture(scope="module")
def art(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return saved(two_inks(), tmp_path_factory.mktemp("art") / "badge.png")


def job(art: Path, *prints: dict[str, Any], shop: Shop | None = None, **garment: Any) -> Job:
    """Papers of an order of 30 natural tees unless told otherwise."""
    shop = shop or load_shop()
    plain = {"kind": "tee", "colour": "natural", "fabric": "cotton", "quantity": 30}
    order = Order(
        customer="Tern Ferry",
        garment=Garment.model_validate(plain | garment),
        prints=tuple(Print.model_validate({"art": str(art)} | print_) for print_ in prints),
    )
    measured = pipeline.measure_order(order)
    report = pipeline.evaluate_order(measured, order, shop)
    quote = pipeline.quote_order(measured, order, report, shop)
    arts = map(pipeline.cut_out_with_fades, order.prints, measured)
    return order, report, quote, job_papers(order, report, quote, shop, arts)


def text_of(papers: Papers, name: str) -> str:
    return " ".join(texts(papers.files[f"{name}.pdf"]))


def page_px(data: bytes, page: int = 0, ppi: int = PPI) -> NDArray[np.uint8]:
    """(h, w, 3) uint8."""
    drawn = pypdfium2.PdfDocument(data)[page].render(scale=ppi / 72).to_pil().convert("RGB")
    return np.asarray(drawn)


def near(pixels: NDArray[np.uint8], colour: tuple[int, ...]) -> NDArray[np.bool_]:
    off = np.abs(pixels.astype(np.int16) - np.array(colour, np.int16)).max(axis=2)
    return np.asarray(off <= 6)


def extent(mask: NDArray[np.bool_]) -> tuple[int, int]:
    """Width and height of the box around what is set."""
    rows, cols = np.flatnonzero(mask.any(axis=1)), np.flatnonzero(mask.any(axis=0))
    return int(cols[-1] - cols[0] + 1), int(rows[-1] - rows[0] + 1)


def printed_on(page: NDArray[np.uint8], *colours: str) -> NDArray[np.bool_]:
    """Pixels in one of these colours, edges excepted."""
    masks = np.stack([near(page, hex_to_srgb8(colour)) for colour in colours])
    return np.asarray(masks.any(axis=0))


@pytest.mark.parametrize("page", ["letter", "a4"])
@pytest.mark.parametrize(
    ("width_in", "scale", "said"),
    [(4.0, 1.0, "true size"), (2.5, 1.0, "true size"), (12.0, 0.5, "50% of its size")],
)
def test_art_measures_what_the_proof_states(
    page: str, width_in: float, scale: float, said: str, art: Path
) -> None:
    """The badge is 390 by 300 of its file's units; at 72 ppi an inch is 72 pixels.

    The renderer lets a picture fill every pixel that it touches: up to two more each way. Five
    times as fine, that is a fifth of the error.
    """
    *_, papers = job(art, {"width_in": width_in, "method": "film-area"}, shop=shop_on(page))
    for ppi in (72, 360):
        drawn = page_px(papers.files["customer-proof.pdf"], ppi=ppi)
        width, height = extent(printed_on(drawn, RED, BLUE))
        assert -0.5 < width - width_in * scale * ppi <= 2
        assert -0.5 < height - width_in * scale * ppi * 300 / 390 <= 2
    assert said in text_of(papers, "customer-proof")
    page_html = papers.files["customer-proof.html"].decode()
    shown = re.search(r"style=\"width:([\d.]+)in;height:([\d.]+)in\"", page_html)
    assert shown is not None
    assert float(shown[1]) == pytest.approx(width_in * scale, abs=1e-3)
    assert float(shown[2]) == pytest.approx(width_in * scale * 300 / 390, rel=0.005)


def shop_on(page: str, units: str = "in") -> Shop:
    shop = load_shop()
    papers = shop.papers.model_copy(update={"page": page, "units": units})
    return shop.model_copy(update={"papers": papers})


@pytest.mark.parametrize(
    ("units", "said", "length_in"), [("in", "2.00 in", 2), ("mm", "50 mm", 50 / 25.4)]
)
def test_the_ruler_is_as_long_as_it_says(
    units: str, said: str, length_in: float, art: Path
) -> None:
    *_, papers = job(art, {"width_in": 3, "method": "film-area"}, shop=shop_on("a4", units))
    assert f"This line is {said} long." in text_of(papers, "customer-proof")
    ppi = 288
    dark = page_px(papers.files["customer-proof.pdf"], ppi=ppi).max(axis=2) < 90
    lengths = [_one_run(row) for row in dark if row.sum() > ppi]
    assert length_in == pytest.approx(max(lengths) / ppi, abs=0.02)


def _one_run(row: NDArray[np.bool_]) -> int:
    """Length of what is set, where that is one piece; 0 for words."""
    places = np.flatnonzero(row)
    whole = int(places[-1] - places[0] + 1)
    return whole if whole == len(places) else 0


def test_an_order_printed_in_another_ink_is_shown_in_it(art: Path) -> None:
    *_, papers = job(art, {"width_in": 4, "inks": ("Snow",), "method": "spot"}, colour="navy")
    page = page_px(papers.files["customer-proof.pdf"])
    assert not printed_on(page, RED, BLUE).any()
    assert "Snow from the shelf" in text_of(papers, "customer-proof")
    assert "in its inks, on navy" in text_of(papers, "customer-proof")


@pytest.mark.parametrize(
    ("cloth", "inks", "open_"),
    [("natural", ("Coal",), False), (BLUE, ("Coal", "Snow"), True), (BLUE, ("Coal",), False)],
)
def test_the_proof_shows_what_the_plates_print(
    cloth: str, inks: tuple[str, ...], open_: bool, art: Path
) -> None:
    """The bar has the garment's colour on two of the three: where plates leave it open, the proof
    does; in one ink for the whole art both print it."""
    print_ = {"width_in": 4, "inks": inks, "method": "spot"}
    order, _, _, papers = job(art, print_, colour=cloth)
    job_ = pipeline.separate(order, load_shop(), SeparationOptions(inks=1))
    separated = job_.separated
    assert separated is not None
    number = [ink.name for ink in separated.inks].index("Coal")
    inked_in2 = float((separated.labels == number).sum()) / separated.ppi**2
    page = page_px(papers.files["customer-proof.pdf"])
    coal = next(ink for ink in load_shop().inks if ink.name == "Coal")
    shown = printed_on(page[:450], lab_to_hex(coal.lab))
    assert shown.sum() / PPI**2 == pytest.approx(inked_in2, rel=0.03)
    said = "the garment shows" in text_of(papers, "customer-proof")
    assert said == open_


FADE = (
    '<defs><linearGradient id="g"><stop stop-color="#c81e28"/><stop offset="1"'
    ' stop-color="#f0c020"/></linearGradient></defs>'
    '<rect x="60" y="100" width="480" height="200" fill="url(#g)"/>'
)


def test_a_fade_is_shown_in_the_inks_that_print_it(tmp_path: Path) -> None:
    """Red to yellow, ordered in a darker red and a lighter yellow: strip by strip the light that
    the plates' tints give, not the file's."""
    file = saved(drawn(FADE), tmp_path / "fade.png")
    print_ = {"width_in": 4, "inks": ("Barn red", "Lemon"), "method": "spot"}
    order, _, _, papers = job(file, print_, colour="black")
    separated = pipeline.separate(order, load_shop(), SeparationOptions(inks=2)).separated
    assert separated is not None
    assert (separated.labels < 2).all()
    inks = np.array([hex_to_srgb8(ink.hex) for ink in separated.inks], np.uint8)
    light: NDArray[np.floating] = light_of(inks[separated.labels])
    for ink, tint in zip(inks, separated.tints, strict=True):
        if tint is not None:
            share = tint[..., None].astype(np.float32) / 255
            light = share * light_of(ink) + (1 - share) * light
    image = next(pypdfium2.PdfDocument(papers.files["customer-proof.pdf"])[0].get_objects([IMAGE]))
    seen = np.asarray(image.get_bitmap(render=False).to_pil().convert("RGB"))
    for strip in range(12):
        here, there = (np.array_split(a, 12, axis=1)[strip] for a in (light, light_of(seen)))
        apart = here.mean(axis=(0, 1)) - there.mean(axis=(0, 1))
        assert float(np.abs(apart).max()) < 0.02
    assert "as fine dots" in text_of(papers, "customer-proof")


def test_mixed_inks_are_ordered_as_the_customer_named_them(art: Path) -> None:
    """The file holds another red than the customer names: the printer mixes what was named."""
    brand = BrandColour(name="ember", colour="lab(44 63 40)", critical=True)
    *_, papers = job(art, {"width_in": 4, "brand_colours": (brand,), "method": "spot"})
    assert "ember mixed to order, CIELAB (D50) 44 63 40" in text_of(papers, "printer-sheet")
    assert "ember mixed to order" in text_of(papers, "customer-proof")


def test_press_sheet_says_what_the_report_says(art: Path) -> None:
    sizes = (SizeRun(size="S", quantity=13), SizeRun(size="youth L", quantity=20, youth=True))
    place = {"width_in": 3.5, "placement": "left chest", "method": "spot"}
    _, report, quote, papers = job(art, place, quantity=None, sizes=sizes)
    method = chosen_method(report.prints[0])
    assert method is not None
    assert method.press is not None
    text = text_of(papers, "press-sheet")
    assert "S 13 0 13 youth L 20 1 21 All sizes 33 1 34" in text  # 3 % of 33, rounded up
    assert "left chest, top 5 to 8 in below the collar" in text
    assert "Temperature 375 °F (191 °C) Time 12 s" in text
    assert f"Pressure {method.press.pressure} Peel {method.press.peel}" in text
    assert all(caution in text for caution in method.press.cautions)
    assert "For age 12 and under" in text
    assert text.index(method.press.cautions[-1]) > text.index(method.press.cautions[-2])
    assert quote.customer in text


def test_spares_and_prints_by_garment_size(art: Path) -> None:
    """3 % of 40 youth and of 34 adult tees, rounded up, are 2 each; the back is on all: 3 of 74."""
    sizes = (
        SizeRun(size="youth M", quantity=40, youth=True),
        SizeRun(size="L", quantity=30),
        SizeRun(size="XL", quantity=4),
    )
    *_, papers = job(
        art,
        {"width_in": 6, "placement": "youth front", "method": "spot", "sizes": ("youth M",)},
        {"width_in": 9, "placement": "front", "method": "spot", "sizes": ("L", "XL")},
        {"width_in": 3, "placement": "back", "method": "spot"},
        quantity=None,
        sizes=sizes,
    )
    text = text_of(papers, "press-sheet")
    assert "youth M 40 2 42 L 30 2 32 XL 4 0 4 All sizes 74 4 78" in text
    assert "On sizes youth M alone" in text
    assert "On sizes L and XL alone" in text
    proof, quote = text_of(papers, "customer-proof"), text_of(papers, "quote")
    assert proof.count("On sizes youth M alone") == proof.count("On sizes L and XL alone") == 1
    assert "front, sizes L, XL" in quote
    assert "Print badge (youth M): youth front" in quote


def test_names_keep_their_large_letters(art: Path) -> None:
    *_, papers = job(art, {"width_in": 3}, colour="#5A3A22")
    assert text_of(papers, "quote").count("ee, #5A3A22, cotton") == 2  # garments, price
    assert "Tee, #5A3A22, cotton" in text_of(papers, "press-sheet")


def test_the_hottest_press_comes_first(art: Path) -> None:
    *_, papers = job(
        art,
        {"width_in": 3, "placement": "left chest", "method": "film-area"},
        {"width_in": 9, "placement": "back", "method": "spot"},
    )
    text = text_of(papers, "press-sheet")
    assert text.index("375 °F") < text.index("305 °F")
    assert text.index("back, top") < text.index("left chest, top")
    assert "the hottest first" in text


def test_what_must_be_settled_stands_on_the_press_sheet(art: Path) -> None:
    """Pewter on athletic grey cannot be read."""
    _, report, _, papers = job(
        art, {"width_in": 4, "inks": ("Pewter",), "method": "spot"}, colour="athletic grey"
    )
    method = chosen_method(report.prints[0])
    assert method is not None
    stops = [finding.text for finding in method.findings if finding.severity == "stop"]
    assert any("Pewter on athletic grey" in stop for stop in stops)
    text = text_of(papers, "press-sheet")
    assert " \u2013 ".join(("Do not press before this is settled:", *stops)) in text


def test_printer_sheet_orders_what_was_priced(art: Path) -> None:
    """36 prints of 9 x 6.92 in, two on a sheet of 12 x 15: 18 needed, 20 bought at the break."""
    _, report, _, papers = job(art, {"width_in": 9, "method": "spot"}, quantity=34)
    method = chosen_method(report.prints[0])
    assert method is not None
    cost = method.cost
    assert cost is not None
    assert (cost.prints, cost.sheets_needed, cost.sheets_bought) == (36, 18, 20)
    lines = transfer_lines(cost)
    assert sum(line.amount for line in lines) == cost.decoration
    assert cost.lines[len(lines)].what.startswith("freight")
    text = text_of(papers, "printer-sheet")
    assert "Prints 36" in text
    assert "20 × sheets 12 × 15 in, 2 inks" in text
    assert "2 on a sheet of 12.00 × 15.00 in" in text
    svg = re.search(
        r"<svg class=\"sheet\".*?</svg>", papers.files["printer-sheet.html"].decode(), re.S
    )
    assert svg is not None
    assert svg[0].count("<rect") == cost.copies_per_sheet == 2


def test_pdf_and_page_say_the_same(art: Path) -> None:
    """Word for word, but for the numbers of the pages."""
    sizes = (SizeRun(size="S", quantity=13), SizeRun(size="youth L", quantity=20, youth=True))
    place = {"width_in": 9, "placement": "left chest", "method": "spot"}
    *_, papers = job(art, place, {"width_in": 2}, quantity=None, sizes=sizes)
    for name in NAMES:
        pages = len(pypdfium2.PdfDocument(papers.files[f"{name}.pdf"]))
        counters = {"/", *map(str, range(1, pages + 1))}
        told = set(text_of(papers, name).split())
        page = re.sub(
            r"<(style|title)>.*?</\1>", "", papers.files[f"{name}.html"].decode(), flags=re.S
        )
        shown = set(html.unescape(re.sub(r"<[^>]*>", " ", page)).split())
        assert shown - told == set(), name
        assert told - shown <= counters | {"\u2013"}, name


def test_papers_in_millimetres(art: Path) -> None:
    place = {"width_in": 4, "placement": "front", "method": "spot"}
    *_, papers = job(art, place, shop=shop_on("a4", "mm"))
    assert "sheets 305 × 381 mm, 2 inks" in text_of(papers, "printer-sheet")
    assert "102 × 78 mm" in text_of(papers, "quote")
    assert " in," not in text_of(papers, "printer-sheet")
    assert "front, top 51 to 76 mm below the collar" in text_of(papers, "press-sheet")


@pytest.mark.parametrize(
    ("words", "in_mm"),
    [
        (
            "sharp up to 4.2 in wide; the print is 8.0 in.",
            "sharp up to 107 mm wide; the print is 203 mm.",
        ),
        ("a print 3.5 in is the usual width", "a print 89 mm is the usual width"),
        ("sheets 12 x 15 in, 2 inks", "sheets 305 × 381 mm, 2 inks"),
        ("8 feet of 22 in roll", "8 feet of 559 mm roll"),
        ("printed 2 in 3 inks; 40 in² in one piece", "printed 2 in 3 inks; 40 in² in one piece"),
    ],
)
def test_lengths_in_sentences_follow_the_shops_unit(words: str, in_mm: str) -> None:
    assert in_units(words, "mm") == in_mm
    assert in_units(words, "in") == words.replace("12 x 15", "12 × 15")


def test_a_shop_in_millimetres_is_told_no_inches(art: Path) -> None:
    """The badge of 390 px is far too small for 10 inches: customer and press are told so."""
    *_, papers = job(art, {"width_in": 10, "method": "spot"}, shop=shop_on("a4", "mm"))
    for name in NAMES:
        assert not re.search(r"\b[\d.]+ in\b(?!²)", text_of(papers, name)), name
    assert "the print is 254 mm" in text_of(papers, "quote")
    assert "191 °C (375 °F)" in text_of(papers, "press-sheet")


def test_a_design_stands_on_one_page_with_its_layout(art: Path) -> None:
    # so large that no two share a sheet
    prints = [{"width_in": 11 + n / 4, "method": "spot"} for n in range(4)]
    *_, papers = job(art, *prints)
    for page in texts(papers.files["printer-sheet.pdf"]):
        assert page.count("on a sheet of") == page.count("not at its size")


def test_many_prints_and_long_names_stay_on_their_pages(art: Path) -> None:
    long = art.with_name("a_very_long_file_name_that_no_column_was_ever_made_for.final.v2.png")
    long.write_bytes(art.read_bytes())
    prints = [{"width_in": 2 + n / 2, "art": str(long), "method": "film-area"} for n in range(12)]
    sizes = tuple(SizeRun(size=f"size {n}", quantity=n) for n in range(1, 31))
    *_, papers = job(art, *prints, quantity=None, sizes=sizes)
    for name in NAMES:
        document = pypdfium2.PdfDocument(papers.files[f"{name}.pdf"])
        for page in document:
            width, height = page.get_size()
            words = page.get_textpage()
            for n in range(words.count_rects()):
                left, bottom, right, top = words.get_rect(n)
                assert 36 < left < right < width - 36, name
                assert 18 < bottom < top < height - 18, name
    assert text_of(papers, "customer-proof").count("Print 12 of 12") == 1


def test_nothing_lies_on_the_disk_meanwhile(
    art: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """There is no temporary folder, and papers are made: a crash leaves nothing behind."""
    monkeypatch.setattr(tempfile, "tempdir", str(tmp_path / "none"))
    with pytest.raises(OSError, match="none"):
        tempfile.mkdtemp()
    *_, papers = job(art, {"width_in": 3})
    assert papers.files["customer-proof.pdf"].startswith(b"%PDF")


def test_two_runs_give_the_same_bytes(art: Path) -> None:
    *_, one = job(art, {"width_in": 4})
    *_, other = job(art, {"width_in": 4})
    assert one == other
    assert set(one.files) == {"quote.json"} | {f"{n}.{e}" for n in NAMES for e in ("pdf", "html")}
