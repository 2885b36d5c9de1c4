"""Files become `Artwork`: the only place where a customer's file is opened."""

from __future__ import annotations

import hashlib
from pathlib import Path
from typing import TYPE_CHECKING

from artcheck.domain.artwork import (
    ArtKind,
    Artwork,
    BackgroundChoice,
    DeclaredInk,
    VectorFacts,
)
from artcheck.errors import NotArtError, UsageError
from artcheck.plain import plain
from artcheck.reading.sniff import kind_of, read_bytes

if TYPE_CHECKING:
    from artcheck.reading.decoded import Decoded

__all__ = ["read", "read_data"]


def read(
    path: Path, *, background: BackgroundChoice = "auto", page: int = 0, times: float = 1.0
) -> Artwork:
    """Open one file as a picture ready to measure.

    Parameters
    ----------
    background
        "auto" removes paper where it is recognised; "remove" and "keep" force it.
    page
        Page of a document, page of a TIFF or frame of an animation, from 0.
    times
        How many times finer than usual a drawing is rendered; pictures are as they are.

    Raises
    ------
    ArtFileError
        The file gives no picture; see `artcheck.errors` for the ways.
    UsageError
        There is no such page.
    """
    return read_data(read_bytes(path), path.name, background=background, page=page, times=times)


def read_data(
    data: bytes,
    name: str,
    *,
    background: BackgroundChoice = "auto",
    page: int = 0,
    times: float = 1.0,
) -> Artwork:
    """`read` for a file's bytes; ``name`` is shown in the report and in errors, nothing else.

    Raises
    ------
    ArtFileError
        As `read`.
    """
    shown = plain(name)
    if not data:
        raise NotArtError(f"{shown} is empty. Ask for the file again.")
    kind = kind_of(data, shown)
    digest = hashlib.sha256(data).hexdigest()
    if kind == "bitmap":
        from artcheck.reading.bitmap import decode

        return _artwork(name, digest, background, decoded=decode(data, shown, page))
    if kind == "svg":
        if page:
            raise UsageError(f"{shown} has 1 page, not {page + 1}. Choose one with --page.")
        from artcheck.reading.svg import render as render_svg

        drawing = render_svg(data, shown, times)
        wraps = drawing.facts.wraps_bitmap
        return _artwork(
            name,
            digest,
            background,
            decoded=drawing.decoded,
            kind="document" if wraps else "vector",
            vector=drawing.facts,
        )
    from artcheck.reading.pdf import render as render_pdf

    drawn = render_pdf(data, shown, page, times)
    return _artwork(
        name,
        digest,
        background,
        decoded=drawn.decoded,
        kind=drawn.kind,
        vector=drawn.facts,
        declared_inks=drawn.declared_inks,
    )


def _artwork(
    name: str,
    digest: str,
    choice: BackgroundChoice,
    *,
    decoded: Decoded,
    kind: ArtKind = "raster",
    vector: VectorFacts | None = None,
    declared_inks: tuple[DeclaredInk, ...] = (),
) -> Artwork:
    from artcheck.reading.background import find_ground

    ground = find_ground(decoded.rgb, decoded.alpha, choice, plain(name))
    height, width = decoded.rgb.shape[:2]
    return Artwork(
        name=name,
        digest=digest,
        kind=kind,
        rgb=decoded.rgb,
        alpha=decoded.alpha,
        background=ground.background,
        source_size=(width, height),
        paper=ground.paper,
        had_alpha=decoded.had_alpha,
        resolution_ppi=decoded.resolution_ppi,
        profile=decoded.profile,
        declared_inks=(*decoded.declared_inks, *declared_inks),
        vector=vector,
        notes=(*decoded.notes, *ground.notes),
    )
