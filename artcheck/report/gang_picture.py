"""A ganged sheet as a drawing to look at: the art in its places, each named."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from html import escape

from artcheck.domain.gang import GangLayout, GangPlace
from artcheck.report.pictures import Picture
from artcheck.report.words import plain

PX_PER_IN = 40.0
"""Drawn scale: a sheet of 12 x 15 in fills half a desk monitor."""

TALLEST_PX = 8000.0
"""A long roll is drawn smaller than `PX_PER_IN`, so that viewers still open it."""

LABEL_IN = 0.16
"""Height of the type that names a place."""


def gang_picture(layout: GangLayout, pictures: Mapping[str, Picture]) -> str:
    """An SVG file of one layout; a design without a picture is an outlined place."""
    width, height = layout.sheet_in
    scale = min(PX_PER_IN, TALLEST_PX / height)
    size = f'width="{width * scale:g}" height="{height * scale:g}"'
    view = f'viewBox="0 0 {width:g} {height:g}"'
    parts = "\n".join((*_defs(layout, pictures), *_places(layout, pictures)))
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" {size} {view} font-family="sans-serif">\n'
        f'<rect width="{width:g}" height="{height:g}" fill="#c6c6c6"/>\n{parts}\n</svg>\n'
    )


def _defs(layout: GangLayout, pictures: Mapping[str, Picture]) -> Iterator[str]:
    """Each design's picture once; places use it."""
    first = {place.design: place for place in reversed(layout.layout)}
    yield "<defs>"
    for number, (name, place) in enumerate(sorted(first.items())):
        picture = pictures.get(name)
        if picture is None:
            continue
        width, height = place.width_in, place.height_in
        if place.rotated:
            width, height = height, width
        yield (
            f'<image id="d{number}" width="{width:g}" height="{height:g}"'
            f' preserveAspectRatio="none" href="{picture.uri}"/>'
        )
    yield "</defs>"


def _places(layout: GangLayout, pictures: Mapping[str, Picture]) -> Iterator[str]:
    numbers = {name: n for n, name in enumerate(sorted({p.design for p in layout.layout}))}
    for place in layout.layout:
        x, y = place.col_in, place.row_in
        if place.design in pictures:
            turn = f"translate({x:g} {y:g})"
            if place.rotated:
                turn = f"translate({x:g} {y + place.height_in:g}) rotate(-90)"
            yield f'<use href="#d{numbers[place.design]}" transform="{turn}"/>'
        yield _outline(place)
        yield _name(place)


def _outline(place: GangPlace) -> str:
    dashes = ' stroke-dasharray=".08 .05"' if place.free else ""
    return (
        f'<rect x="{place.col_in:g}" y="{place.row_in:g}" width="{place.width_in:g}"'
        f' height="{place.height_in:g}" fill="none" stroke="#000" stroke-width=".015"{dashes}/>'
    )


def _name(place: GangPlace) -> str:
    """The design's name on a pale ground, in the piece's upper left corner."""
    words = plain(place.design) + (" (free)" if place.free else "")
    width = min(place.width_in, len(words) * LABEL_IN * 0.6)
    x, y = place.col_in, place.row_in
    size = f'width="{width:g}" height="{LABEL_IN * 1.3:g}"'
    text = f'textLength="{width * 0.92:g}" lengthAdjust="spacingAndGlyphs"'
    return (
        f'<rect x="{x:g}" y="{y:g}" {size} fill="#fff" fill-opacity=".85"/>'
        f'<text x="{x + width * 0.04:g}" y="{y + LABEL_IN:g}" font-size="{LABEL_IN:g}" {text}>'
        f"{escape(words)}</text>"
    )
