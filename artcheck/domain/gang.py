"""What ganging an order gives: layouts, what they cost together and apart, what rides along free.

Lengths in inches, money as decimal strings. The keys are a promise; see docs/report.md.
"""

from artcheck.domain.base import Record, Share
from artcheck.domain.check import CostLine, MoneyText

GANG_SCHEMA_VERSION = "1.0"
"""Of the gang report alone; raised as the report's own."""


class GangDesign(Record):
    """One print of the order as it is ganged; ``quantity`` holds the spares."""

    name: str
    art: str
    width_in: float
    height_in: float
    quantity: int
    inks: tuple[str, ...]


class LeftOut(Record):
    """A print that this method cannot gang."""

    design: str
    why: str


class GangPlace(Record):
    """One copy: its upper left corner from the sheet's. ``free`` rides along without charge."""

    design: str
    row_in: float
    col_in: float
    width_in: float
    height_in: float
    rotated: bool
    free: bool


class GangCopies(Record):
    """Copies of one design on one layout: on each sheet, and on all that are bought."""

    design: str
    per_sheet: int
    made: int
    free: bool


class GangLayout(Record):
    """One layout: a sheet printed ``sheets_bought`` times, or one length of roll."""

    sheet_in: tuple[float, float]
    gutter_in: float
    margin_in: float
    inks: tuple[str, ...]
    sheets_needed: int
    sheets_bought: int
    covered: Share
    copies: tuple[GangCopies, ...]
    layout: tuple[GangPlace, ...]


class GangMethod(Record):
    """The order's prints together by one method.

    ``needed``, ``bought`` and ``lower_bound`` count sheets of all layouts, or begun feet of roll.
    ``proven``: no layout of the kinds looked at costs less (the same division into gangs where
    sheets are printed alike). ``cost_alone`` buys each print for itself; ``saving`` is the
    difference, and ``ganged`` says whether it is worth it.
    """

    id: str
    name: str
    unit: str
    designs: tuple[GangDesign, ...]
    left_out: tuple[LeftOut, ...]
    ganged: bool
    layouts: tuple[GangLayout, ...]
    needed: int
    bought: int
    lower_bound: int
    proven: bool
    cost: MoneyText | None
    cost_alone: MoneyText | None
    saving: MoneyText | None
    lines: tuple[CostLine, ...]
    lines_alone: tuple[CostLine, ...]
    notes: tuple[str, ...]


class GangReport(Record):
    """An order's gangs, by every method that buys sheets or a roll.

    ``order_decoration`` is what the transfers cost by the methods that `check` chooses; None where
    some print has no method.
    """

    schema_version: str = GANG_SCHEMA_VERSION
    artcheck_version: str
    order: str
    shop: str
    demo_prices: bool
    currency: str
    pieces: int
    order_methods: tuple[str | None, ...]
    order_decoration: MoneyText | None
    cheapest: str | None
    answer: str
    methods: tuple[GangMethod, ...]
