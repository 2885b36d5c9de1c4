"""What reading a file gives: pixels, and what the file says about itself."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Literal

from artcheck.domain.base import Box, Lab, Record

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

ArtKind = Literal["raster", "vector", "document"]
"""raster: pixels only. vector: geometry only. document: a page that mixes both, or wraps pixels."""

BackgroundKind = Literal["transparent", "removed", "kept"]
BackgroundChoice = Literal["auto", "remove", "keep"]


class DeclaredInk(Record):
    """A spot ink that a document names itself, with the colour it gives for the screen."""

    name: str
    lab: Lab | None = None


class ReadingNote(Record):
    """Something met while reading that the designer must know; judge turns it into a finding.

    ``id`` is one of docs/findings.md's headings; ``text`` says what was met in this file.
    """

    id: str
    text: str


class Background(Record):
    """What stands behind the art and what was done about it."""

    kind: BackgroundKind
    hex: str | None
    reason: str


class VectorFacts(Record):
    """What a drawing's own geometry says, before any pixel. Lengths in inches of its page."""

    width_in: float
    height_in: float
    wraps_bitmap: bool = False
    live_fonts: tuple[str, ...] = ()
    missing_fonts: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Artwork:
    """One picture, ready to measure. Arrays are read-only.

    Attributes
    ----------
    name
        File name without folders, as the report shows it.
    digest
        SHA-256 of the file's bytes, hexadecimal.
    kind
        See `ArtKind`.
    rgb
        (H, W, 3) uint8, sRGB (IEC 61966-2-1), profiles and orientation already applied. Where
        alpha is 0 the colour means nothing.
    alpha
        (H, W) uint8, straight (not premultiplied), 255 = opaque; None when every pixel is opaque.
    paper
        (H, W) bool, True where background was removed (fully background pixels only: rims that
        blend into the paper stay False); None unless ``background.kind`` is "removed".
    source_size
        (width, height) in pixels of the file itself, or of the rendering for a drawing.
    had_alpha
        The file carries an alpha channel or transparent palette entries.
    resolution_ppi
        The file's own resolution tag, or the rendering's pixels per inch for a drawing.
    profile
        Description of the embedded ICC profile that was honoured, or None.
    declared_inks
        Spot inks that a PDF or SVG itself names.
    vector
        Facts of geometry, for vector and document art.
    notes
        What reading met and the designer must know.
    """

    name: str
    digest: str
    kind: ArtKind
    rgb: NDArray[np.uint8]
    alpha: NDArray[np.uint8] | None
    background: Background
    source_size: tuple[int, int]
    paper: NDArray[np.bool_] | None = None
    had_alpha: bool = False
    resolution_ppi: float | None = None
    profile: str | None = None
    declared_inks: tuple[DeclaredInk, ...] = ()
    vector: VectorFacts | None = None
    notes: tuple[ReadingNote, ...] = field(default=())

    def __post_init__(self) -> None:
        for array in (self.rgb, self.alpha, self.paper):
            if array is not None:
                array.setflags(write=False)


@dataclass(frozen=True, slots=True, kw_only=True)
class Cutout:
    """The art freed from its background, for showing it on a garment. Arrays are read-only.

    Attributes
    ----------
    rgb
        (H, W, 3) uint8, sRGB, as in `Artwork`.
    coverage
        (H, W) uint8, share of each pixel that ink covers, 0-255.
    box
        The printed box.
    paper_hex
        The removed paper's colour, of which pixels of partial coverage still hold their share;
        None where ``rgb`` is the ink's own colour everywhere.
    """

    rgb: NDArray[np.uint8]
    coverage: NDArray[np.uint8]
    box: Box
    paper_hex: str | None = None

    def __post_init__(self) -> None:
        for array in (self.rgb, self.coverage):
            array.setflags(write=False)
