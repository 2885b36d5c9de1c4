"""The same art is known again; other art is not taken for it."""

from __future__ import annotations

import io
from importlib import resources
from itertools import combinations
from pathlib import Path

import pytest
from PIL import Image

from artcheck.domain.order import Print
from artcheck.pipeline import cut_out
from artcheck.web.likeness import ALIKE_BITS, alike, fingerprint
from tests.art import on_white, saved, two_inks

ART = Path(str(resources.files("artcheck") / "demo" / "art"))


def of(path: Path) -> int:
    return fingerprint(cut_out(Print(art=str(path))))


@pytest.mark.parametrize("ending", ["jpg", "webp", "png"])
def test_another_kind_and_size_is_the_same_art(tmp_path: Path, ending: str) -> None:
    first = of(saved(two_inks(900), tmp_path / "first.png"))
    page = on_white(two_inks(420)) if ending == "jpg" else two_inks(420)
    assert alike(first, of(saved(page, tmp_path / f"again.{ending}")))


def test_the_demo_arts_differ_clearly() -> None:
    """About half of 63 bits differ between strangers; each pair here keeps well off the limit."""
    names = (
        "1-league-logo.svg",
        "2-bakery.png",
        "3-wheelers.pdf",
        "6-lanterns.webp",
        "7-ferry.svg",
    )
    prints = [of(ART / name) for name in names]
    apart = [(one ^ other).bit_count() for one, other in combinations(prints, 2)]
    assert min(apart) > 1.5 * ALIKE_BITS


def test_turned_art_is_other_art(tmp_path: Path) -> None:
    turned = two_inks(900).transpose(Image.Transpose.ROTATE_90)
    first = of(saved(two_inks(900), tmp_path / "a.png"))
    assert not alike(first, of(saved(turned, tmp_path / "b.png")))


def test_fingerprint_fits_64_bits_and_repeats(tmp_path: Path) -> None:
    file = saved(two_inks(), tmp_path / "a.png")
    assert io.BytesIO(of(file).to_bytes(8, "big")).getvalue() == of(file).to_bytes(8, "big")
