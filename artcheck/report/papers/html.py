"""A paper as one self-contained HTML file: no script, no second file, no request."""

from __future__ import annotations

from artcheck.report.page import environment
from artcheck.report.papers.blocks import Paper

TEMPLATE = "paper.html"


def paper_html(paper: Paper) -> str:
    """The paper's blocks in the same words and figures as its PDF."""
    return environment().get_template(TEMPLATE).render(paper=paper)
