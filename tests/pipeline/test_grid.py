"""The method grid says what `check` says, for every quantity and number of inks."""

from __future__ import annotations

from decimal import Decimal
from pathlib import Path

import pytest

from artcheck.domain.grid import GridCell, GridReport
from artcheck.domain.measurements import Measurements
from artcheck.domain.order import Garment, Order, Print
from artcheck.domain.prices import PerStitch
from artcheck.domain.shop import Shop
from artcheck.errors import UsageError
from artcheck.pipeline import evaluate, measure_file
from artcheck.pipeline.grid import MOST_QUANTITY, USUAL_QUANTITIES, method_grid
from artcheck.shop import load_shop
from tests.art import saved, two_inks

SHOP = load_shop()
TEE = Garment(kind="tee", colour="natural", fabric="cotton")
WIDTH_IN = 9.0
INKS = ("Coal", "Poppy", "Royal", "Spruce")


@pytest.fixture(scope="module")
def measured(tmp_path_factory: pytest.TempPathFactory) -> Measurements:
    art = saved(two_inks(1800), tmp_path_factory.mktemp("grid") / "art.png")
    return measure_file(art)


@pytest.fixture(scope="module")
def grid(measured: Measurements) -> GridReport:
    sized = measured.at(WIDTH_IN)
    return method_grid(WIDTH_IN, sized.height_in, TEE, SHOP)


def cell(grid: GridReport, inks: int, quantity: int) -> GridCell:
    (row,) = [r for r in grid.rows if r.from_quantity <= quantity <= r.to_quantity]
    found = row.cells[grid.inks.index(inks)]
    assert found is not None
    return found


@pytest.mark.parametrize("inks", [1, 2, 3, 4])
@pytest.mark.parametrize("place", range(0, 15, 2))
def test_a_cell_is_what_check_answers(
    inks: int, place: int, grid: GridReport, measured: Measurements
) -> None:
    row = grid.rows[place % len(grid.rows)]
    for quantity, first in ((row.from_quantity, True), (row.to_quantity, False)):
        order = Order(
            garment=TEE.model_copy(update={"quantity": quantity}),
            prints=(Print(art="art.png", width_in=WIDTH_IN, inks=INKS[:inks]),),
        )
        report = evaluate(measured, order, SHOP)
        costs = {m.id: m.cost for m in report.methods if m.cost is not None}
        here = cell(grid, inks, quantity)
        best = costs[here.method]
        assert here.method == report.recommendation.method
        price = here.price_per_piece if first else here.price_per_piece_at_end
        assert price == best.price_per_piece
        if first and here.second is not None:
            second = costs[here.second]
            assert here.margin_to_second == second.price_per_piece - best.price_per_piece
            assert here.order_margin_to_second == second.price_total - best.price_total


def test_flips_are_those_of_check(grid: GridReport, measured: Measurements) -> None:
    order = Order(garment=TEE, prints=(Print(art="a", width_in=WIDTH_IN, inks=INKS[:2]),))
    flips = evaluate(measured, order, SHOP).recommendation.flips
    own = next(f.flips for f in grid.flips if f.inks == 2)
    assert [(f.from_quantity, f.method) for f in own] == [
        (f.from_quantity, f.method) for f in flips if f.from_quantity <= MOST_QUANTITY
    ]


def test_rows_cover_every_quantity_once(grid: GridReport) -> None:
    covered = [
        quantity for row in grid.rows for quantity in range(row.from_quantity, row.to_quantity + 1)
    ]
    assert covered == list(range(1, MOST_QUANTITY + 1))
    starts = {row.from_quantity for row in grid.rows}
    assert set(USUAL_QUANTITIES) <= starts


def test_the_second_is_never_cheaper(grid: GridReport) -> None:
    cells = [c for row in grid.rows for c in row.cells if c is not None]
    assert all(c.order_margin_to_second is None or c.order_margin_to_second >= 0 for c in cells)
    assert all(c.tie == (c.order_margin_to_second == 0) for c in cells)


def with_methods(*methods: object) -> Shop:
    return SHOP.model_copy(update={"methods": methods})


def test_equal_methods_tie() -> None:
    film = SHOP.method("film-area")
    twin = film.model_copy(update={"id": "twin", "name": "The same film elsewhere"})
    grid = method_grid(5, 5, TEE, with_methods(film, twin))
    found = grid.rows[0].cells[0]
    assert found is not None
    assert found.tie
    assert found.margin_to_second == Decimal("0.00")
    assert [f.method for f in grid.flips[0].flips] == ["tie"]


def test_more_inks_than_a_method_prints_leave_a_hole() -> None:
    spot = SHOP.method("spot")
    grid = method_grid(5, 5, TEE, with_methods(spot.model_copy(update={"most_colours": 2})))
    assert [c is None for c in grid.rows[0].cells] == [False, False, True, True]


def test_methods_that_the_cloth_forbids_are_left_out_with_the_reason() -> None:
    grid = method_grid(5, 5, Garment(colour="red", fabric="polyester"), SHOP)
    why = {out.method: out.why for out in grid.left_out}
    assert "polyester" in why["spot"]
    assert {m.id for m in grid.methods} == {"film-area", "cut-film"}
    assert all("pink" in " ".join(m.cautions) for m in grid.methods)  # dye moves into the print


def test_each_reason_is_told_once_when_nothing_suits() -> None:
    with pytest.raises(UsageError) as caught:
        method_grid(25, 25, TEE, SHOP)
    assert str(caught.value).count("larger than the press") == 1
    with pytest.raises(UsageError, match="polypropylene"):
        method_grid(5, 5, Garment(fabric="polypropylene"), SHOP)


def test_unknown_fabric_names_the_nearest() -> None:
    with pytest.raises(UsageError, match="Did you mean cotton"):
        method_grid(5, 5, Garment(fabric="coton"), SHOP)


def test_what_is_not_told_is_said() -> None:
    words = " ".join(method_grid(5, 5, Garment(), SHOP).assumes)
    assert "no garment" in words
    assert "no underbase" in words
    assert "fabric is not told" in words
    told = " ".join(method_grid(5, 5, TEE, SHOP).assumes)
    assert "tee" in told
    assert "not told" not in told


def test_prices_that_depend_on_the_art_are_said_to() -> None:
    cut = SHOP.method("cut-film")
    weeded = cut.price.model_copy(update={"weeding_seconds_per_shape": 10})
    sewn = PerStitch(
        kind="per_stitch",
        breaks=(1,),
        per_thousand=(Decimal(1),),
        stitches_per_in2=2000,
    )
    embroidery = cut.model_copy(update={"id": "embroidery", "family": "direct", "price": sewn})
    grid = method_grid(
        4, 4, TEE, with_methods(embroidery, cut.model_copy(update={"price": weeded}))
    )
    words = " ".join(grid.assumes)
    assert "covers 50% of its box" in words
    assert "Weeding by the shape is not" in words
    assert "Stitches" not in " ".join(method_grid(4, 4, TEE, SHOP).assumes)


def test_an_underbase_that_counts_as_ink_moves_the_grid() -> None:
    spot = SHOP.method("spot")
    price = spot.price.model_copy(update={"underbase_is_an_ink": True})
    see_through = spot.model_copy(update={"price": price, "opaque": False})
    shop = with_methods(see_through)
    black, white = (
        method_grid(5, 5, Garment(fabric="cotton", colour=c), shop).rows[3]
        for c in ("black", "white")
    )
    one_on_black, two_on_white = black.cells[0], white.cells[1]
    assert one_on_black is not None
    assert two_on_white is not None
    assert one_on_black.price_per_piece == two_on_white.price_per_piece
    assert black.cells[3] is None  # four inks and white are five


def test_same_grid_twice(grid: GridReport, measured: Measurements) -> None:
    again = method_grid(WIDTH_IN, measured.at(WIDTH_IN).height_in, TEE, SHOP)
    assert again.model_dump_json() == grid.model_dump_json()


def test_paths_of_no_file_are_looked_for(monkeypatch: pytest.MonkeyPatch) -> None:
    def no_file(*_: object, **__: object) -> None:
        raise AssertionError

    monkeypatch.setattr(Path, "read_bytes", no_file)
    assert method_grid(5, 5, TEE, SHOP).rows
