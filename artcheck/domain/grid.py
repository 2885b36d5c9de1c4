"""The method grid: the cheapest suitable method by quantity and number of inks, for one print size.

Money as decimal strings. The keys are a promise; see docs/report.md.
"""

from artcheck.domain.base import Record
from artcheck.domain.check import Flip, MoneyText

GRID_SCHEMA_VERSION = "1.0"
"""Of the grid alone; raised as the report's own."""


class GridCell(Record):
    """The cheapest suitable method for so many pieces in so many inks.

    ``price_per_piece`` is that of the row's first quantity, ``price_per_piece_at_end`` of its last.
    ``second`` is the next cheapest at the first quantity; ``margin_to_second`` is how much more
    each piece would cost by it, ``order_margin_to_second`` how much more the whole order. None: no
    other method suits. ``tie``: the second costs the same.
    """

    inks: int
    method: str
    price_per_piece: MoneyText
    price_per_piece_at_end: MoneyText
    second: str | None
    margin_to_second: MoneyText | None
    order_margin_to_second: MoneyText | None
    tie: bool


class GridRow(Record):
    """Quantities, both included, over which no ink count changes its cheapest method.

    A cell is None where no method suits so many inks.
    """

    from_quantity: int
    to_quantity: int
    cells: tuple[GridCell | None, ...]


class InkFlips(Record):
    """Where the cheapest method changes, for one number of inks."""

    inks: int
    flips: tuple[Flip, ...]


class GridMethod(Record):
    """A method that stands in the grid; ``cautions`` are what must change before it prints here."""

    id: str
    name: str
    cautions: tuple[str, ...] = ()


class MethodLeftOut(Record):
    """A method that prints no such thing, and why."""

    method: str
    name: str
    why: str


class GridReport(Record):
    """Quantity by inks, from the shop's own prices. ``left_out`` says which methods do not suit."""

    schema_version: str = GRID_SCHEMA_VERSION
    artcheck_version: str
    shop: str
    demo_prices: bool
    currency: str
    width_in: float
    height_in: float
    garment: str | None
    garment_colour: str | None
    fabric: str | None
    inks: tuple[int, ...]
    methods: tuple[GridMethod, ...]
    left_out: tuple[MethodLeftOut, ...]
    rows: tuple[GridRow, ...]
    flips: tuple[InkFlips, ...]
    assumes: tuple[str, ...]
