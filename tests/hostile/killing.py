"""Commands ended with SIGKILL at random moments, and what stands on the disk afterwards.

All of it, 50 moments of each command: ``python -m tests.hostile.killing``.
"""

from __future__ import annotations

import argparse
import json
import random
import shutil
import subprocess
import sys
import tempfile
import time
from collections import Counter
from collections.abc import Iterator
from pathlib import Path

from artcheck.report.files import LIST_NAME
from artcheck.report.journal import JOURNAL_NAME
from artcheck.report.overview import LINES_NAME, PAGE_NAME, TABLE_NAME
from tests.art import saved, two_inks

SEED = 20_261_126
SIZE = ["--width", "4in", "--quantity", "24"]
COMMANDS = ("check", "replace", "separate", "batch")
"""``replace``: ``check --overwrite`` on the folder of an earlier run."""

OLD = "an earlier run"


def command(kind: str, folder: Path) -> list[str]:
    """The command on the art in ``folder``, its results in ``folder/out``."""
    art, out = str(folder / "art" / "0.png"), ["--out", str(folder / "out")]
    words = {
        "check": ["check", art, *SIZE, *out],
        "replace": ["check", art, *SIZE, *out, "--overwrite"],
        "separate": ["separate", art, "--inks", "2", "--garment-colour", "navy", *SIZE, *out],
        "batch": ["batch", str(folder / "art"), *SIZE, *out, "--workers", "1"],
    }
    return [sys.executable, "-m", "artcheck", *words[kind]]


def prepare(kind: str, folder: Path) -> None:
    (folder / "art").mkdir(parents=True)
    for number in range(4 if kind == "batch" else 1):
        saved(two_inks(150 + 10 * number), folder / "art" / f"{number}.png")
    if kind == "replace":
        (folder / "out").mkdir()
        (folder / "out" / "report.json").write_text(OLD)
        listed = {"written_by": "artcheck", "files": ["report.json"]}
        (folder / "out" / LIST_NAME).write_text(json.dumps(listed))


def state(kind: str, folder: Path) -> str:
    """What stands under final names: "nothing", "old", "new"; a batch's part is "begun".

    Raises
    ------
    AssertionError
        Anything else: a file torn or missing, a name that artcheck does not give.
    """
    names = {path.name for path in folder.iterdir()}
    strange = {name for name in names - {"art", "out"} if not name.startswith(".artcheck-")}
    assert not strange, strange
    out = folder / "out"
    if not out.exists():
        return "nothing"
    if kind == "batch":
        return _batch_state(out)
    if (out / "report.json").exists() and (out / "report.json").read_text() == OLD:
        assert kind == "replace"
        return "old"
    listed = json.loads((out / LIST_NAME).read_text())["files"]
    found = {p.relative_to(out).as_posix() for p in out.rglob("*") if p.is_file()}
    assert found == {LIST_NAME, *listed}
    main = out / ("manifest.json" if kind == "separate" else "report.json")
    assert json.loads(main.read_text())["schema_version"]
    return "new"


def _batch_state(out: Path) -> str:
    known = {JOURNAL_NAME, LINES_NAME, TABLE_NAME, PAGE_NAME}
    names = {path.name for path in out.iterdir()}
    assert all(name in known or name.startswith(".artcheck-") for name in names), names
    if LINES_NAME in names:
        assert len([json.loads(line) for line in (out / LINES_NAME).read_text().splitlines()]) == 4
    if PAGE_NAME in names:
        assert (out / PAGE_NAME).read_text().rstrip().endswith("</html>")
    return "new" if known <= names else "begun"


def trials(kind: str, count: int) -> Iterator[str]:
    """The state after each of ``count`` kills, the moments spread over a whole run."""
    chance = random.Random(SEED)
    with tempfile.TemporaryDirectory() as place:
        seconds = _whole_run(kind, Path(place) / "whole")
        for number in range(count):
            folder = Path(place) / str(number)
            prepare(kind, folder)
            run = subprocess.Popen(command(kind, folder), stdout=subprocess.DEVNULL)
            # Spread over the run, and as often as not over its end, where the writing is.
            first = 0.6 if number % 2 else 0.0
            time.sleep(seconds * chance.uniform(first, 1.05))
            run.kill()
            run.wait()
            yield state(kind, folder)
            if number == count - 1:
                _again(kind, folder)
            shutil.rmtree(folder)


def _whole_run(kind: str, folder: Path) -> float:
    prepare(kind, folder)
    began = time.monotonic()
    subprocess.run(command(kind, folder), stdout=subprocess.DEVNULL, check=True)
    seconds = time.monotonic() - began
    assert state(kind, folder) == "new"
    return seconds


def _again(kind: str, folder: Path) -> None:
    """What was left keeps nobody from running it again."""
    if kind in ("check", "separate") and (folder / "out").exists():
        shutil.rmtree(folder / "out")
    subprocess.run(command(kind, folder), stdout=subprocess.DEVNULL, check=True)
    assert state(kind, folder) == "new"


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--moments", type=int, default=50)
    count = parser.parse_args().moments
    for kind in COMMANDS:
        sys.stdout.write(f"{kind}: {dict(Counter(trials(kind, count)))}\n")


if __name__ == "__main__":
    main()
