"""Fades kept as tints: the right share of dots, and every edge where it was.

Wanted shares follow from the art's light: dots and what lies between them add up as light (the
Murray-Davies relation, 1936).
"""

from __future__ import annotations

import numpy as np
import pytest
from numpy.typing import NDArray
from PIL import Image

from artcheck.colour.difference import delta_e_2000
from artcheck.colour.spaces import hex_to_lab, srgb8_to_lab
from artcheck.domain.artwork import Cutout
from artcheck.domain.separation import NO_INK, InkPlan, Loss, Separated, SpotInk
from artcheck.separation.plates import PlateSettings, make_plates
from artcheck.separation.proof import proof_of
from artcheck.separation.regions import separate_regions
from tests.art import drawn

GOLD, RED, INKBLUE = "#f0b428", "#c81e28", "#142850"
NO_LOSS = Loss(mean_delta_e_2000=0, p95_delta_e_2000=0, worst_region_delta_e_2000=0)
FACTOR = 2
WIDTH, HEIGHT = 400, 240

GRADIENT = (
    f'<linearGradient id="g"><stop offset="0.05" stop-color="{GOLD}"/>'
    f'<stop offset="0.95" stop-color="{RED}"/></linearGradient>'
)
FADE = (
    f'<defs>{GRADIENT}</defs><rect x="20" y="20" width="360" height="200" rx="40" fill="url(#g)"/>'
)
LETTER = f'<path d="M120 70 H280 V95 H215 V180 H185 V95 H120 Z" fill="{INKBLUE}"/>'


def plan(*codes: str) -> InkPlan:
    inks = tuple(SpotInk(name=c, hex=c, lab=hex_to_lab(c), stock=False) for c in codes)
    return InkPlan(inks=inks, loss=NO_LOSS, locked=())


def cutout(image: Image.Image, paper_hex: str | None = None) -> Cutout:
    rgba = np.asarray(image.convert("RGBA"))
    box = (0, 0, image.height, image.width)
    return Cutout(
        rgb=rgba[..., :3].copy(), coverage=rgba[..., 3].copy(), box=box, paper_hex=paper_hex
    )


def separated(art: Cutout, *codes: str, dots: bool = True) -> Separated:
    """All ink is said to fade, at half the art's resolution."""
    fades = art.coverage[::2, ::2] > 0
    width = art.coverage.shape[1]
    return separate_regions(
        art,
        plan(*codes),
        ppi=100.0 * FACTOR,
        width_in=width / 100,
        garment_lab=None,
        fades=fades,
        dots=dots,
    )


def shown(result: Separated) -> NDArray[np.float32]:
    """Lab of the proof, at the plates' resolution."""
    settings = PlateSettings(screen=lambda tint: tint > 127)
    return np.asarray(srgb8_to_lab(proof_of(make_plates(result, settings)).rgb))


def doubled(image: Image.Image) -> NDArray[np.float32]:
    rgb = image.convert("RGB").resize((FACTOR * image.width, FACTOR * image.height))
    return np.asarray(srgb8_to_lab(np.asarray(rgb)))


def test_a_fade_is_the_darker_ink_in_dots_over_the_lighter() -> None:
    image = drawn(FADE, WIDTH, HEIGHT)
    got = separated(cutout(image), GOLD, RED)
    gold, red = got.tints
    assert gold is None
    assert red is not None
    inside = np.s_[100:380, 120:680]
    assert (got.labels[inside] == 0).all()
    light = np.asarray(image.convert("RGB").resize((800, 480)), np.float64)[inside] / 255
    linear = np.where(light <= 0.04045, light / 12.92, ((light + 0.055) / 1.055) ** 2.4)
    ends = [np.array([int(c[i : i + 2], 16) / 255 for i in (1, 3, 5)]) for c in (GOLD, RED)]
    start, end = (np.where(c <= 0.04045, c / 12.92, ((c + 0.055) / 1.055) ** 2.4) for c in ends)
    wanted = (linear[..., 1] - start[1]) / (end[1] - start[1])  # most of the light is green's
    assert np.abs(red[inside] / 255 - wanted).mean() < 0.03
    assert (np.diff(red[240, 120:680].astype(int)) >= 0).all()
    apart = delta_e_2000(shown(got)[inside], doubled(image)[inside])
    flat = delta_e_2000(
        shown(separated(cutout(image), GOLD, RED, dots=False))[inside], doubled(image)[inside]
    )
    assert apart.mean() < 2.5
    assert flat.mean() > 3 * apart.mean()


def test_the_outline_of_a_fade_stays() -> None:
    art = cutout(drawn(FADE, WIDTH, HEIGHT))
    kept, flat = separated(art, GOLD, RED), separated(art, GOLD, RED, dots=False)
    assert np.array_equal(kept.labels == NO_INK, flat.labels == NO_INK)
    red = kept.tints[1]
    assert red is not None
    assert not red[kept.labels == NO_INK].any()
    # The dark end is dark to its very edge: no rim of the lighter ink under it shows.
    rim = (kept.labels[240] != NO_INK).nonzero()[0][-1]
    assert (red[240, rim - 6 : rim + 1] > 240).all()


def test_a_line_around_a_fade_is_no_part_of_it() -> None:
    """A line of the fade's own dark ink, a few pixels of bare cloth away all around it."""
    line = (
        '<rect x="12" y="12" width="376" height="216" rx="48" fill="none"'
        f' stroke="{RED}" stroke-width="8"/>'
    )
    alone = np.asarray(drawn(FADE, WIDTH, HEIGHT))[::4, ::4, 3] > 250
    art = cutout(drawn(FADE + line, WIDTH, HEIGHT))
    got = separate_regions(art, plan(GOLD, RED), ppi=200, width_in=4, garment_lab=None, fades=alone)
    drawn_line = np.asarray(drawn(line, WIDTH, HEIGHT).resize((800, 480)))[..., 3] > 250
    assert got.tints[1] is not None
    assert (got.labels[drawn_line] == 1).all()


def test_lettering_on_a_fade_keeps_its_ink_and_its_edge() -> None:
    art = cutout(drawn(FADE + LETTER, WIDTH, HEIGHT))
    alone = separated(cutout(drawn(LETTER, WIDTH, HEIGHT)), INKBLUE, dots=False).labels == 0
    got = separated(art, GOLD, RED, INKBLUE)
    letter = got.labels == 2
    assert (letter & alone).sum() / (letter | alone).sum() >= 0.98
    red = got.tints[1]
    assert red is not None
    assert not red[letter].any()


def test_a_fade_to_nothing_is_dots_on_the_cloth() -> None:
    alpha = np.tile(np.linspace(0, 255, WIDTH).astype(np.uint8), (HEIGHT, 1))
    rgb = np.full((HEIGHT, WIDTH, 3), (200, 30, 40), np.uint8)
    art = Cutout(rgb=rgb, coverage=alpha, box=(0, 0, HEIGHT, WIDTH))
    got = separated(art, RED)
    (tint,) = got.tints
    assert tint is not None
    wanted = np.repeat(np.repeat(alpha, FACTOR, 0), FACTOR, 1).astype(int)
    inner = np.s_[20:-20, 60:-60]
    assert np.abs(tint[inner].astype(int) - wanted[inner]).max() <= 5
    assert (got.labels[inner] == NO_INK).all()
    assert "on the garment" in got.changes[0].what


def test_a_fade_to_removed_paper_is_dots_on_the_cloth() -> None:
    share = np.linspace(0, 1, WIDTH)[None, :, None]
    rgb = np.rint(255 * (1 - share) + np.array([200, 30, 40]) * share).astype(np.uint8)
    rgb = np.repeat(rgb, HEIGHT, axis=0)
    art = Cutout(
        rgb=rgb,
        coverage=np.full((HEIGHT, WIDTH), 255, np.uint8),
        box=(0, 0, HEIGHT, WIDTH),
        paper_hex="#ffffff",
    )
    got = separated(art, RED)
    (tint,) = got.tints
    assert tint is not None
    assert tint[:, :20].mean() < 25
    assert tint[:, -20:].mean() > 235
    assert (np.diff(tint[240].astype(int)) >= -1).all()


def test_a_fade_that_no_pair_holds_is_flat_and_said_so() -> None:
    got = separated(cutout(drawn(FADE, WIDTH, HEIGHT)), GOLD)
    assert got.tints == (None,)
    (change,) = got.changes
    assert change.what == "Fade printed in flat inks"
    assert change.where is not None
    row0, col0, row1, col1 = change.where
    assert (row0, col0) == pytest.approx((40, 40), abs=12)
    assert (row1, col1) == pytest.approx((440, 760), abs=12)


def test_flat_areas_said_to_fade_stay_flat() -> None:
    """Two solids beside one another: what is no blend gets no dots but on its very edge."""
    body = (
        f'<rect width="200" height="240" fill="{GOLD}"/>'
        f'<rect x="200" width="200" height="240" fill="{RED}"/>'
    )
    got = separated(cutout(drawn(body, WIDTH, HEIGHT)), GOLD, RED)
    assert got.tints == (None, None)
    assert (got.labels[:, :398] == 0).all()
    assert (got.labels[:, 402:] == 1).all()
