"""Film: exact size, a clean rim, white that never shows."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from numpy.typing import NDArray
from PIL import Image

from artcheck.domain.artwork import Cutout
from artcheck.domain.order import Print
from artcheck.errors import NothingToPrintError
from artcheck.pipeline import cut_out
from artcheck.separation.film import Film, FilmSettings, make_film
from tests.art import BLUE, RED, drawn, on_white, saved, two_inks
from tests.separation.test_trapping import EIGHT

CHOKE_PT = 0.75


def settings(**other: object) -> FilmSettings:
    return FilmSettings(**{"ppi": 300.0, "width_in": 1.5, "choke_pt": CHOKE_PT, **other})  # type: ignore[arg-type]


def film_of(image: Image.Image, folder: Path, **other: object) -> Film:
    path = saved(image, folder / "art.png")
    return make_film(cut_out(Print(art=str(path))), settings(**other))


def codes(hex_text: str) -> NDArray[np.int_]:
    return np.array(list(bytes.fromhex(hex_text[1:])), int)


def farthest(rgb: NDArray[np.uint8]) -> int:
    """How far any colour is from the nearer of the two inks, in codes."""
    apart = [np.abs(rgb.astype(int) - codes(c)).max(axis=-1) for c in (RED, BLUE)]
    return int(np.minimum(*apart).max())


@pytest.mark.parametrize("width_px", [400, 900])
def test_rim_holds_no_paper(width_px: int, tmp_path: Path) -> None:
    film = film_of(on_white(two_inks(width_px)), tmp_path)
    assert set(np.unique(film.alpha)) == {0, 255}
    assert farthest(film.rgb[film.alpha > 0]) <= 6


def test_size_is_exact_and_soft_edges_stay(tmp_path: Path) -> None:
    art = two_inks(900)
    hard, soft = film_of(art, tmp_path), film_of(art, tmp_path, edges="soft")
    row0, col0, row1, col1 = cut_out(Print(art=str(tmp_path / "art.png"))).box
    assert hard.alpha.shape == (round(450 * (row1 - row0) / (col1 - col0)), 450)
    assert hard.height_in == pytest.approx(1.5 * (row1 - row0) / (col1 - col0))
    assert len(np.unique(soft.alpha)) > 10
    assert np.array_equal(hard.alpha > 0, soft.alpha >= 128)
    assert not hard.warnings


def test_white_may_shift_by_its_choke_and_stays_hidden(tmp_path: Path) -> None:
    film = film_of(two_inks(900), tmp_path)
    assert 0 < np.count_nonzero(film.white) < np.count_nonzero(film.alpha)
    inked = np.pad(film.alpha, 5)
    white = np.pad(film.white, 5)
    for row, col in EIGHT:
        step = int(CHOKE_PT / 72 * 300 / np.hypot(row, col))
        shifted = np.roll(white, (row * step, col * step), (0, 1))
        assert not (shifted > inked).any()


@pytest.mark.parametrize("width_px", [200, 900])
def test_rims_of_hairlines_are_no_glow(width_px: int, tmp_path: Path) -> None:
    scale = width_px / 400
    lines = "".join(
        f'<path d="M{x} 0l40 300" stroke="red" stroke-width="3"/>' for x in range(0, 360, 9)
    )
    art = drawn(f'<g transform="scale({scale})">{lines}</g>', width_px, round(300 * scale))
    film = film_of(art, tmp_path)
    assert not any("partly opaque" in warning for warning in film.warnings)


def test_glow_cut_hard_is_told(tmp_path: Path) -> None:
    glow = drawn(
        '<defs><radialGradient id="g"><stop offset="0.4" stop-color="red"/>'
        '<stop offset="1" stop-color="red" stop-opacity="0"/></radialGradient></defs>'
        '<circle cx="200" cy="200" r="200" fill="url(#g)"/>',
        400,
        400,
    )
    film = film_of(glow, tmp_path)
    assert any("partly opaque" in warning for warning in film.warnings)
    assert not film_of(glow, tmp_path, edges="soft").warnings


def test_lines_without_white_are_told(tmp_path: Path) -> None:
    thin = drawn('<path d="M10 10H390V290" fill="none" stroke="red" stroke-width="5"/>', 400, 300)
    film = film_of(thin, tmp_path)  # 5 px of 450 at 300 ppi: 1.2 pt, twice the choke is 1.5
    assert np.count_nonzero(film.white) < 10  # the inside of the corner alone
    assert any("no white under it" in warning for warning in film.warnings)


def test_garment_black_is_left_open(tmp_path: Path) -> None:
    art = drawn(
        '<rect width="400" height="300" fill="#c81e28"/>'
        '<rect x="100" y="80" width="120" height="90" fill="#2b2b2b"/>'
        '<rect x="260" y="80" width="60" height="90" fill="#5a5a5a"/>',
        400,
        300,
    )
    film = film_of(art, tmp_path, knock_out=(17.0, 0.0, 0.0), knock_out_within=5.0)
    scale = film.alpha.shape[1] / 400
    open_px = np.count_nonzero(film.alpha == 0)
    # Blends of red and black along its outline, up to two pixels, are not the garment's colour.
    assert open_px == pytest.approx(120 * 90 * scale**2 - 420 * scale, abs=420 * scale)
    assert not film.alpha[round(125 * scale), round(160 * scale)]
    assert film.alpha[round(125 * scale), round(290 * scale)]  # dark grey is not the garment


def test_nothing_left_is_an_error() -> None:
    square = np.full((40, 40, 3), 43, np.uint8)
    cutout = Cutout(rgb=square, coverage=np.full((40, 40), 255, np.uint8), box=(0, 0, 40, 40))
    with pytest.raises(NothingToPrintError, match="No ink is left"):
        make_film(cutout, settings(knock_out=(17.0, 0.0, 0.0), knock_out_within=5.0))
