"""Results of many files: lines, a table, pages."""

from __future__ import annotations

import csv
import json
from html.parser import HTMLParser
from pathlib import Path

import pytest

from artcheck.report.overview import (
    LINES_NAME,
    PAGE_NAME,
    ROWS_A_PAGE,
    TABLE_NAME,
    Row,
    page_name,
    write_overview,
)

FAULT = {"kind": "art", "text": "It breaks off.", "code": 3}


def faulty(name: str) -> Row:
    return Row(name, None, None, FAULT)


class Texts(HTMLParser):
    """Every piece of text of a page, and its links."""

    def __init__(self, page: str) -> None:
        super().__init__()
        self.texts: list[str] = []
        self.links: list[str] = []
        self.feed(page)

    def handle_data(self, data: str) -> None:
        self.texts.append(data.strip())

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.links += [value for key, value in attrs if tag == "a" and key == "href" and value]


NASTY = ['=HYPERLINK("x")', "+1.png", "@a,b.png", "<b>&amp;.png", 'a "quoted"\nline.png', "ü\udcff"]


@pytest.mark.parametrize("name", NASTY)
def test_any_name_stays_a_name(tmp_path: Path, name: str) -> None:
    """A spreadsheet runs what begins like a formula; a page reads what looks like a tag."""
    write_overview(tmp_path, [name], faulty)
    shown = name.encode("utf-8", "backslashreplace").decode()
    with (tmp_path / TABLE_NAME).open(newline="", encoding="utf-8") as table:
        cell = next(csv.DictReader(table))["file"]
    assert cell == (f"'{shown}" if name[0] in "=+@" else shown)
    on_page = shown.replace("\n", "\\n")
    assert on_page in Texts((tmp_path / PAGE_NAME).read_text("utf-8")).texts
    assert json.loads((tmp_path / LINES_NAME).read_text())["file"] == name


def test_many_files_are_several_pages_and_old_ones_go(tmp_path: Path) -> None:
    names = [f"{n:03}.png" for n in range(2 * ROWS_A_PAGE + 1)]
    write_overview(tmp_path, names, faulty)
    pages = [page_name(number) for number in (1, 2, 3)]
    seen = []
    for page in pages:
        page_read = Texts((tmp_path / page).read_text("utf-8"))
        assert set(page_read.links) == set(pages) - {page}
        seen += [text for text in page_read.texts if text.endswith(".png")]
    assert seen == names
    write_overview(tmp_path, names[:1], faulty)
    assert [path.name for path in tmp_path.glob("*.html")] == [PAGE_NAME]
