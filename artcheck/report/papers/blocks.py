"""What a paper is made of. One list of blocks is written as PDF and as HTML, so the two agree."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from artcheck.report.pictures import Picture


@dataclass(frozen=True, slots=True)
class Heading:
    """The name of what follows."""

    text: str
    kind: Literal["heading"] = "heading"


@dataclass(frozen=True, slots=True)
class Lines:
    """Sentences, a paragraph each; ``strong`` ones must not be missed."""

    texts: tuple[str, ...]
    strong: bool = False
    kind: Literal["lines"] = "lines"


@dataclass(frozen=True, slots=True)
class Bullets:
    """A list; ``tick`` gives each item a box to tick."""

    texts: tuple[str, ...]
    tick: bool = False
    kind: Literal["bullets"] = "bullets"


@dataclass(frozen=True, slots=True)
class Facts:
    """Name and value; an empty value is a line to write on."""

    pairs: tuple[tuple[str, str], ...]
    kind: Literal["facts"] = "facts"


@dataclass(frozen=True, slots=True)
class Table:
    """Rows under column names; ``figures`` are the columns set to the right.

    ``totals`` close the table, set apart. ``wide`` is the column that takes most of the width;
    None lets all share it. A ``narrow`` table fills half the page.
    """

    columns: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    figures: tuple[int, ...] = ()
    totals: tuple[tuple[str, ...], ...] = ()
    wide: int | None = None
    narrow: bool = False
    kind: Literal["table"] = "table"


@dataclass(frozen=True, slots=True)
class Swatch:
    """A colour with its name and what is said of it."""

    hex: str
    name: str
    said: str


@dataclass(frozen=True, slots=True)
class Swatches:
    """Colours on the garment's colour."""

    ground: str
    items: tuple[Swatch, ...]
    kind: Literal["swatches"] = "swatches"


@dataclass(frozen=True, slots=True)
class Art:
    """A picture at a size on paper, in inches, in the middle of a field of the garment's colour.

    ``pairs`` are facts to stand beside a small one.
    """

    picture: Picture
    width_in: float
    height_in: float
    ground: str
    margin_in: float
    said: str
    pairs: tuple[tuple[str, str], ...] = ()
    kind: Literal["art"] = "art"


@dataclass(frozen=True, slots=True)
class Ruler:
    """A line of a known length, to see whether the paper was printed at 100 %."""

    length_in: float
    said: str
    kind: Literal["ruler"] = "ruler"


@dataclass(frozen=True, slots=True)
class Sheet:
    """A sheet with the places of its pieces: (x, y, width, height) in inches from its corner."""

    width_in: float
    height_in: float
    places: tuple[tuple[float, float, float, float], ...]
    scale: float
    said: str
    kind: Literal["sheet"] = "sheet"


@dataclass(frozen=True, slots=True)
class Sign:
    """Lines to sign on, side by side."""

    labels: tuple[str, ...]
    kind: Literal["sign"] = "sign"


@dataclass(frozen=True, slots=True)
class NewPage:
    """What follows begins a page, unless ``room_in`` inches are left on this one."""

    room_in: float | None = None
    kind: Literal["page"] = "page"


Block = Heading | Lines | Bullets | Facts | Table | Swatches | Art | Ruler | Sheet | Sign | NewPage


@dataclass(frozen=True, slots=True, kw_only=True)
class Paper:
    """One document. ``facts`` stand beside the title; ``foot`` at the foot of every page."""

    title: str
    sender: str
    contact: tuple[str, ...]
    facts: tuple[tuple[str, str], ...]
    blocks: tuple[Block, ...]
    foot: str
    page: Literal["letter", "a4"] = "letter"
