"""Hostile files end as a picture or as one clear line, within their time and memory.

The whole of it, some tens of thousands of files: ``python -m tests.hostile``.
"""

from __future__ import annotations

import os
from collections.abc import Iterator
from pathlib import Path

import pytest

from artcheck.isolated import Fault, Process
from fixtures.make_odd_files import png_rgba
from tests.art import saved, two_inks
from tests.hostile import bitmaps, corpus, pdfs, svgs, trial


@pytest.fixture(scope="module")
def process() -> Iterator[Process]:
    made = trial.process()
    yield made
    made.close()


def faults(process: Process, files: dict[str, bytes]) -> list[str]:
    found = []
    for name, data in files.items():
        outcome = process.call(trial.look, data, name)
        found += [f"{name}: {fault}" for fault in trial.faults_of(outcome)]
    return found


def test_a_fault_is_seen(process: Process) -> None:
    """The trial itself: what would be wrong is told as wrong."""
    assert trial.faults_of(Fault("time", "too long", 1))
    assert trial.faults_of(trial.Outcome(3, "two\nlines", "", ()))
    assert trial.faults_of(trial.Outcome(70, "a bug", "", ()))
    assert trial.faults_of(trial.Outcome(0, "", "a decoder's words", ()))
    assert trial.faults_of(trial.Outcome(0, "", "", ("open /tmp/x",)))
    assert not trial.faults_of(trial.Outcome(3, "a.png is empty.", "", ()))
    sound = process.call(trial.look, dict(corpus.sound((png_rgba,)))["rgba.png"], "a")
    assert sound == trial.Outcome(0, "", "", ())


def test_harmed_files(process: Process) -> None:
    harmed = dict(corpus.harmed(corpus.SMALLEST_PER_FORMAT, corpus.SOME))
    assert len(harmed) > 250
    assert faults(process, harmed) == []


def test_crafted_bitmaps(process: Process) -> None:
    assert faults(process, bitmaps.files()) == []


@pytest.mark.parametrize("name", svgs.REACHING)
def test_drawings_that_reach_out_are_refused(name: str, process: Process) -> None:
    outcome = process.call(trial.look, svgs.files()[f"reaching-{name}.svg"], "art.svg")
    assert isinstance(outcome, trial.Outcome)
    assert trial.faults_of(outcome) == []
    assert "outside itself" in outcome.words


def test_crafted_drawings(process: Process) -> None:
    assert faults(process, svgs.files(slow=False)) == []


def test_crafted_documents(process: Process) -> None:
    assert faults(process, pdfs.files(slow=False)) == []


# --- the whole command, on odd names and places -------------------------------------------------

NAMES = ("new\nline.png", "\x1b[31mred.png", "right\u202eleft.png", "a" * 250 + ".png", "-.png")


MEASURED = (
    "png-tall.png",
    "png-wide.png",
    "png-thin-on-paper.png",
    "png-one-pixel.png",
    "png-16-bit-alpha.png",
    "png-0-per-metre.png",
    "tiff-float.tif",
    "tiff-palette-of-65536.tif",
)


def check(process: Process, path: Path, tmp_path: Path) -> trial.Outcome:
    out = tmp_path / "out"
    outcome = process.call(trial.check, str(path), str(out))
    assert isinstance(outcome, trial.Outcome), outcome
    assert trial.faults_of(outcome) == []
    assert out.exists() == (outcome.code == 0)
    assert not list(tmp_path.glob(".artcheck-*"))
    return outcome


@pytest.mark.parametrize("name", [*NAMES, os.fsdecode(b"not-utf-8-\xff.png")], ids=ascii)
def test_odd_names(name: str, process: Process, tmp_path: Path) -> None:
    assert check(process, saved(two_inks(60), tmp_path / name), tmp_path).code == 0


def test_places_that_are_no_files(process: Process, tmp_path: Path) -> None:
    os.mkfifo(tmp_path / "pipe.png")
    (tmp_path / "folder.png").mkdir()
    (tmp_path / "circle.png").symlink_to(tmp_path / "circle.png")
    (tmp_path / "lost.png").symlink_to(tmp_path / "nothing")
    with (tmp_path / "sparse.png").open("wb") as file:
        file.truncate(20 * 1024**3)
    places = [Path("/dev/zero"), Path("/dev/null"), *sorted(tmp_path.iterdir())]
    for place in places:
        assert check(process, place, tmp_path).code == 3, place


def test_a_report_or_one_line_of_the_whole_command(process: Process, tmp_path: Path) -> None:
    """Files that read, and are odd enough to trouble what measures them."""
    crafted = bitmaps.files()
    for name in MEASURED:
        path = tmp_path / name
        path.write_bytes(crafted[name])
        folder = tmp_path / f"of-{name}"
        folder.mkdir()
        assert check(process, path, folder).code in (0, 3), name
