"""Papers as PDF: fonts inside, text that reads back, pages that break, the same bytes."""

from __future__ import annotations

import io

import pikepdf
import pypdfium2
import pytest
import typst

from artcheck.report.papers import pdf
from artcheck.report.papers.blocks import Block, Bullets, Facts, Heading, Lines, Paper, Table
from artcheck.report.papers.html import paper_html
from artcheck.report.papers.pdf import paper_pdf


def paper(*blocks: Block, **given: object) -> Paper:
    plain: dict[str, object] = {
        "title": "Quote",
        "sender": "Brindlefenn Print Room",
        "contact": (),
        "facts": (("Number", "1042"),),
        "blocks": blocks,
        "foot": "Brindlefenn Print Room",
    }
    return Paper(**plain | given)  # type: ignore[arg-type]


def texts(data: bytes) -> list[str]:
    """Each page's text on one line."""
    document = pypdfium2.PdfDocument(data)
    return [" ".join(page.get_textpage().get_text_bounded().split()) for page in document]


def made(*blocks: Block, **given: object) -> bytes:
    return paper_pdf(paper(*blocks, **given))[0]


def test_page_size_is_the_shops() -> None:
    for page, size in (("letter", (612.0, 792.0)), ("a4", (595.28, 841.89))):
        with pikepdf.open(io.BytesIO(made(page=page))) as file:
            box = [float(n) for n in file.pages[0].mediabox]
            assert [round(n - m, 1) for n, m in zip(box[2:], size, strict=True)] == [0, 0]


def test_every_font_is_embedded() -> None:
    with pikepdf.open(io.BytesIO(made(Lines(("Łódź, Αθήνα, Москва",), strong=True)))) as file:
        fonts = [o for o in file.objects if isinstance(o, pikepdf.Dictionary)]
        described = [f for f in fonts if f.get("/Type") == "/FontDescriptor"]
        assert described
        assert all({"/FontFile2", "/FontFile3"} & set(f.keys()) for f in described)


def test_names_of_other_alphabets_read_back() -> None:
    (text,) = texts(made(Facts((("For", "Łódź Αθήνα Москва"), ("Order", "Ñandú Żółw")))))
    assert "Łódź Αθήνα Москва" in text
    assert "Ñandú Żółw" in text


def test_characters_that_no_font_has_are_named(monkeypatch: pytest.MonkeyPatch) -> None:
    """The typesetter's own fonts hold no Chinese characters."""
    monkeypatch.setattr(pdf, "_fonts", lambda: typst.Fonts(include_system_fonts=False))
    assert paper_pdf(paper(Lines(("茶 tea 茶 房",))))[1] == "茶房"
    assert paper_pdf(paper(Lines(("tea",))))[1] == ""


def test_text_is_never_markup() -> None:
    hostile = '#panic("x") $x$ *b* @ref <l> \\ // /* [c] ```` https://e.example'
    (text,) = texts(made(Lines((hostile,)), Table((hostile,), ((hostile,),))))
    assert text.count('#panic("x") $x$ *b* @ref <l> \\ // /* [c] ````') == 3
    page = paper_html(paper(Lines(("<script>alert(1)</script>",))))
    assert "<script" not in page


def test_long_lists_break_onto_pages_and_repeat_their_heads() -> None:
    rows = tuple((f"name {n}", f"{n}") for n in range(100, 220))
    pages = texts(made(Heading("Names"), Table(("Piece", "Pieces"), rows, figures=(1,))))
    assert len(pages) > 2
    for number, page in enumerate(pages, 1):
        assert "Piece Pieces" in page
        assert f"{number} / {len(pages)}" in page
    whole = " ".join(pages)
    assert all(f"name {n} {n}" in whole for n in range(100, 220))


def test_long_words_and_texts_stay_on_the_page() -> None:
    word, text = "x" * 300, "Delivery is made to the door. " * 200
    data = made(Bullets((text, word)), Facts((("For", word),)), Table(("A", "B"), ((word, text),)))
    document = pypdfium2.PdfDocument(data)
    for page in document:
        width, _ = page.get_size()
        boxes = page.get_textpage()
        for n in range(boxes.count_rects()):
            left, _, right, _ = boxes.get_rect(n)
            assert left > 0
            assert right < width, "a word runs off the page"


def test_two_runs_give_the_same_bytes() -> None:
    blocks = (Heading("Terms"), Bullets(("one", "two"), tick=True))
    assert made(*blocks) == made(*blocks)
    assert b"CreationDate" not in made(*blocks)
