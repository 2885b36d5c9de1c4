"""Openly licensed drawings that nobody here made, fetched from npm when a benchmark runs.

Nothing of them is stored in the project. Cache: the folder in ``ARTCHECK_BENCH_CACHE``, or one in
the system's temporary folder.

Credits (all MIT licence, packed by the Iconify project):

* ``flat-color-icons``: Icons8
* ``fluent-emoji-flat``, ``fluent-emoji-high-contrast``, ``fluent-emoji``: Microsoft Corporation
"""

from __future__ import annotations

import hashlib
import json
import os
import random
import re
import shutil
import subprocess
import tarfile
import tempfile
from dataclasses import dataclass
from pathlib import Path
from typing import Any

FLAT_SETS = ("flat-color-icons", "fluent-emoji-flat", "fluent-emoji-high-contrast")
FADE_SET = "fluent-emoji"
HELD_OUT_SHARE = 0.75
"""Share of the drawings on which nothing is tuned."""

_SKIN_TONES = re.compile(r"-(medium-light|medium-dark|light|medium|dark)\b")
_NOT_FLAT = re.compile(r"Gradient|filter|opacity|<mask|<image|mix-blend|rgba", re.IGNORECASE)


@dataclass(frozen=True)
class Drawing:
    """One drawing of a set. ``family`` is shared by versions that differ in skin tone alone."""

    set_name: str
    name: str
    body: str
    size: tuple[int, int]

    @property
    def family(self) -> str:
        return _SKIN_TONES.sub("", self.name)

    @property
    def is_flat(self) -> bool:
        """Solid, opaque fills and strokes only."""
        return not _NOT_FLAT.search(self.body)

    @property
    def held_out(self) -> bool:
        digest = hashlib.sha256(f"{self.set_name}/{self.family}".encode()).digest()
        return digest[0] < 256 * HELD_OUT_SHARE

    def svg(self, size_px: int) -> str:
        """The drawing as an SVG page of ``size_px`` on its longer side, an integer page size."""
        width, height = self.size
        scale = size_px / max(width, height)
        return (
            '<svg xmlns="http://www.w3.org/2000/svg" xmlns:xlink="http://www.w3.org/1999/xlink" '
            f'width="{round(width * scale)}" height="{round(height * scale)}" '
            f'viewBox="0 0 {width} {height}">{self.body}</svg>'
        )


def cache_folder() -> Path:
    named = os.environ.get("ARTCHECK_BENCH_CACHE")
    folder = Path(named) if named else Path(tempfile.gettempdir()) / "artcheck-bench"
    folder.mkdir(parents=True, exist_ok=True)
    return folder


def _package(set_name: str) -> Path:
    found = sorted(cache_folder().glob(f"iconify-json-{set_name}-[0-9]*.tgz"))
    if found:
        return found[-1]
    npm = shutil.which("npm")
    if npm is None:
        raise SystemExit("The drawn sets come from npm, which is not installed here. Install it.")
    command = [npm, "pack", "--silent", f"@iconify-json/{set_name}"]
    done = subprocess.run(command, cwd=cache_folder(), check=True, capture_output=True, text=True)
    return cache_folder() / done.stdout.split()[-1]


def load_set(set_name: str) -> list[Drawing]:
    """Every drawing of one set, by name."""
    with tarfile.open(_package(set_name)) as archive:
        member = archive.extractfile("package/icons.json")
        assert member is not None
        data: dict[str, Any] = json.load(member)
    width, height = int(data.get("width", 16)), int(data.get("height", 16))
    return [
        Drawing(
            set_name,
            name,
            icon["body"].replace("currentColor", "#000"),
            (int(icon.get("width", width)), int(icon.get("height", height))),
        )
        for name, icon in sorted(data["icons"].items())
    ]


def sample(
    set_name: str, count: int, *, held_out: bool, seed: int = 0, flat_only: bool = True
) -> list[Drawing]:
    """``count`` drawings, at most one a family, always the same for the same seed."""
    families: dict[str, list[Drawing]] = {}
    for drawing in load_set(set_name):
        if drawing.held_out == held_out and (drawing.is_flat or not flat_only):
            families.setdefault(drawing.family, []).append(drawing)
    chance = random.Random(f"{seed}/{set_name}")
    chosen = [chance.choice(family) for family in families.values()]
    chance.shuffle(chosen)
    return chosen[:count]
