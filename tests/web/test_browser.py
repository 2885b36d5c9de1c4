"""The page in a real browser: what a click, a drop and a key really do."""

from __future__ import annotations

import base64
import io
import json
import os
import re
import subprocess
import sys
import zipfile
from collections.abc import Callable, Iterator
from importlib import resources
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from PIL import Image
from playwright.sync_api import Browser, BrowserContext, Page, expect, sync_playwright

from artcheck.cli.run import run
from artcheck.report.papers import NAMES
from tests.art import drawn, saved
from tests.web.browser import chromium

DEMO = Path(str(resources.files("artcheck") / "demo" / "art"))
BAKERY = DEMO / "2-bakery.png"
DESK, PHONE = {"width": 1360, "height": 900}, {"width": 390, "height": 844}

MOST_MS = 20_000
"""How long a test waits for anything: measuring takes a second here, on a busy machine several."""

expect.set_options(timeout=MOST_MS)

Opener = Callable[..., Page]


@pytest.fixture(scope="module")
def server(tmp_path_factory: pytest.TempPathFactory) -> Iterator[str]:
    """The command as people start it; its address."""
    folder = tmp_path_factory.mktemp("served")
    command = [sys.executable, "-m", "artcheck", "serve", "--port", "0"]
    environment = os.environ | {"PYTHONUNBUFFERED": "1", "COLUMNS": "200"}
    with subprocess.Popen(
        command, stdout=subprocess.PIPE, text=True, cwd=folder, env=environment
    ) as process:
        assert process.stdout is not None
        address = re.search(r"http://\S+", process.stdout.readline())
        assert address is not None
        yield address[0]
        process.terminate()


@pytest.fixture(scope="module")
def browser() -> Iterator[Browser]:
    path = chromium()
    if path is None:
        pytest.skip("chromium is not installed")
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=path, args=["--no-sandbox"])
        yield browser
        browser.close()


@pytest.fixture
def opened(browser: Browser, server: str) -> Iterator[Opener]:
    """Opens the page in a window of its own; nothing may go wrong or elsewhere in any of them."""
    contexts: list[BrowserContext] = []
    wrong: list[str] = []

    def open_(context: BrowserContext | None = None, **options: Any) -> Page:
        if context is None:
            context = browser.new_context(**({"viewport": DESK} | options))
            context.set_default_timeout(MOST_MS)
            contexts.append(context)
        page = context.new_page()
        page.on("pageerror", lambda error: wrong.append(str(error)))
        page.on("console", lambda said: wrong.append(said.text) if is_wrong(said) else None)
        page.on("request", lambda r: wrong.append(r.url) if is_foreign(r.url) else None)
        page.goto(server)
        return page

    def is_wrong(said: Any) -> bool:
        """A refused file is an answer of ours, though the console calls it an error."""
        return said.type in ("error", "warning") and not said.text.startswith("Failed to load")

    def is_foreign(url: str) -> bool:
        return not url.startswith((server, "blob:", "data:"))

    yield open_
    for context in contexts:
        context.close()
    assert wrong == []


DROP = """([name, type, data]) => {
  const bytes = Uint8Array.from(atob(data), (c) => c.charCodeAt(0));
  const carried = new DataTransfer();
  carried.items.add(new File([bytes], name, { type }));
  return carried;
}"""


def carried(page: Page, file: Path, mime: str = "image/png") -> Any:
    data = base64.b64encode(file.read_bytes()).decode()
    return page.evaluate_handle(DROP, [file.name, mime, data])


def dropped(page: Page, file: Path) -> None:
    """Drop a file on the page, as from a folder."""
    page.dispatch_event("body", "drop", {"dataTransfer": carried(page, file)})


def order(page: Page, **fields: str) -> None:
    for name, value in fields.items():
        page.fill(f"[name={name}]", value)


def headline(page: Page) -> Any:
    return page.locator("#answer h1")


def bakery(page: Page, pieces: int = 30) -> None:
    """The demo's second order: film to 56 pieces, spot from 67 (worked out by hand there)."""
    dropped(page, BAKERY)
    expect(headline(page)).to_be_visible()
    order(page, colour="#5A3A22", kind="tee", fabric="cotton", width="4.25", quantity=str(pieces))
    expect(headline(page)).to_contain_text(f"for {pieces} pieces")


def heavy(folder: Path) -> Path:
    """64 megapixels of small squares: seconds of measuring, in a file of a megabyte."""
    squares = np.random.default_rng(1).integers(0, 2, (1000, 1000), np.uint8) * 255
    image = Image.fromarray(squares).resize((8000, 8000), Image.Resampling.NEAREST)
    return saved(image.convert("1"), folder / "heavy.png", compress_level=1)


# --- the order ----------------------------------------------------------------------------------


def test_a_dropped_file_is_answered_and_a_flip_changes_the_method(opened: Opener) -> None:
    page = opened()
    bakery(page, 56)
    expect(headline(page)).to_contain_text("Full-colour film by area")
    expect(page.locator(".methods .chosen h3")).to_contain_text("Full-colour film by area")
    order(page, quantity="67")
    expect(headline(page)).to_contain_text("Spot transfers")
    expect(page.locator(".methods .chosen h3")).to_contain_text("Spot transfers")
    expect(page.locator(".chart figcaption")).to_contain_text("57–66 pieces")


def test_reload_and_a_second_tab_keep_the_order(opened: Opener) -> None:
    page = opened()
    bakery(page, 30)
    page.check("#switches [data-layer]")
    before = headline(page).inner_text()
    page.wait_for_url(re.compile("quantity=30.*on="))
    page.reload()
    expect(headline(page)).to_have_text(before)
    assert page.input_value("[name=quantity]") == "30"
    assert page.is_checked("#switches [data-layer]")

    other = opened(page.context)
    other.goto(page.url)
    expect(headline(other)).to_have_text(before)
    order(other, quantity="67")
    expect(headline(other)).to_contain_text("Spot transfers")
    order(page, width="4")
    expect(headline(page)).to_contain_text("Full-colour film by area")
    assert page.input_value("[name=quantity]") == "30"


def test_every_change_is_answered_without_pixels(opened: Opener) -> None:
    page = opened()
    bakery(page)
    asked: list[str] = []
    page.on("request", lambda request: asked.append(request.url))
    page.focus("#ruler")
    page.keyboard.press("End")
    expect(page.locator("#ruler-says")).to_have_text("16 in")
    order(page, colour="lime", quantity="400", fabric="polyester")
    expect(headline(page)).to_contain_text("for 400 pieces")
    calls = [url.partition("/api/")[2] for url in asked if "/api/" in url]
    assert {call for call in calls if not call.startswith("ladder/")} == {"evaluate"}


def test_a_method_may_be_asked_for_and_let_go(opened: Opener) -> None:
    page = opened()
    bakery(page)
    page.focus("[data-method=spot]")
    page.keyboard.press("Enter")
    expect(headline(page)).to_contain_text("Spot transfers")
    expect(page.locator(".chosen .verdict")).to_contain_text("asked for")
    expect(page.get_by_role("button", name="Let artcheck choose")).to_be_focused()
    page.keyboard.press("Enter")
    expect(headline(page)).to_contain_text("Full-colour film by area")


def test_colours_to_keep_are_shown_in_pairs(opened: Opener) -> None:
    page = opened()
    bakery(page)
    page.click("#more summary")
    page.click("#add-brand")
    page.keyboard.type("dusk violet")
    page.fill("[data-brand=colour]", "lab(30 48 -62)")
    expect(page.locator(".brands h3")).to_have_text("dusk violet")
    expect(page.locator(".brands figure")).to_have_count(2)
    page.click("[data-brand=away]")
    expect(page.locator(".brands")).to_have_count(0)


def test_a_fault_in_the_order_is_told_and_gone_when_mended(opened: Opener) -> None:
    page = opened()
    bakery(page)
    order(page, colour="plaid")
    expect(page.get_by_role("alert")).to_contain_text("plaid")
    order(page, colour="navy")
    expect(page.locator("#faults")).to_be_hidden()


# --- the art ------------------------------------------------------------------------------------


def thin(folder: Path) -> Path:
    """A block with a line of 2 px in 600: far under any limit at 4 inches' width."""
    body = (
        '<rect x="0" y="0" width="600" height="200"/><rect x="0" y="300" width="600" height="2"/>'
    )
    return saved(drawn(body), folder / "thin.png")


def test_overlays_are_switched_on_and_a_finding_shows_its_place(
    opened: Opener, tmp_path: Path
) -> None:
    page = opened()
    dropped(page, thin(tmp_path))
    order(page, width="4")
    mark = page.locator("#marks [data-kind='thin line']")
    expect(mark).to_be_hidden()
    page.check("#switches [data-layer='thin line']")
    expect(mark).to_be_visible()
    page.uncheck("#switches [data-layer='thin line']")
    expect(mark).to_be_hidden()

    page.locator(".show[data-layer='thin line']").first.click()
    expect(mark).to_be_visible()
    spot, art = page.locator("#spot").bounding_box(), page.locator("#picture").bounding_box()
    assert spot
    assert art
    middle = (spot["y"] + spot["height"] / 2 - art["y"]) / art["height"]
    assert middle == pytest.approx(301 / 302, abs=0.02)


def test_the_art_lies_on_the_garments_colour(opened: Opener) -> None:
    page = opened()
    bakery(page)
    expect(page.locator("#cloth")).to_have_css("background-color", "rgb(90, 58, 34)")
    art = page.locator("#picture").bounding_box()
    assert art
    measured = page.locator(".scale p").inner_text()
    width, height = map(float, re.findall(r"[\d.]+", measured)[:2])
    assert art["width"] / art["height"] == pytest.approx(width / height, rel=0.01)


def test_measuring_is_cancelled_while_other_art_goes_on(opened: Opener, tmp_path: Path) -> None:
    page = opened()
    page.set_input_files("#files", heavy(tmp_path))
    expect(page.locator("#arts .said")).to_have_text(
        re.compile("waiting|reading|measuring|drawing")
    )
    page.get_by_role("button", name="Cancel heavy.png").click()
    expect(page.locator("#arts li")).to_have_count(0)
    expect(page.locator("#files")).to_be_focused()
    expect(page.get_by_role("heading", name="Drop the customer’s file")).to_be_visible()
    bakery(page)


def test_a_broken_file_is_told_beside_its_name(opened: Opener, tmp_path: Path) -> None:
    broken, text = tmp_path / "broken.png", tmp_path / "notes.txt"
    broken.write_bytes(BAKERY.read_bytes()[:5000])
    text.write_text("what the customer wrote")
    page = opened()
    page.set_input_files("#files", [broken, text, BAKERY])
    expect(headline(page)).to_be_visible()
    for name in ("broken.png", "notes.txt"):
        entry = page.locator("#arts li", has=page.get_by_role("button", name=name, exact=True))
        expect(entry.get_by_role("alert")).to_contain_text(name)
        page.get_by_role("button", name=f"Remove {name}").click()
    expect(page.locator("#arts li")).to_have_count(1)
    expect(headline(page)).to_be_visible()


def test_art_that_is_shown_is_marked_in_the_list(opened: Opener, tmp_path: Path) -> None:
    """What cannot be measured is passed over, in the list as in the picture."""
    broken = tmp_path / "broken.png"
    broken.write_bytes(BAKERY.read_bytes()[:5000])
    page = opened()
    dropped(page, BAKERY)
    dropped(page, broken)
    expect(page.locator("#arts .fault")).to_be_visible()
    expect(page.locator("#arts [aria-current=true]")).to_have_text("2-bakery.png")
    expect(page.get_by_role("img", name="2-bakery.png, as it prints")).to_be_visible()


def test_pasted_art_is_taken(opened: Opener) -> None:
    page = opened()
    page.evaluate(
        "(data) => document.dispatchEvent(new ClipboardEvent('paste', {clipboardData: data}))",
        carried(page, BAKERY),
    )
    expect(headline(page)).to_be_visible()


def test_several_files_are_one_order(opened: Opener) -> None:
    page = opened()
    page.set_input_files("#files", [BAKERY, DEMO / "7-ferry.svg"])
    expect(page.locator(".whole")).to_be_visible()
    page.get_by_role("button", name="2-bakery.png", exact=True).click()
    expect(page.get_by_role("img", name="2-bakery.png, as it prints")).to_be_visible()
    page.get_by_role("button", name="Remove 2-bakery.png").click()
    expect(page.locator(".whole")).to_have_count(0)
    expect(page.get_by_role("img", name="7-ferry.svg, as it prints")).to_be_visible()


def test_ten_files_at_once_leave_the_page_at_hand(opened: Opener, tmp_path: Path) -> None:
    files = []
    for n in range(10):
        body = f'<circle cx="60" cy="60" r="{20 + 4 * n}"/>'
        files.append(saved(drawn(body, 120, 120), tmp_path / f"{n}.png"))
    page = opened()
    page.set_input_files("#files", files)
    expect(page.locator("#arts li")).to_have_count(10)
    order(page, quantity="77")
    expect(page.locator(".whole")).to_contain_text("77 pieces")
    assert page.locator("#arts .said").all_inner_texts() == [""] * 10


# --- the separation -----------------------------------------------------------------------------


def league(page: Page) -> None:
    """A logo in white and gold on navy."""
    dropped(page, DEMO / "1-league-logo.svg")
    order(page, colour="navy", kind="tee", fabric="cotton", width="1", quantity="60")
    expect(headline(page)).to_contain_text("for 60 pieces")


def separated(page: Page, inks: int) -> Any:
    """Make plates in so many inks; the proof's picture."""
    page.check(f"[data-plate=k][value='{inks}']")
    page.click("#make")
    expect(page.locator("#plate-view")).to_be_visible()
    return page.locator("#plate-view")


def test_plates_are_chosen_made_looked_at_and_taken(opened: Opener) -> None:
    page = opened()
    league(page)
    view = separated(page, 2)
    expect(page.locator(".views label")).to_have_count(4)
    proof = view.get_attribute("src")
    page.get_by_label("2 Goldenrod").check()
    expect(view).to_have_attribute("alt", re.compile("^Plate 2, Goldenrod"))
    expect(page.locator("#plate-cloth")).to_have_css("background-color", "rgb(255, 255, 255)")
    assert view.evaluate("(image) => image.decode().then(() => image.naturalWidth)") == 600
    page.get_by_label("proof", exact=True).check()
    expect(view).to_have_attribute("src", str(proof))

    with page.expect_download() as download:
        page.get_by_role("link", name="Save the job folder").click()
    assert download.value.suggested_filename == "1-league-logo.zip"
    with zipfile.ZipFile(io.BytesIO(download.value.path().read_bytes())) as packed:
        names = {name.removeprefix("1-league-logo/") for name in packed.namelist()}
        manifest = json.loads(packed.read("1-league-logo/manifest.json"))
    assert names == set(manifest["files"])
    assert {"proof.png", "report.html", "plates/01-snow.tif"} <= names
    assert manifest["width_in"] == pytest.approx(1)

    page.wait_for_url(re.compile("k0=2"))
    page.reload()
    expect(page.locator("#plate-view")).to_be_visible()
    expect(page.locator("[data-plate=k][value='2']")).to_be_checked()

    page.check("[data-plate=k][value='1']")
    expect(page.get_by_text("Made before the last change.")).to_be_visible()
    expect(page.get_by_role("link", name="Save the job folder")).to_be_hidden()
    page.check("[data-lock=Goldenrod]")
    page.get_by_role("button", name="Make them again").click()
    expect(page.locator(".views label")).to_have_count(3)
    expect(page.get_by_label("1 Goldenrod")).to_be_visible()


def test_the_ladder_shows_each_number_of_inks_and_is_fetched_once(opened: Opener) -> None:
    page = opened()
    fetched: list[str] = []
    page.on("request", lambda one: fetched.append(one.url) if "/api/ladder/" in one.url else None)
    league(page)
    cards = page.locator(".rung")
    expect(cards).to_have_count(2)
    expect(cards.nth(1)).to_contain_text(
        re.compile(r"2 inks.*Snow.*Goldenrod.*[\d.]+ USD.*dE00", re.DOTALL)
    )
    for card in cards.all():
        size = card.locator("img").evaluate("(one) => one.decode().then(() => one.naturalWidth)")
        assert size == 480
    before = len(fetched)
    price = cards.nth(1).locator("b").inner_text()
    order(page, quantity="90")
    expect(cards.nth(1).locator("b")).not_to_have_text(price)
    assert len(fetched) == before
    cards.nth(0).locator("img").click()
    expect(page.locator("[data-plate=k][value='1']")).to_be_checked()


def test_making_is_cancelled_and_a_refusal_told(opened: Opener) -> None:
    page = opened()
    league(page)
    page.check("[data-plate=k][value='1']")
    page.focus("#make")
    page.keyboard.press("Enter")
    expect(page.get_by_role("button", name="Cancel", exact=True)).to_be_focused()
    order(page, quantity="61")
    expect(headline(page)).to_contain_text("for 61 pieces")
    page.get_by_role("button", name="Cancel", exact=True).click()
    expect(page.locator("#making")).to_have_text("Stopped.")
    expect(page.get_by_role("button", name="Make the plates")).to_be_focused()
    for lock in page.locator("[data-lock]").all():
        lock.check()
    page.click("#make")
    expect(page.locator("#plate-faults")).to_contain_text("1 ink cannot hold the 2")


# --- what leaves the page -----------------------------------------------------------------------


def test_a_job_is_kept_downloaded_and_repeated(opened: Opener) -> None:
    page = opened()
    bakery(page)
    page.get_by_role("button", name="Write a job folder").click()
    with page.expect_download() as download:
        page.get_by_role("link", name="Save as zip").click()
    with zipfile.ZipFile(io.BytesIO(download.value.path().read_bytes())) as packed:
        names = {name.rpartition("/")[2] for name in packed.namelist()}
    assert names >= {"report.html", "report.json", "job.json", "art-1.png"}

    with page.expect_popup() as popup:
        page.get_by_role("link", name="Open").click()
    expect(popup.value.locator("h1")).to_contain_text("Full-colour film by area")

    again = opened()
    again.locator("#jobs button").first.click()
    expect(headline(again)).to_contain_text("for 30 pieces")


def test_papers_are_made_opened_and_made_again(opened: Opener) -> None:
    page = opened()
    bakery(page)
    page.click("#more summary")
    order(page, customer="Copperhen Bakery", number="1042", date="2026-11-26")
    page.wait_for_url(re.compile("number=1042"))
    page.click("#make-papers")
    expect(page.locator("#paper-links")).to_be_focused()
    expect(page.locator("#paper-links li")).to_have_count(4)
    with page.expect_popup() as shown:
        page.get_by_role("link", name="Quote, page").click()
    expect(shown.value.get_by_text("Copperhen Bakery").first).to_be_visible()
    expect(shown.value.get_by_text("26 November 2026")).to_be_visible()
    quote = page.get_by_role("link", name="Quote, PDF").get_attribute("href")
    assert page.request.get(page.url.partition("/#")[0] + str(quote)).body().startswith(b"%PDF")
    with page.expect_download() as saved_zip:
        page.get_by_role("link", name="Save them all").click()
    with zipfile.ZipFile(saved_zip.value.path()) as zipped:
        assert "1042-copperhen-bakery/customer-proof.pdf" in zipped.namelist()

    order(page, quantity="67")
    expect(page.locator("#paper-says")).to_contain_text("has changed")
    expect(page.locator("#paper-links")).to_be_hidden()
    page.get_by_role("button", name="Make them again").click()
    expect(page.locator("#paper-links")).to_be_visible()
    order(page, quantity="")
    page.get_by_role("button", name="Make them again").click()
    expect(page.locator("#paper-faults")).to_contain_text("how many pieces")


def test_words_for_the_customer_are_copied(opened: Opener) -> None:
    page = opened(permissions=["clipboard-read", "clipboard-write"])
    bakery(page)
    page.locator("[data-copy=ask-text]").click()
    expect(page.locator("[data-copy=ask-text]")).to_have_text("Copied")
    copied = page.evaluate("navigator.clipboard.readText()")
    assert copied.splitlines() == page.locator("#ask-text p").all_inner_texts()


# --- everybody can use it -----------------------------------------------------------------------

RULES = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"]


def faults(page: Page) -> list[str]:
    """What axe-core (MPL-2.0, from the wheel that carries it) finds serious or critical."""
    source = (resources.files("axe_playwright_python") / "axe.min.js").read_text(encoding="utf-8")
    page.evaluate(source)
    found = page.evaluate(
        "(rules) => axe.run({runOnly: rules}).then((done) => done.violations)", RULES
    )
    return [
        f"{one['id']}: {one['nodes'][0]['html']}"
        for one in found
        if one["impact"] in ("serious", "critical")
    ]


@pytest.mark.parametrize("scheme", ["light", "dark"])
@pytest.mark.parametrize("viewport", [DESK, PHONE], ids=["desk", "phone"])
def test_no_serious_fault_of_access_and_no_sideways_scrolling(
    opened: Opener, scheme: str, viewport: dict[str, int]
) -> None:
    page = opened(color_scheme=scheme, viewport=viewport)
    assert faults(page) == []
    bakery(page)
    page.click("#more summary")
    page.click("#add-brand")
    page.fill("[data-brand=name]", "dusk violet")
    page.fill("[data-brand=colour]", "lab(30 48 -62)")
    expect(page.locator(".brands h3")).to_be_visible()
    pieces = viewport["width"] + len(scheme)  # an order that no other test has made plates for
    order(page, width="1", quantity=str(pieces))
    expect(headline(page)).to_contain_text(f"for {pieces} pieces")
    separated(page, 1)
    page.click("#make-papers")
    expect(page.locator("#paper-links")).to_be_visible()
    page.evaluate("document.querySelectorAll('details').forEach((one) => { one.open = true; })")
    assert faults(page) == []
    for width in (viewport["width"], 320):  # 320 px: WCAG 2.2, 1.4.10
        page.set_viewport_size({"width": width, "height": viewport["height"]})
        assert page.evaluate("document.documentElement.scrollWidth") <= width


@pytest.mark.parametrize("width", [DESK["width"], 320])
def test_papers_have_no_serious_fault_of_access(
    browser: Browser, tmp_path: Path, width: int
) -> None:
    """As files: the page lets no script into them, the checker's neither."""
    order_file = DEMO.parent / "orders" / "4-candleworks.toml"
    assert run(["quote", str(order_file), "--out", str(tmp_path / "papers")]) == 0
    page = browser.new_page(viewport={"width": width, "height": 800})
    for name in NAMES:
        page.goto((tmp_path / "papers" / f"{name}.html").as_uri())
        assert faults(page) == [], name
        assert page.evaluate("document.documentElement.scrollWidth") <= width
    page.close()


def test_the_whole_order_is_made_by_keyboard(opened: Opener) -> None:
    page = opened()
    page.set_input_files("#files", BAKERY)
    expect(headline(page)).to_be_visible()
    page.evaluate("document.activeElement.blur()")
    reached: list[str] = []
    for _ in range(60):
        page.keyboard.press("Tab")
        reached.append(page.evaluate("(document.activeElement.name || document.activeElement.id)"))
    assert {"files", "quantity", "kind", "colour", "fabric", "width", "ruler"} <= set(reached)
