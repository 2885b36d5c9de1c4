"""The documents that leave the shop, each as PDF and as HTML, for a job's folder."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass

from artcheck.domain.check import OrderReport
from artcheck.domain.order import Order
from artcheck.domain.quote import OrderQuote
from artcheck.domain.shop import Shop
from artcheck.report.data import to_json
from artcheck.report.papers.art import CutArt
from artcheck.report.papers.blocks import Art, Paper
from artcheck.report.papers.html import paper_html
from artcheck.report.papers.pdf import paper_pdf
from artcheck.report.papers.press import press_paper
from artcheck.report.papers.printer import printer_paper
from artcheck.report.papers.proof import proof_art, proof_paper
from artcheck.report.papers.quote import quote_paper

__all__ = ["NAMES", "QUOTE_JSON", "TITLES", "Papers", "job_papers"]

QUOTE_JSON = "quote.json"
NAMES = ("customer-proof", "quote", "press-sheet", "printer-sheet")
"""The papers; each is a .pdf and a .html."""

TITLES = dict(
    zip(NAMES, ("Customer's proof", "Quote", "Press sheet", "Printer's sheet"), strict=True)
)


@dataclass(frozen=True, slots=True)
class Papers:
    """Files by name, to lie beside report.json; and what whoever made them must be told."""

    files: dict[str, bytes]
    warnings: tuple[str, ...]


def job_papers(
    order: Order, report: OrderReport, quote: OrderQuote, shop: Shop, arts: Iterable[CutArt]
) -> Papers:
    """Every paper of an evaluated order. Nothing is written: put the files into the job's folder.

    ``quote`` is `pipeline.quote_order` of ``order`` and ``report``; ``arts`` is each print's art
    freed from its background (`pipeline.cut_out_with_fades`), looked at one by one.

    The same order gives the same bytes on the same machine; another's fonts may differ for
    writing systems beyond Latin, Greek, Cyrillic and Hebrew.
    """
    shown = [
        proof_art(art, one, print_, shop)
        for art, one, print_ in zip(arts, report.prints, order.prints, strict=True)
    ]
    files = {QUOTE_JSON: to_json(quote).encode()}
    warnings = [f"The papers leave a blank line for the {what}." for what in quote.missing]
    for name, paper in zip(NAMES, _papers(order, report, quote, shop, shown), strict=True):
        data, unshown = paper_pdf(paper)
        files[f"{name}.pdf"] = data
        files[f"{name}.html"] = paper_html(paper).encode()
        if unshown:
            warnings.append(
                f"{name}.pdf shows empty boxes for {unshown}: no font on this machine has them."
                f" Install one, or print {name}.html from a browser."
            )
    return Papers(files, tuple(warnings))


def _papers(
    order: Order, report: OrderReport, quote: OrderQuote, shop: Shop, arts: list[Art]
) -> Iterator[Paper]:
    """In the order of `NAMES`."""
    reports, prints = report.prints, order.prints
    yield proof_paper(quote, reports, prints, shop, arts)
    yield quote_paper(quote, shop.papers)
    yield press_paper(order, report, quote, shop, arts)
    together = report.quote.together if report.quote else ()
    yield printer_paper(quote, together, reports, prints, shop, arts)
