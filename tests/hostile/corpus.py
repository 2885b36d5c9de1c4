"""Every hostile file: sound ones harmed, and ones made with ill will."""

from __future__ import annotations

import tempfile
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

from fixtures import make_odd_files as odd
from tests.hostile import bitmaps, harm, pdfs, svgs


@dataclass(frozen=True, slots=True)
class Amount:
    """How many files of each kind of harm come from one sound file; ``cuts`` None: all."""

    cuts: int | None
    fields: int
    flips: int
    mixes: int


EVERYTHING = Amount(cuts=None, fields=400, flips=400, mixes=60)
SOME = Amount(cuts=5, fields=2, flips=6, mixes=2)

SMALLEST_PER_FORMAT = (
    odd.png_rgba,
    odd.png_palette,
    odd.jpeg_rgb,
    odd.jpeg_cmyk_adobe,
    odd.tiff_lzw,
    odd.gif_animated,
    odd.bmp,
    odd.webp,
    odd.avif,
    odd.psd_layer,
    odd.svg_wraps_bitmap,
    odd.pdf_spot_inks,
)
"""One sound file or two of each format, for the tests; the whole run takes every odd file."""


def sound(makers: tuple[odd.Maker, ...]) -> Iterator[tuple[str, bytes]]:
    """Names and bytes of files that read."""
    with tempfile.TemporaryDirectory() as folder:
        for make in makers:
            path = make(Path(folder))
            yield path.name, path.read_bytes()


def readable() -> tuple[odd.Maker, ...]:
    """Every odd file that gives a picture."""
    refused = {make for make, _ in odd.REFUSED}
    return tuple(make for make in odd.everything() if make not in refused)


def harmed(makers: tuple[odd.Maker, ...], amount: Amount) -> Iterator[tuple[str, bytes]]:
    """Names that tell the harm, and bytes."""
    for name, data in sound(makers):
        cuts = list(harm.truncated(data))
        step = 1 if amount.cuts is None else max(1, len(cuts) // amount.cuts)
        yield from _numbered(f"{name}-cut", cuts[::step])
        yield from _numbered(f"{name}-field", harm.wrong_fields(data, amount.fields))
        yield from _numbered(f"{name}-flip", harm.flipped(data, amount.flips))
        yield from _numbered(f"{name}-mix", harm.rearranged(data, amount.mixes))


def _numbered(name: str, files: Iterator[bytes] | list[bytes]) -> Iterator[tuple[str, bytes]]:
    for number, data in enumerate(files):
        yield f"{name}-{number}", data


def crafted() -> dict[str, bytes]:
    """Files made with ill will, or by odd programs, by name."""
    return {**bitmaps.files(), **svgs.files(), **pdfs.files()}
