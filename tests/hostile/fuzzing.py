"""Readers fuzzed with coverage as guide: ``python -m tests.hostile.fuzzing --minutes 10``.

Needs the ``fuzz`` extra. Each reader starts from the corpus' small files of its format; files that
show a fault are kept, with what it was beside them.
"""

from __future__ import annotations

import argparse
import hashlib
import re
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Final

from tests.hostile import corpus

READERS: Final = ("png", "jpg", "tif", "gif", "bmp", "webp", "avif", "psd", "svg", "pdf")

LARGEST_SEED: Final = 20_000
"""Bytes: mutations of a longer file seldom meet what matters."""

SECONDS: Final = 20
"""Longest that one file may take, of budgets a hundredth of the real ones."""

MEMORY_MB: Final = 2048

_LEARNED, _WORDS, _LAST_TRIED = "learned", "words", "last"

_DONE: Final = re.compile(rb"stat::number_of_executed_units:\s*(\d+)")
_LAST: Final = re.compile(rb"#(\d+)\s+\w+\s+cov: (\d+) ft: (\d+)")


@dataclass(frozen=True, slots=True)
class Fuzzed:
    """``runs`` is the least number of files tried: a child that dies tells its last mark only."""

    reader: str
    runs: int
    covered: int
    ends: int
    kept: tuple[str, ...]


def fuzz(reader: str, seconds: float, folder: Path) -> Fuzzed:
    """Fuzz one reader for so long; what it finds is kept in ``folder``.

    A child ends at a crash, a hang or too much memory, and another goes on with what is learned.
    """
    before = {path.name for path in folder.iterdir()}
    runs = covered = ends = 0
    end = time.monotonic() + seconds
    with tempfile.TemporaryDirectory() as place:
        learned = Path(place) / _LEARNED
        learned.mkdir()
        _plant(reader, Path(place))
        while (left := end - time.monotonic()) > 1:
            child = _child(reader, Path(place), folder, left)
            marks = _LAST.findall(child.stderr) or [(b"0", b"0", b"0")]
            done = _DONE.search(child.stderr)
            runs += int(done[1]) if done else int(marks[-1][0])
            covered = max(covered, *(int(mark[1]) for mark in marks))
            ends += child.returncode != 0
            if child.returncode < 0:  # libFuzzer had no chance to keep the file
                _keep_last(reader, Path(place), folder, child.returncode)
            if not runs:
                raise RuntimeError(child.stderr.decode("utf-8", "replace")[-2000:])
    new = sorted(path.name for path in folder.iterdir() if path.name not in before)
    return Fuzzed(reader, runs, covered, ends, tuple(n for n in new if not n.endswith(".txt")))


def _child(
    reader: str, place: Path, folder: Path, seconds: float
) -> subprocess.CompletedProcess[bytes]:
    options = [
        f"-max_total_time={max(1, int(seconds))}",
        f"-timeout={SECONDS}",
        f"-rss_limit_mb={MEMORY_MB}",
        f"-max_len={2 * LARGEST_SEED}",
        f"-artifact_prefix={folder}/{reader}-",
        f"-dict={place / _WORDS}",
        "-print_final_stats=1",
        str(place / _LEARNED),
    ]
    command = [sys.executable, "-m", "tests.hostile.fuzzed", reader, str(folder)]
    command += [str(place / _LAST_TRIED), *options]
    return subprocess.run(command, capture_output=True, check=False)


def _plant(reader: str, place: Path) -> None:
    """Seeds, a dictionary of their words for mutations to put in, and room for the last file."""
    words: set[bytes] = set()
    for number, data in enumerate(seeds(reader)):
        (place / _LEARNED / f"seed-{number}").write_bytes(data)
        words.update(re.findall(rb"[/</#-]?[A-Za-z][A-Za-z:-]{2,20}", data))
    listed = "".join(f'"{word.decode("ascii")}"\n' for word in sorted(words))
    (place / _WORDS).write_text(listed, "ascii")
    (place / _LAST_TRIED).write_bytes(bytes(4 + 2 * LARGEST_SEED))


def _keep_last(reader: str, place: Path, folder: Path, code: int) -> None:
    noted = (place / _LAST_TRIED).read_bytes()
    data = noted[4 : 4 + int.from_bytes(noted[:4], "little")]
    name = f"{reader}-died-{hashlib.sha256(data).hexdigest()[:12]}"
    (folder / name).write_bytes(data)
    (folder / f"{name}.txt").write_text(f"ended with {code}", "utf-8")


def seeds(reader: str) -> Iterator[bytes]:
    """Small files of the reader's format, sound and crafted."""
    for name, data in (*corpus.sound(corpus.readable()), *corpus.crafted().items()):
        if len(data) <= LARGEST_SEED and name.lower().endswith(f".{reader}"):
            yield data


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("readers", nargs="*", default=READERS, help="of which formats; else all")
    parser.add_argument("--minutes", type=float, default=10)
    parser.add_argument("--keep", type=Path, default=Path("fuzz-findings"), help="where to")
    asked = parser.parse_args()
    asked.keep.mkdir(exist_ok=True)
    found = 0
    for reader in asked.readers:
        told = fuzz(reader, asked.minutes * 60, asked.keep.resolve())
        found += len(told.kept)
        print(told, flush=True)
    return int(found > 0)


if __name__ == "__main__":
    sys.exit(main())
