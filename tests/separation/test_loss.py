"""What a separation loses, measured on it; and areas amid ink that are left to the garment."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from numpy.typing import NDArray
from PIL import Image

from artcheck.colour.difference import delta_e_2000_single
from artcheck.colour.spaces import hex_to_lab
from artcheck.domain.artwork import Cutout
from artcheck.domain.base import Lab
from artcheck.domain.separation import NO_INK, InkPlan, Loss, Separated, SpotInk
from artcheck.separation.loss import measured_loss
from artcheck.separation.regions import separate_regions
from tests.art import drawn

WHITE, COAL, RED = "#ffffff", "#2a2a2a", "#c81e28"
NAVY: Lab = (20.0, 2.0, -24.0)
BOX = f'<rect x="20" y="20" width="200" height="160" fill="{WHITE}"/>'
SIGN = '<path d="M60 60 h120 v30 h-40 v60 h-30 v-60 h-50 z" fill="{}"/>'
ALONE = f'<rect x="250" y="60" width="30" height="80" fill="{COAL}"/>'


def plan(*codes: str) -> InkPlan:
    inks = tuple(SpotInk(name=c, hex=c, lab=hex_to_lab(c), stock=False) for c in codes)
    loss = Loss(mean_delta_e_2000=99, p95_delta_e_2000=99, worst_region_delta_e_2000=99)
    return InkPlan(inks=inks, loss=loss, locked=())


def cutout(image: Image.Image) -> Cutout:
    rgba = np.asarray(image.convert("RGBA"))
    box = (0, 0, image.height, image.width)
    return Cutout(rgb=rgba[..., :3].copy(), coverage=rgba[..., 3].copy(), box=box)


def separated(
    art: Cutout, *codes: str, garment: Lab | None = None, all_seen: bool = False
) -> Separated:
    width = art.coverage.shape[1]
    return separate_regions(
        art,
        plan(*codes),
        ppi=200,
        width_in=width / 100,
        garment_lab=garment,
        knock_out_within=5,
        all_seen=all_seen,
    )


def doubled(body: str) -> NDArray[np.bool_]:
    alpha = np.asarray(drawn(body, 300, 200))[..., 3] > 127
    return np.repeat(np.repeat(alpha, 2, 0), 2, 1)


def test_loss_is_the_share_times_the_difference() -> None:
    body = (
        f'<rect width="225" height="200" fill="{RED}"/>'
        f'<rect x="225" width="75" height="200" fill="{COAL}"/>'
    )
    loss = separated(cutout(drawn(body, 300, 200)), RED).loss
    apart = delta_e_2000_single(hex_to_lab(RED), hex_to_lab(COAL))
    assert loss.mean_delta_e_2000 == pytest.approx(0.25 * apart, rel=0.03)
    assert loss.p95_delta_e_2000 == pytest.approx(apart, rel=0.01)
    assert loss.worst_region_delta_e_2000 == pytest.approx(apart, rel=0.01)


def test_a_region_of_a_hundredth_shows_in_the_worst_and_not_in_the_percentile() -> None:
    body = (
        f'<rect width="300" height="200" fill="{RED}"/>'
        f'<rect x="20" y="20" width="25" height="25" fill="{COAL}"/>'
    )
    loss = separated(cutout(drawn(body, 300, 200)), RED).loss
    assert loss.p95_delta_e_2000 < 1
    assert loss.mean_delta_e_2000 < 1
    apart = delta_e_2000_single(hex_to_lab(RED), hex_to_lab(COAL))
    assert loss.worst_region_delta_e_2000 == pytest.approx(apart, rel=0.01)


def test_what_does_not_print_shows_the_garment() -> None:
    art = cutout(drawn(BOX, 300, 200))
    result = separated(art, WHITE, garment=NAVY)
    assert result.loss.mean_delta_e_2000 < 0.5
    labels = result.labels.copy()
    labels[:, :200] = NO_INK
    lost = measured_loss(art, replace(result, labels=labels), NAVY)
    apart = delta_e_2000_single(hex_to_lab(WHITE), NAVY)
    assert lost.mean_delta_e_2000 == pytest.approx(apart * 80 / 200, rel=0.05)


def test_lettering_amid_ink_is_left_to_a_garment_that_is_nearer() -> None:
    """Coal on a white box, printed in white alone on navy: open it is dark, printed it is gone."""
    art = cutout(drawn(BOX + SIGN.format(COAL) + ALONE, 300, 200))
    got = separated(art, WHITE, garment=NAVY)
    sign = doubled(SIGN.format(COAL))
    open_ = (got.labels == NO_INK) & doubled(BOX)
    assert (open_ & sign).sum() / (open_ | sign).sum() >= 0.98
    alone = doubled(ALONE)
    assert (got.labels[alone] == 0).mean() > 0.98  # beside cloth alone it would vanish
    (change,) = got.changes
    assert "left open" in change.what
    assert change.where == pytest.approx((120, 120, 300, 360), abs=8)


@pytest.mark.parametrize("garment", [None, hex_to_lab("#f4e8d0")])
def test_lettering_is_printed_where_the_garment_is_no_nearer(garment: Lab | None) -> None:
    art = cutout(drawn(BOX + SIGN.format(COAL), 300, 200))
    got = separated(art, RED, garment=garment)
    assert (got.labels[doubled(SIGN.format(COAL))] == 0).mean() > 0.98


def test_an_ink_that_is_near_enough_prints() -> None:
    art = cutout(drawn(BOX + SIGN.format(COAL), 300, 200))
    got = separated(art, WHITE, "#2e2c2b", garment=NAVY)
    assert (got.labels[doubled(SIGN.format(COAL))] == 1).mean() > 0.97
    assert got.changes == ()


NAVY_ALONE = '<path d="M250 60 h30 v80 h-30 z M260 80 v40 h10 v-40 z" fill="#1e2a52"/>'


@pytest.mark.parametrize("paper", [False, True])
def test_a_shape_in_the_garments_colour_prints_in_the_only_ink(paper: bool) -> None:
    """Left to the cloth it would be lost; within a white box the same colour stays open."""
    image = drawn(BOX.replace(WHITE, "#f0d060") + SIGN.format("#1e2a52") + NAVY_ALONE, 300, 200)
    art = cutout(image)
    if paper:
        page = Image.new("RGB", image.size, WHITE)
        page.paste(image, mask=image.getchannel("A"))
        art = replace(art, rgb=np.asarray(page).copy(), paper_hex=WHITE)
    result = separated(art, "#f0d060", garment=hex_to_lab("#1e2a52"), all_seen=True)
    printed = result.labels == 0
    assert printed[doubled(NAVY_ALONE)].mean() > 0.99
    assert not printed[2 * 85 : 2 * 115, 2 * 262 : 2 * 268].any()
    assert not printed[doubled(SIGN.format(COAL))].any()
    (alone,) = [change for change in result.changes if "alone" in change.what]
    assert alone.where is not None
    assert abs(alone.where[1] - 500) <= 8


def test_with_two_inks_a_shape_in_the_garments_colour_is_left_to_it() -> None:
    art = cutout(drawn(BOX + NAVY_ALONE, 300, 200))
    result = separated(art, WHITE, RED, garment=hex_to_lab("#1e2a52"), all_seen=True)
    assert (result.labels[doubled(NAVY_ALONE)] == NO_INK).all()
