"""What must read on the garment: inks that face it, not those inside other inks."""

from __future__ import annotations

from pathlib import Path

import pytest

from artcheck.domain.check import Report
from artcheck.domain.order import Garment, Order, Print
from artcheck.pipeline import check
from artcheck.shop import load_shop
from tests import art

BOX = '<rect x="20" y="20" width="260" height="260" fill="#1b2a41"/>'
LETTERS = '<path d="M90 90h40v60h60v-60h40v120h-40v-40h-60v40h-40z" fill="#f2b705"/>'
OUTLINE = '<rect x="20" y="20" width="260" height="260" fill="#f2b705"/>'


def _checked(body: str, colour: str, folder: Path) -> Report:
    file = art.saved(art.drawn(body, 300, 300), folder / "art.png")
    order = Order(
        garments=(Garment(kind="tee", colour=colour, fabric="cotton", quantity=24),),
        prints=(Print(art=str(file), width_in=9),),
    )
    return check(file, order, load_shop())


def _ids(report: Report) -> set[str]:
    return {finding.id for method in report.methods for finding in method.findings}


def test_letters_in_a_box_are_read_against_the_box(tmp_path: Path) -> None:
    report = _checked(BOX + LETTERS, "#f5c542", tmp_path)
    words = [contrast.verdict for contrast in report.contrast]
    assert words[0] == "clear"
    assert words[1] in ("inside other inks", "matches garment")
    assert not _ids(report) & {"contrast-unreadable", "contrast-weak"}


@pytest.mark.parametrize("body", [LETTERS, LETTERS + BOX.replace("20", "280", 1)])
def test_letters_of_their_own_must_read_on_the_garment(body: str, tmp_path: Path) -> None:
    assert "contrast-unreadable" in _ids(_checked(body, "#e0c060", tmp_path))


def test_inside_a_box_that_the_garment_swallows_letters_stand_on_the_garment(
    tmp_path: Path,
) -> None:
    inside = OUTLINE + LETTERS.replace("#f2b705", "#f5e0a0")
    report = _checked(inside, "#efc040", tmp_path)
    assert "inside other inks" not in [contrast.verdict for contrast in report.contrast]


@pytest.mark.parametrize(
    ("body", "severity"),
    [(BOX + LETTERS, "note"), (LETTERS + BOX.replace("20", "280", 1), "change")],
)
def test_garment_colour_inside_other_inks_is_no_loss(
    body: str, severity: str, tmp_path: Path
) -> None:
    """Letters of the garment's colour: left open in a box, or on the cloth itself."""
    report = _checked(body, "#f2b705", tmp_path)
    found = [f for m in report.methods for f in m.findings if f.id == "ink-is-garment"]
    assert {finding.severity for finding in found} == {severity}
