"""Runs over folders: order, faults, going on after a stop, limits."""

from __future__ import annotations

import csv
import json
import shutil
from collections import Counter
from pathlib import Path
from typing import Any

import pytest
from PIL import Image

from artcheck.batch import Tally, local_crew, run_batch
from artcheck.domain.order import Garment, Order, Print
from artcheck.domain.shop import Shop
from artcheck.errors import OutputError, UsageError
from artcheck.isolated import Limits
from artcheck.pipeline import evaluate, measure_file
from artcheck.report.data import to_json
from artcheck.report.journal import JOURNAL_NAME
from artcheck.report.overview import LINES_NAME, PAGE_NAME, TABLE_NAME
from artcheck.shop import load_shop
from tests.art import saved, two_inks
from tests.batch import calls

MB = 1024**2
LIMITS = Limits(seconds=60, threads=1)


@pytest.fixture(scope="module")
def shop() -> Shop:
    return load_shop()


@pytest.fixture(scope="module")
def finished(shop: Shop, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder ``art`` of five files that are art and one that breaks off, and its run ``out``."""
    home = tmp_path_factory.mktemp("finished")
    art = home / "art"
    (art / "b").mkdir(parents=True)
    for name, width in (("a.png", 150), ("b/z.png", 180), ("b/a.png", 210), ("c.png", 240)):
        saved(two_inks(width), art / name)
    saved(two_inks(150).convert("RGB"), art / "B.jpg")
    (art / "bad.png").write_bytes((art / "c.png").read_bytes()[:900])
    assert run(art, shop, home / "out", workers=2) == Tally(files=6, done=6, kept=0, faults=1)
    return home


@pytest.fixture
def home(finished: Path, tmp_path: Path) -> Path:
    """A copy of the finished run, with its files' times."""
    return shutil.copytree(finished, tmp_path / "home")


@pytest.fixture
def folder(home: Path) -> Path:
    shutil.rmtree(home / "out")
    return home / "art"


IN_ORDER = ["B.jpg", "a.png", "b/a.png", "b/z.png", "bad.png", "c.png"]


def order(width_in: float = 4.0) -> Order:
    garment = Garment(quantity=24, colour="navy")
    return Order(garment=garment, prints=(Print(art="many", width_in=width_in),))


def run(
    places: Path, shop: Shop, out: Path, *, workers: int = 1, wanted: Order | None = None, **kw: Any
) -> Tally:
    with local_crew(workers) as crew:
        kw.setdefault("limits", LIMITS)
        return run_batch([places], wanted or order(), shop, out, crew, **kw)


def lines(out: Path) -> list[dict[str, Any]]:
    return [json.loads(line) for line in (out / LINES_NAME).read_text().splitlines()]


def noted(out: Path) -> Counter[str]:
    """How often each file stands in the journal, finished."""
    entries = [json.loads(line) for line in (out / JOURNAL_NAME).read_text().splitlines()]
    return Counter(entry["name"] for entry in entries if "name" in entry)


def written(out: Path) -> dict[str, bytes]:
    return {name: (out / name).read_bytes() for name in (LINES_NAME, TABLE_NAME, PAGE_NAME)}


def test_names_set_the_order_and_a_bad_file_stops_nothing(finished: Path) -> None:
    entries = lines(finished / "out")
    assert [entry["file"] for entry in entries] == IN_ORDER
    by_name = {entry["file"]: entry for entry in entries}
    assert by_name["bad.png"]["fault"]["kind"] == "art"
    assert by_name["bad.png"]["fault"]["code"] == 3
    assert by_name["bad.png"]["report"] is None
    assert by_name["b/z.png"]["report"]["inks"]["count"] == 2
    assert by_name["b/z.png"]["report"]["artwork"]["pixels"] == [180, 120]
    with (finished / "out" / TABLE_NAME).open(newline="") as table:
        rows = list(csv.DictReader(table))
    assert [row["file"] for row in rows] == IN_ORDER


def test_a_line_is_the_report_of_check(finished: Path, shop: Shop) -> None:
    alone = evaluate(measure_file(finished / "art" / "c.png"), order(), shop)
    assert lines(finished / "out")[-1]["report"] == json.loads(to_json(alone))


def test_one_worker_or_two_the_bytes_are_the_same(
    finished: Path, shop: Shop, tmp_path: Path
) -> None:
    run(finished / "art", shop, tmp_path / "out", workers=1)
    assert written(tmp_path / "out") == written(finished / "out")


def test_a_stopped_run_goes_on(folder: Path, finished: Path, shop: Shop, tmp_path: Path) -> None:
    out = tmp_path / "out"

    def stop_after_two(tally: Tally) -> None:
        if tally.done == 2:
            raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        run(folder, shop, out, progress=stop_after_two)
    assert not (out / LINES_NAME).exists()
    seen: list[Tally] = []
    assert run(folder, shop, out, progress=seen.append).kept == 2
    assert seen[0].done == 2
    assert noted(out) == Counter(IN_ORDER)
    assert written(out) == written(finished / "out")


def test_a_finished_run_does_nothing_again(home: Path, shop: Shop) -> None:
    out = home / "out"
    before, journal = written(out), (out / JOURNAL_NAME).read_bytes()
    assert run(home / "art", shop, out).kept == 6
    assert written(out) == before
    assert (out / JOURNAL_NAME).read_bytes() == journal


def test_a_torn_end_of_the_journal_costs_one_file(home: Path, shop: Shop) -> None:
    out = home / "out"
    before = written(out)
    journal = (out / JOURNAL_NAME).read_bytes()
    last = json.loads(journal.splitlines()[-1])["name"]
    (out / JOURNAL_NAME).write_bytes(journal[:-50])
    assert run(home / "art", shop, out).kept == 5
    assert noted(out)[last] == 1
    assert written(out) == before


def test_a_changed_file_is_done_again_and_a_new_one_too(home: Path, shop: Shop) -> None:
    art, out = home / "art", home / "out"
    saved(two_inks(300), art / "bad.png")
    (art / "d.png").symlink_to("nowhere")
    (art / "a.png").unlink()
    assert run(art, shop, out) == Tally(files=6, done=6, kept=4, faults=1)
    entries = lines(out)
    assert [entry["file"] for entry in entries] == [
        "B.jpg", "b/a.png", "b/z.png", "bad.png", "c.png", "d.png",
    ]  # fmt: skip
    assert entries[3]["report"]["inks"]["count"] == 2
    assert "cannot be opened" in entries[5]["fault"]["text"]


def test_too_long_is_told_and_skipped(
    folder: Path, shop: Shop, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    saved(two_inks(150), folder / "slow.png")
    monkeypatch.setattr("artcheck.batch.work.check_file", calls.check_unless_slow)
    out = tmp_path / "out"
    limits = Limits(seconds=5, threads=1)
    assert run(folder, shop, out, workers=2, limits=limits).faults == 2
    slow = next(entry for entry in lines(out) if entry["file"] == "slow.png")
    assert slow["fault"]["kind"] == "time"
    assert "5 s" in slow["fault"]["text"]
    assert run(folder, shop, out, limits=limits).kept == 7
    monkeypatch.undo()
    again = run(folder, shop, out)
    assert (again.kept, again.faults) == (6, 1)


@pytest.mark.skipif(not Path("/proc/self/statm").exists(), reason="counts from the idle process")
def test_too_much_memory_is_told_and_skipped(folder: Path, shop: Shop, tmp_path: Path) -> None:
    """49 megapixels in a file of few bytes: as RGB alone 147 MB."""
    saved(Image.new("1", (7000, 7000)), folder / "large.png")
    limits = Limits(seconds=60, memory_bytes=100 * MB, threads=1)
    assert run(folder, shop, tmp_path / "out", limits=limits).faults == 2
    large = next(entry for entry in lines(tmp_path / "out") if entry["file"] == "large.png")
    assert large["fault"]["kind"] == "memory"


def test_a_file_whose_process_died_is_tried_again(
    folder: Path, shop: Shop, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    out = tmp_path / "out"
    monkeypatch.setattr("artcheck.batch.work.check_file", calls.die_over_jpeg)
    assert run(folder, shop, out).faults == 2
    assert lines(out)[0]["fault"]["kind"] == "died"
    monkeypatch.undo()
    again = run(folder, shop, out)
    assert (again.kept, again.faults) == (5, 1)


def test_other_settings_are_another_run(home: Path, shop: Shop) -> None:
    art, out = home / "art" / "a.png", home / "out"
    with pytest.raises(OutputError, match="--overwrite"):
        run(art, shop, out, wanted=order(5.0))
    assert run(art, shop, out, wanted=order(5.0), overwrite=True).kept == 0
    assert [entry["report"]["printed"]["width_in"] for entry in lines(out)] == [5.0]


def test_one_run_at_a_time(home: Path, shop: Shop) -> None:
    def another(tally: Tally) -> None:
        with pytest.raises(OutputError, match="Another artcheck"):
            run(home / "art", shop, home / "out")

    run(home / "art", shop, home / "out", progress=another)


def test_somebody_elses_folder_is_left_alone(finished: Path, shop: Shop, tmp_path: Path) -> None:
    (tmp_path / "theirs").mkdir()
    (tmp_path / "theirs" / "letter.txt").write_text("x")
    with pytest.raises(OutputError, match="holds other files"):
        run(finished / "art", shop, tmp_path / "theirs", overwrite=True)
    assert [path.name for path in (tmp_path / "theirs").iterdir()] == ["letter.txt"]


def test_results_inside_the_art_are_no_art(home: Path, shop: Shop) -> None:
    (home / "out").rename(home / "art" / "out")
    assert run(home / "art", shop, home / "art" / "out").kept == 6


def test_nothing_to_check_is_told(shop: Shop, tmp_path: Path) -> None:
    (tmp_path / "empty").mkdir()
    with pytest.raises(UsageError, match="no file"):
        run(tmp_path / "empty", shop, tmp_path / "out")
