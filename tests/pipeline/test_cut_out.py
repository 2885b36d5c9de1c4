"""The art freed from its background, as the page shows it."""

from __future__ import annotations

from pathlib import Path

import numpy as np

from artcheck.domain.order import Print
from artcheck.pipeline import cut_out
from tests.art import on_white, saved, two_inks


def test_transparent_art_keeps_its_alpha(tmp_path: Path) -> None:
    art = two_inks()
    cutout = cut_out(Print(art=str(saved(art, tmp_path / "art.png"))))
    assert np.array_equal(cutout.coverage, np.asarray(art)[..., 3])
    assert cutout.paper_hex is None
    row0, col0, row1, col1 = cutout.box
    assert (col0, row0, col1, row1) == art.getchannel("A").point(lambda a: 255 * (a > 7)).getbbox()


def test_white_paper_is_cut_away(tmp_path: Path) -> None:
    art = two_inks()
    cutout = cut_out(Print(art=str(saved(on_white(art), tmp_path / "art.png"))))
    assert cutout.paper_hex == "#ffffff"
    off = cutout.coverage.astype(int) - np.asarray(art)[..., 3].astype(int)
    assert np.abs(off).max() <= 3  # two roundings to 8 bits: the blend, and taking it apart


def test_kept_paper_stays(tmp_path: Path) -> None:
    path = saved(on_white(two_inks()), tmp_path / "art.png")
    cutout = cut_out(Print(art=str(path), background="keep"))
    assert cutout.coverage.min() == 255
    assert cutout.box == (0, 0, 400, 600)
