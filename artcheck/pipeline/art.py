"""A print's art, opened, and freed from its background."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from artcheck.domain.artwork import Artwork, Cutout
from artcheck.domain.measurements import ToneMeasured
from artcheck.domain.order import Print
from artcheck.errors import TooLargeArtError

if TYPE_CHECKING:
    from artcheck.measure.scan import Scan


def opened(print_: Print, data: bytes | None = None, times: float = 1.0) -> Artwork:
    """The art of one print, as the print says to read it.

    With ``data``, those bytes; the print's ``art`` is then a name and never used as a path.
    ``times``: how many times finer than usual a drawing is rendered.

    Raises
    ------
    ArtFileError
        The file gives no picture.
    """
    from artcheck.reading import read, read_data

    page, background = print_.page - 1, print_.background
    if data is not None:
        return read_data(data, print_.art, background=background, page=page, times=times)
    return read(Path(print_.art), background=background, page=page, times=times)


MOST_DRAWN_PX = 12_000_000
"""Pixels of a drawing's rendering for plates: 5 x 6 in at 600 ppi, 12 x 12 at 290; a larger print
is drawn as fine as that allows and enlarged (time: about half a second a million)."""

FINER_FROM = 1.05
"""A rendering that is finer by less is not worth drawing again."""


def drawn_at(
    print_: Print, usual: Cutout, width_in: float, ppi: float, data: bytes | None = None
) -> Cutout:
    """A drawing as its plates need it: rendered at their resolution, as far as memory allows.

    ``usual`` is its cutout as it was measured; it is returned where a finer rendering would be
    another picture, say because its paper is told apart otherwise.
    """
    row0, col0, row1, col1 = usual.box
    wide, tall = col1 - col0, row1 - row0
    times = min(width_in * ppi / wide, (MOST_DRAWN_PX / usual.coverage.size) ** 0.5)
    if times < FINER_FROM:
        return usual
    try:
        finer = cutout_of(opened(print_, data, times))
    except TooLargeArtError:  # filters and layers cost by the pixel
        return usual
    top, left, bottom, right = finer.box
    grown = (bottom - top) / times - tall, (right - left) / times - wide
    same = finer.paper_hex == usual.paper_hex and max(map(abs, grown)) <= MOST_GROWN_PX
    return finer if same else usual


MOST_GROWN_PX = 3.0
"""Pixels of the usual rendering by which the printed box may differ in a finer one: a rim each."""


def cutout_of(artwork: Artwork) -> Cutout:
    """A picture freed from its background."""
    from artcheck.measure.scan import Scan

    return _cutout(artwork, Scan(artwork))


def cutout_and_fades(artwork: Artwork, tone: ToneMeasured) -> tuple[Cutout, NDArray[np.bool_]]:
    """`cutout_of`, and where the picture fades: (h, w) bool over its box, at any size."""
    from artcheck.measure.scan import Scan
    from artcheck.measure.tone import fade_mask

    scan = Scan(artwork)
    nowhere = np.zeros((1, 1), np.bool_)
    fades = fade_mask(scan) if tone.gradient_share > 0 else nowhere
    return _cutout(artwork, scan), fades


def _cutout(artwork: Artwork, scan: Scan) -> Cutout:
    return Cutout(
        rgb=artwork.rgb,
        coverage=scan.coverage,
        box=scan.box,
        paper_hex=artwork.background.hex if artwork.background.kind == "removed" else None,
    )
