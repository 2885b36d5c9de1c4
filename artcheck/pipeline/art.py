"""A print's art, opened, and freed from its background."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from artcheck.domain.artwork import Artwork, Cutout
from artcheck.domain.measurements import ToneMeasured
from artcheck.domain.order import Print

if TYPE_CHECKING:
    from artcheck.measure.scan import Scan


def opened(print_: Print, data: bytes | None = None) -> Artwork:
    """The art of one print, as the print says to read it.

    With ``data``, those bytes; the print's ``art`` is then a name and never used as a path.

    Raises
    ------
    ArtFileError
        The file gives no picture.
    """
    from artcheck.reading import read, read_data

    page, background = print_.page - 1, print_.background
    if data is not None:
        return read_data(data, print_.art, background=background, page=page)
    return read(Path(print_.art), background=background, page=page)


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
