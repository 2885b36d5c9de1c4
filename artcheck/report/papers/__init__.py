"""The documents that leave the shop, each as PDF and as HTML, for a job's folder."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from artcheck.domain.quote import OrderQuote
from artcheck.domain.shop import Shop
from artcheck.report.data import to_json
from artcheck.report.papers.blocks import Paper
from artcheck.report.papers.html import paper_html
from artcheck.report.papers.pdf import paper_pdf
from artcheck.report.papers.quote import quote_paper

__all__ = ["QUOTE_JSON", "Papers", "job_papers"]

QUOTE_JSON = "quote.json"


@dataclass(frozen=True, slots=True)
class Papers:
    """Files by name, to lie beside report.json; and what whoever made them must be told."""

    files: dict[str, bytes]
    warnings: tuple[str, ...]


def job_papers(quote: OrderQuote, shop: Shop) -> Papers:
    """Every paper of an order. Nothing is written: put the files into the job's folder.

    The same order gives the same bytes on the same machine; another's fonts may differ for
    writing systems beyond Latin, Greek, Cyrillic and Hebrew.
    """
    files = {QUOTE_JSON: to_json(quote).encode()}
    warnings = [f"The papers leave a blank line for the {what}." for what in quote.missing]
    for name, paper in _papers(quote, shop):
        data, unshown = paper_pdf(paper)
        files[f"{name}.pdf"] = data
        files[f"{name}.html"] = paper_html(paper).encode()
        if unshown:
            warnings.append(
                f"{name}.pdf shows empty boxes for {unshown}: no font on this machine has them."
                f" Install one, or print {name}.html from a browser."
            )
    return Papers(files, tuple(warnings))


def _papers(quote: OrderQuote, shop: Shop) -> Iterator[tuple[str, Paper]]:
    yield "quote", quote_paper(quote, shop.papers)
