"""Art and order to plates, with the result measured and judged again."""

from __future__ import annotations

import io
from importlib import resources
from pathlib import Path

import numpy as np
import pytest
import resvg_py
from PIL import Image

from artcheck.colour.spaces import lab_to_hex
from artcheck.domain.check import MethodReport
from artcheck.domain.order import BrandColour, Garment, Order, Print
from artcheck.domain.separating import SeparationOptions
from artcheck.domain.shop import Shop
from artcheck.errors import UsageError
from artcheck.pipeline import measure_file, separate
from artcheck.report.drawing import simplified_svg
from artcheck.separation.job import SeparationJob
from artcheck.shop import load_order, load_shop
from tests.art import drawn, photograph, saved, svg, two_inks

RANK = ("suits", "suits_with_changes", "unsuitable")
FIVE = ("#c81e28", "#1e3cc8", "#1ea03c", "#f0c81e", "#141414")


@pytest.fixture(scope="module")
def shop() -> Shop:
    return load_shop()


def order_of(art: Path, colour: str | None = "white", width_in: float = 2.0) -> Order:
    return Order(
        garment=Garment(kind="tee", colour=colour, fabric="cotton", quantity=100),
        prints=(Print(art=str(art), width_in=width_in),),
    )


def bars(folder: Path, colours: tuple[str, ...] = FIVE) -> Path:
    body = "".join(
        f'<rect x="{20 + 110 * i}" y="20" width="90" height="{360 - 50 * i}" fill="{colour}"/>'
        for i, colour in enumerate(colours)
    )
    return saved(drawn(body), folder / "bars.png")


def plates_made(job: SeparationJob) -> int:
    assert job.plates is not None
    return sum(1 for plate in job.plates.plates if plate.role == "ink")


@pytest.mark.parametrize("name", ["2-bakery", "4-candleworks", "8-school"])
def test_demo_art_comes_back_with_as_many_inks_and_no_worse(name: str, shop: Shop) -> None:
    with resources.as_file(resources.files("artcheck") / "demo") as demo:
        order = load_order(demo / "orders" / f"{name}.toml")
        job = separate(order, shop, SeparationOptions(method="spot"))
    assert job.comparison.after.inks == plates_made(job)
    assert not any("reads as" in warning for warning in job.warnings)
    before, after = job.comparison.before, job.comparison.after
    assert RANK.index(after.verdict) <= RANK.index(before.verdict)
    assert before.price_total is not None
    assert after.price_total == before.price_total  # as many inks, mixed or not, as were quoted


@pytest.mark.parametrize("inks", [1, 2, 3, 4])
def test_fewer_inks_come_back_and_cost_less(inks: int, shop: Shop, tmp_path: Path) -> None:
    art = bars(tmp_path, FIVE[:4])
    job = separate(order_of(art), shop, SeparationOptions(inks=inks))
    assert plates_made(job) == inks
    before, after = job.comparison.before, job.comparison.after
    assert (before.inks, after.inks) == (4, inks)
    assert before.total is not None
    assert after.total is not None
    assert (after.total < before.total) == (inks < 4)
    assert separated_loss(job)[0] == pytest.approx(0, abs=6) if inks == 4 else True


def separated_loss(job: SeparationJob) -> tuple[float, float]:
    assert job.separated is not None
    loss = job.separated.loss
    return loss.mean_delta_e_2000, loss.worst_region_delta_e_2000


def test_drawing_read_as_art_has_the_same_inks(shop: Shop, tmp_path: Path) -> None:
    job = separate(order_of(bars(tmp_path, FIVE[:3])), shop, SeparationOptions(inks=3))
    assert job.plates is not None
    drawing = tmp_path / "simplified.svg"
    drawing.write_text(simplified_svg(job.plates))
    measured = measure_file(drawing)
    assert measured.inks.count == 3
    assert measured.vector is not None
    assert measured.vector.width_in == pytest.approx(job.plates.width_in, abs=0.01)


def test_art_with_more_colours_than_the_method_prints(shop: Shop, tmp_path: Path) -> None:
    order = order_of(bars(tmp_path))
    job = separate(order, shop, SeparationOptions(inks=3))
    assert job.comparison.before.verdict == "unsuitable"
    assert job.comparison.after.verdict != "unsuitable"
    assert job.comparison.before.total is None
    assert job.comparison.after.total is not None
    assert any("another colour" in warning for warning in job.warnings)
    assert any("5 inks" in text for text in job.comparison.before.to_settle)
    assert not any("5 inks" in text for text in job.comparison.after.to_settle)
    with pytest.raises(UsageError, match="4 inks at most"):
        separate(order, shop, SeparationOptions(inks=5))


def test_locked_ink_is_in_and_mixed_to_its_colour(shop: Shop, tmp_path: Path) -> None:
    violet = BrandColour(name="dusk violet", colour="lab(30 48 -62)", critical=True)
    labs = {ink.name: ink.lab for ink in shop.inks}
    art = bars(tmp_path, (lab_to_hex(labs["Poppy"]), lab_to_hex(labs["Plum"])))
    job = separate(order_of(art), shop, SeparationOptions(inks=2, locked=(violet,)))
    assert job.separated is not None
    mixed = [ink for ink in job.separated.inks if not ink.stock]
    assert [(ink.name, ink.lab) for ink in mixed] == [("dusk violet", (30, 48, -62))]
    free = separate(order_of(art), shop, SeparationOptions(inks=2))
    assert job.comparison.after.total is not None
    assert free.comparison.after.total is not None
    assert job.comparison.after.total == free.comparison.after.total + 25  # the demo's mixing


def test_locked_stock_colour_is_taken_from_the_shelf(shop: Shop, tmp_path: Path) -> None:
    red = BrandColour(name="team red", colour="Poppy", critical=True)
    job = separate(
        order_of(bars(tmp_path, FIVE[:2])), shop, SeparationOptions(inks=1, locked=(red,))
    )
    assert job.separated is not None
    assert [(ink.name, ink.stock) for ink in job.separated.inks] == [("Poppy", True)]


def test_a_locked_ink_that_prints_nothing_is_told(shop: Shop, tmp_path: Path) -> None:
    green = BrandColour(name="Green", colour="#00c020")
    job = separate(
        order_of(bars(tmp_path, ("#c81e28", "#141414"))),
        shop,
        SeparationOptions(inks=3, locked=(green,)),
    )
    assert job.plates is not None
    assert "Green" not in [plate.name for plate in job.plates.plates]
    (told,) = [words for words in job.warnings if "Green" in words]
    assert "has no plate" in told


def test_white_lies_under_inks_that_do_not_cover(shop: Shop, tmp_path: Path) -> None:
    spot = shop.method("spot").model_copy(update={"opaque": False})
    thin = shop.model_copy(update={"methods": (spot,)})
    art = bars(tmp_path, FIVE[:2])
    roles = {}
    for colour in ("black", "white", None):
        job = separate(order_of(art, colour), thin, SeparationOptions(inks=2))
        assert job.plates is not None
        roles[colour] = [plate.role for plate in job.plates.plates]
    assert roles == {
        "black": ["underbase", "ink", "ink"],
        "white": ["ink", "ink"],
        None: ["ink", "ink"],
    }
    assert any("colour is not known" in warning for warning in job.warnings)


def test_garment_colour_is_left_open(shop: Shop, tmp_path: Path) -> None:
    art = bars(tmp_path, ("#c81e28", "#2b2b2b"))
    on_black = separate(order_of(art, "black"), shop, SeparationOptions(inks=1))
    assert on_black.plates is not None
    (plate,) = on_black.plates.plates
    width = plate.mask.shape[1]
    assert plate.mask[:, : width // 3].mean() > 0.9
    assert not plate.mask[:, width * 2 // 3 :].any()
    assert any("left to the garment" in warning for warning in on_black.warnings)
    with pytest.raises(UsageError, match="needs 1 ink at most"):
        separate(order_of(art, "black"), shop, SeparationOptions(inks=2))


@pytest.mark.parametrize("inks", [0, -1])
def test_no_inks(inks: int, shop: Shop, tmp_path: Path) -> None:
    with pytest.raises(UsageError, match="Ask for 1 or more"):
        separate(order_of(tmp_path / "missing.png"), shop, SeparationOptions(inks=inks))


def test_single_colour_art(shop: Shop, tmp_path: Path) -> None:
    art = bars(tmp_path, FIVE[:1])
    assert plates_made(separate(order_of(art), shop, SeparationOptions(inks=1))) == 1
    with pytest.raises(UsageError, match=r"needs 1 ink at most: 2 .* Ask for 1 or fewer"):
        separate(order_of(art), shop, SeparationOptions(inks=2))


def test_photograph_is_refused_with_the_reason(shop: Shop, tmp_path: Path) -> None:
    order = order_of(saved(photograph(), tmp_path / "photo.png"))
    with pytest.raises(UsageError, match=r"is a photograph \(.*% of its ink\).*--method film-area"):
        separate(order, shop, SeparationOptions(inks=3))
    film = separate(order, shop)
    assert film.plates is None
    assert film.film is not None
    assert film.film.alpha.shape[1] == 600


def test_method_that_cannot_be_used(shop: Shop, tmp_path: Path) -> None:
    order = order_of(saved(two_inks(), tmp_path / "art.png"))
    with pytest.raises(UsageError, match=r"No method is called 'laser'\. This shop has: spot"):
        separate(order, shop, SeparationOptions(method="laser"))
    with pytest.raises(UsageError, match="inks are not counted"):
        separate(order, shop, SeparationOptions(method="film-area", inks=2))
    with pytest.raises(UsageError, match="prints 1 ink at most"):
        separate(order, shop, SeparationOptions(method="cut-film", inks=2))


def test_trap_asked_for_replaces_the_methods(shop: Shop, tmp_path: Path) -> None:
    touching = drawn(
        '<rect width="300" height="400" fill="#c81e28"/>'
        '<rect x="300" width="300" height="400" fill="#1e3cc8"/>'
    )
    order = order_of(saved(touching, tmp_path / "art.png"), width_in=1)
    overlaps = {}
    for trap in (0.0, None, 2.0):
        plates = separate(order, shop, SeparationOptions(inks=2, trap_pt=trap)).plates
        assert plates is not None
        one, other = (plate.mask for plate in plates.plates)
        overlaps[plates.trap_pt] = float(np.count_nonzero(one & other)) / len(one)
    assert overlaps[0.0] == 0
    assert overlaps[0.5] == pytest.approx(0.5 / 72 * 600, abs=1)
    assert overlaps[2.0] == pytest.approx(2.0 / 72 * 600, abs=1)


def test_film_measured_again_is_not_worse(shop: Shop, tmp_path: Path) -> None:
    job = separate(
        order_of(saved(two_inks(900), tmp_path / "a.png"), "navy"),
        shop,
        SeparationOptions(method="film-area"),
    )
    before, after = job.comparison.before, job.comparison.after
    assert RANK.index(after.verdict) <= RANK.index(before.verdict)
    assert before.inks == after.inks == 2
    assert before.total == after.total


def test_report_beside_the_job_is_the_one_of_check(shop: Shop, tmp_path: Path) -> None:
    from artcheck.pipeline import evaluate

    art = saved(two_inks(), tmp_path / "a.png")
    job = separate(order_of(art), shop, SeparationOptions(inks=1))
    assert job.report == evaluate(measure_file(art), order_of(art), shop)
    spot: MethodReport = next(m for m in job.report.methods if m.id == "spot")
    assert job.comparison.before.verdict == spot.verdict


def faded(folder: Path) -> Path:
    body = (
        '<defs><linearGradient id="g"><stop offset="0" stop-color="#f0c81e"/>'
        '<stop offset="1" stop-color="#c81e28"/></linearGradient></defs>'
        '<rect x="20" y="20" width="560" height="300" fill="url(#g)"/>'
        '<rect x="20" y="340" width="260" height="40" fill="#f0c81e"/>'
        '<rect x="320" y="340" width="260" height="40" fill="#c81e28"/>'
    )
    return saved(drawn(body), folder / "fade.png")


def test_a_fade_is_kept_as_the_methods_halftone(shop: Shop, tmp_path: Path) -> None:
    job = separate(order_of(faded(tmp_path)), shop, SeparationOptions(inks=2, method="spot"))
    assert job.plates is not None
    assert job.separated is not None
    assert job.plates.has_dots
    assert [change.what.split(" of ")[0] for change in job.separated.changes] == [
        "Fade printed as dots"
    ]
    # Read back as dots: the method's own frequency, from the strongest wave of the darker plate.
    dots = job.plates.plates[-1].mask[150:662, 250:762].astype(float)
    window = np.hanning(512)[:, None] * np.hanning(512)[None]
    wave = np.abs(np.fft.fft2((dots - dots.mean()) * window))
    wave[:8, :8] = wave[-8:, :8] = wave[:8, -8:] = wave[-8:, -8:] = 0  # the fade itself
    row, col = np.unravel_index(int(np.argmax(wave)), wave.shape)
    found = np.hypot(*np.fft.fftfreq(512)[[row, col]]) * 600
    assert found == pytest.approx(45, rel=0.05)
    assert not any("fade" in text for text in job.comparison.after.to_settle)
    assert any("fade" in text for text in job.comparison.before.to_settle)


def test_a_fade_is_flat_on_request_and_where_no_dots_are_printed(
    shop: Shop, tmp_path: Path
) -> None:
    order = order_of(faded(tmp_path))
    for options in (
        SeparationOptions(inks=2, method="spot", fades="flat"),
        SeparationOptions(inks=1, method="cut-film"),
    ):
        job = separate(order, shop, options)
        assert job.plates is not None
        assert job.separated is not None
        assert not job.plates.has_dots
        assert job.separated.changes[0].what == "Fade printed in flat inks"
    with pytest.raises(UsageError, match="prints no halftones"):
        separate(order, shop, SeparationOptions(method="cut-film", fades="halftone"))


def test_colours_that_print_in_one_ink_are_told(shop: Shop, tmp_path: Path) -> None:
    art = bars(tmp_path, ("#c81e28", "#1e3cc8"))
    merged = [
        [
            w
            for w in separate(order_of(art), shop, SeparationOptions(inks=k)).warnings
            if "edge" in w
        ]
        for k in (1, 2)
    ]
    assert len(merged[0]) == 1
    assert "#c81e28" in merged[0][0]
    assert merged[1] == []


@pytest.mark.parametrize(("garment", "light"), [("white", False), ("black", True)])
def test_a_photograph_in_one_ink_on_request(
    garment: str, light: bool, shop: Shop, tmp_path: Path
) -> None:
    order = order_of(saved(photograph(), tmp_path / "photo.png"), garment)
    options = SeparationOptions(method="spot", fades="halftone")
    job = separate(order, shop, options)
    assert job.separated is not None
    assert job.plates is not None
    (ink,) = job.separated.inks
    assert (ink.lab[0] > 50) == light
    assert "its colours are lost" in job.separated.changes[0].what
    # Seen on its garment it is as light and as dark where the photograph is (sRGB luma).
    got = np.asarray(job.proof.on("#000000" if light else "#ffffff")).mean(axis=2)
    want = np.asarray(photograph().resize(got.shape[::-1]).convert("L"), float)
    assert np.corrcoef(got.ravel(), want.ravel())[0, 1] > 0.96
    ink_plate = next(plate for plate in job.plates.plates if plate.role == "ink")
    assert 0.05 < ink_plate.mask.mean() < 0.95
    for wrong in (options.model_copy(update={"inks": 2}), SeparationOptions(method="spot")):
        with pytest.raises(UsageError, match="photograph"):
            separate(order, shop, wrong)


def test_a_photograph_needs_an_ink_that_shows(shop: Shop, tmp_path: Path) -> None:
    order = order_of(saved(photograph(), tmp_path / "photo.png"), "white")
    pale = BrandColour(name="pale", colour="lab(90 0 0)")
    with pytest.raises(UsageError, match="differs enough in lightness"):
        separate(order, shop, SeparationOptions(method="spot", fades="halftone", locked=(pale,)))


def test_a_drawing_is_made_at_the_plates_resolution(shop: Shop, tmp_path: Path) -> None:
    """Fine teeth over 10 in: edges and corners stand where the drawing has them at 600 ppi."""
    teeth = "".join(f"l5 {30 + i % 7} h3 l5 -{30 + i % 7} h3" for i in range(62))
    body = f'<path d="M4 4 {teeth} V72 H4 Z" fill="{FIVE[0]}" shape-rendering="crispEdges"/>'
    page = svg(body, 1000, 80)
    art = tmp_path / "teeth.svg"
    art.write_text(page.replace("crispEdges", "auto"))
    crisp = page.replace('width="1000" height="80"', 'width="6000" height="480"')
    png = bytes(resvg_py.svg_to_bytes(svg_string=crisp))
    wanted = np.asarray(Image.open(io.BytesIO(png)).convert("RGBA"))[24:432, 24:5976, 3] > 127
    job = separate(order_of(art, width_in=9.92), shop, SeparationOptions(method="spot", inks=1))
    assert job.plates is not None
    got = job.plates.plates[0].mask
    assert got.shape == wanted.shape
    assert (got & wanted).sum() / (got | wanted).sum() >= 0.998


def test_white_inside_the_art_that_was_read_as_open_is_told(shop: Shop, tmp_path: Path) -> None:
    """A white disc in a red one on a white page: on black cloth it would be black."""
    body = (
        '<rect width="600" height="400" fill="#ffffff"/>'
        f'<circle cx="300" cy="200" r="150" fill="{FIVE[0]}"/>'
        '<circle cx="300" cy="200" r="60" fill="#ffffff"/>'
    )
    art = saved(drawn(body).convert("RGB"), tmp_path / "ring.png")
    options = SeparationOptions(method="spot", inks=1)
    job = separate(order_of(art, colour="black"), shop, options)
    assert any("paper-coloured inside the art" in warning for warning in job.warnings)
    on_white = separate(order_of(art, colour="white"), shop, options)
    assert not any("paper-coloured" in warning for warning in on_white.warnings)


def test_a_drawing_too_heavy_to_be_drawn_finer_is_used_as_it_is(
    shop: Shop, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Blurs are within their budget at the usual size, and over it at the plates'."""
    blurs = "".join(
        f'<circle cx="{40 * i}" cy="40" r="18" fill="{FIVE[0]}" filter="url(#b)"/>'
        for i in range(1, 9)
    )
    body = (
        '<filter id="b" filterUnits="userSpaceOnUse" x="0" y="0" width="400" height="80">'
        '<feGaussianBlur stdDeviation="0.01"/></filter>' + blurs
    )
    art = tmp_path / "blurs.svg"
    art.write_text(svg(body, 400, 80))
    page_px = 2400 * 480  # of the usual rendering
    monkeypatch.setattr("artcheck.reading.svg.layers.MOST_LAYER_PIXELS", 2.1 * page_px)
    job = separate(order_of(art, width_in=6), shop, SeparationOptions(method="spot", inks=1))
    assert max(job.cutout.coverage.shape) == 2400
