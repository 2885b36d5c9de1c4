"""The art on a gang's sheets: the plates and the film that a separation of the print makes."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from artcheck.domain.order import Garment, Order, Print
from artcheck.domain.separating import SeparationOptions
from artcheck.pipeline import evaluate_order, measure_order, separate
from artcheck.pipeline.gang_art import GangArt, GangPage
from artcheck.pipeline.ganging import gang_order
from artcheck.separation.film import Film
from artcheck.separation.job import SeparationJob
from artcheck.shop import load_shop
from tests.art import BLUE, RED, drawn, saved

TOUCHING = (
    f'<circle cx="200" cy="200" r="150" fill="{RED}"/>'
    f'<rect x="200" y="40" width="340" height="320" fill="{BLUE}"/>'
)


def order_of(folder: Path) -> Order:
    art = saved(drawn(TOUCHING), folder / "art.png")
    return Order(
        garment=Garment(kind="tee", colour="white", fabric="cotton", quantity=60),
        prints=(Print(art=str(art), width_in=3.0),),
    )


def both(order: Order, method_id: str) -> tuple[GangPage, SeparationJob]:
    shop = load_shop()
    measured = measure_order(order)
    checked = evaluate_order(measured, order, shop)
    _, gangs = gang_order(measured, order, checked, shop)
    gang = next(gang for gang in gangs if gang.report.id == method_id)
    page = next(GangArt(measured, order, checked, shop).pages(gang))
    return page, separate(order, shop, SeparationOptions(method=method_id))


def test_spot_sheets_carry_the_plates_of_a_separation(tmp_path: Path) -> None:
    page, job = both(order_of(tmp_path), "spot")
    art = page.arts["art"]
    assert not isinstance(art, Film)
    assert job.plates is not None
    for ours, theirs in zip(art, job.plates.plates, strict=True):
        assert np.array_equal(ours.mask, theirs.mask)
        assert ours.lab == pytest.approx(theirs.lab)
    overlap = np.logical_and(art[0].mask, art[1].mask)
    assert overlap.any()  # touching inks are trapped, so that a shifted plate opens no gap


def test_rolls_carry_the_film_of_a_separation(tmp_path: Path) -> None:
    page, job = both(order_of(tmp_path), "film-roll")
    art = page.arts["art"]
    assert isinstance(art, Film)
    assert job.film is not None
    assert np.array_equal(art.alpha, job.film.alpha)
    assert np.array_equal(art.rgb, job.film.rgb)
    assert set(np.unique(art.alpha)) == {0, 255}  # no soft rim reaches the printer
