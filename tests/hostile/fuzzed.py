"""One reader under libFuzzer, in a process that ends when it is done: `fuzzing` starts it.

Coverage is that of Python code: artcheck's readers and the Python parts of the decoders. Their
native parts are run, and seen only where they crash, hang or take too much memory.
"""

from __future__ import annotations

import hashlib
import importlib
import mmap
import re
import struct
import sys
import zlib
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Final

import atheris

SMALLER: Final = {
    "MOST_PIXELS": 100,
    "MOST_LAYER_PIXELS": 100,
    "MOST_EFFECT_PIXELS": 100,
    "MOST_OPERATORS": 100,
    "MOST_UNFOLDED": 10,
    "RENDER_SIDE": 10,
}
"""Budgets that are so many times smaller here, that most files may take milliseconds. That the
real ones hold is tried by the crafted files of the corpus."""

INSTRUMENTED: Final = ["artcheck", "PIL", "defusedxml", "xml", "pikepdf", "pypdfium2"]

_READERS: Final = (
    "artcheck.reading.background",
    "artcheck.reading.bitmap",
    "artcheck.reading.pdf",
    "artcheck.reading.svg",
    "defusedxml.ElementTree",
    "pikepdf",
    "pypdfium2",
    "PIL.ImageCms",
)


def main() -> None:
    suffix, kept, last, *options = sys.argv[1:]
    with atheris.instrument_imports(include=INSTRUMENTED):
        look = _loaded()
    found: set[str] = set()

    noted = _Note(Path(last))

    def one(data: bytes) -> None:
        noted.put(data)
        for fault in look(data, f"fuzzed.{suffix}"):
            kind = re.sub(r"\d+", "N", fault)
            if kind not in found:
                found.add(kind)
                _keep(Path(kept), suffix, data, fault)

    mutate = {"custom_mutator": mutate_png} if suffix == "png" else {}
    atheris.Setup([sys.argv[0], *options], one, **mutate)
    atheris.Fuzz()


class _Note:
    """The file under trial, where it is found when the process dies without a word."""

    def __init__(self, path: Path) -> None:
        with path.open("r+b") as file:
            self._shared = mmap.mmap(file.fileno(), 0)

    def put(self, data: bytes) -> None:
        self._shared[: 4 + len(data)] = struct.pack("<I", len(data)) + data


def _loaded() -> Callable[[bytes, str], list[str]]:
    """What tells a file's faults. Every reader and decoder is imported here, to be instrumented."""
    from artcheck.reading import budget

    # Before the readers are imported, as they take these by value.
    for name, times in SMALLER.items():
        setattr(budget, name, getattr(budget, name) // times)
    for module in _READERS:
        importlib.import_module(module)
    from PIL import Image

    from tests.hostile import trial

    Image.init()

    def look(data: bytes, name: str) -> list[str]:
        try:
            return trial.faults_of(trial.look(print, data, name))
        except Exception as error:
            return [f"raised {type(error).__name__}: {error}"]

    return look


def _keep(folder: Path, suffix: str, data: bytes, fault: str) -> None:
    name = f"fault-{hashlib.sha256(data).hexdigest()[:12]}.{suffix}"
    (folder / name).write_bytes(data)
    (folder / f"{name}.txt").write_text(fault, "utf-8")


def mutate_png(data: bytes, most: int, seed: int) -> bytes:
    """Mutated by libFuzzer, then every chunk's checksum made right: else no mutation gets past it.

    Every sixteenth keeps its wrong ones.
    """
    changed = bytes(atheris.Mutate(data, most))
    return changed if seed % 16 == 0 else b"".join(_with_checksums(changed))[:most]


def _with_checksums(data: bytes) -> Iterator[bytes]:
    yield data[:8]
    at = 8
    while at + 12 <= len(data):
        (length,) = struct.unpack_from(">I", data, at)
        end = at + 8 + length
        if end + 4 > len(data):
            break
        yield data[at:end] + struct.pack(">I", zlib.crc32(data[at + 4 : end]))
        at = end + 4
    yield data[at:]


if __name__ == "__main__":
    main()
