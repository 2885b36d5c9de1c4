"""A print's art, opened, and freed from its background."""

from __future__ import annotations

from pathlib import Path

from artcheck.domain.artwork import Artwork, Cutout
from artcheck.domain.order import Print


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

    scan = Scan(artwork)
    return Cutout(
        rgb=artwork.rgb,
        coverage=scan.coverage,
        box=scan.box,
        paper_hex=artwork.background.hex if artwork.background.kind == "removed" else None,
    )
