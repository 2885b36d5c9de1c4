"""The shop's inks, garments, fabrics, methods, prices and limits, as its TOML file states them."""

import re
from collections.abc import Iterator, Mapping
from decimal import Decimal
from typing import Annotated, Any, Literal, Self

from pydantic import AfterValidator, Field, ModelWrapValidatorHandler, model_validator

from artcheck.domain.base import MOST, Count, CountFromOne, Fault, Lab, Record, Share, with_faults
from artcheck.domain.prices import Money, PerPiece, PerSheet, Positive, PriceList

Status = Literal["standard", "practice", "memory", "shop"]
"""standard: a named standard or regulation. practice: common practice, no standard. memory: stated
from memory, to be verified. shop: this shop's own figure."""

DotShape = Literal["round", "ellipse", "line"]
Family = Literal["spot", "full_colour", "cut_film", "direct"]


class Limit(Record):
    """A threshold with its unit, status and reason. ``change`` is met before ``stop``.

    A measurement below both raises a stop, between the two a change (above them for limits that
    name a most: the rule knows which side is bad).
    """

    change: float
    stop: float | None = None
    unit: str
    status: Status
    spread: str = ""
    reason: str = ""

    @property
    def source(self) -> str:
        """Where the figure came from, as a finding prints it."""
        words = {
            "standard": "standard",
            "practice": "common practice",
            "memory": "from memory, verify",
            "shop": "this shop's figure",
        }[self.status]
        spread = f", others say {self.spread}" if self.spread else ""
        reason = f" ({self.reason})" if self.reason else ""
        return f"{words}{spread}{reason}"


class Limits(Record):
    """Every threshold that judging uses. Names say what is measured."""

    resolution_edges: Limit
    resolution_photo: Limit
    line_spot: Limit
    gap_spot: Limit
    line_full_colour: Limit
    gap_full_colour: Limit
    line_full_colour_untested: Limit
    line_cut_film: Limit
    letters: Limit
    letters_reversed: Limit
    speck: Limit
    fade_share: Limit
    photo_share: Limit
    soft_rim_width: Limit
    soft_share: Limit
    solid_film: Limit
    contrast: Limit
    garment_match: Limit
    colour_match: Limit
    colour_other: Limit
    dye_migration: Limit
    placement_width: Limit


class StockInk(Record):
    """An ink on the shelf."""

    name: Annotated[str, Field(min_length=1)]
    lab: Lab


class GarmentColour(Record):
    """A colour in which garments come."""

    name: Annotated[str, Field(min_length=1)]
    lab: Lab


class GarmentStock(Record):
    """A blank the shop buys: its kind, fabric and price."""

    kind: Annotated[str, Field(min_length=1)]
    fabric: str
    price: Money
    outerwear: bool = False


class Fabric(Record):
    """What heat does to a fabric. Temperatures in degrees Fahrenheit.

    ``refuse`` is set for fabrics that no heat press should meet; ``highest_press_f`` is the
    highest press temperature to plan with; ``dyes_migrate`` marks cloth whose dye moves into ink.
    """

    name: Annotated[str, Field(min_length=1)]
    also: tuple[str, ...] = ()
    highest_press_f: float | None = None
    damaged_from_f: float | None = None
    refuse: bool = False
    dyes_migrate: bool = False
    coated: bool = False
    status: Status
    reason: str


class Placement(Record):
    """Where a print goes: usual width and the range in which it looks right, in inches."""

    name: Annotated[str, Field(min_length=1)]
    usual_width_in: Positive
    narrowest_in: Positive
    widest_in: Positive
    below_collar_in: tuple[float, float] | None = None


class Press(Record):
    """The maker's press settings, as a starting point."""

    temperature_f: Annotated[float, Field(gt=0, lt=600)]
    seconds: Annotated[float, Field(gt=0)]
    pressure: str
    peel: str


class Method(Record):
    """A way to print, with what it can do, what it costs and how it is pressed.

    ``recommend = false`` prices the method beside the others without proposing it (a roll that
    the shop buys only for gangs, say). ``each_different`` says that every piece may carry its own
    design at no extra charge. ``most_colours`` caps the colours whatever the price list says.
    ``supplier`` is who sends the goods and charges freight; None for what the shop makes itself.
    In a shop file ``like`` takes everything that is not stated from another method before it.
    A method whose ``fades`` are "halftone" prints tints where ``halftone_lpi`` is given: at that
    frequency and angle, in dots of that shape, made smaller by the gain of the press
    (``halftone_gain_at_50``: what it adds to a tint of a half).
    """

    id: Annotated[str, Field(pattern=r"^[a-z0-9]+(-[a-z0-9]+)*$")]
    name: Annotated[str, Field(min_length=1)]
    family: Family
    supplier: str | None = None
    price: PriceList
    press: Press | None = None
    recommend: bool = True
    opaque: bool = True
    exact_inks: bool
    fades: Literal["no", "halftone", "yes"]
    photos: bool
    each_different: bool
    part_transparent: bool
    most_colours: CountFromOne | None = None
    output_ppi: Positive = 300.0
    halftone_lpi: Positive | None = None
    halftone_angle_deg: float = 22.5
    halftone_shape: DotShape = "ellipse"
    halftone_gain_at_50: Annotated[float, Field(ge=0, le=0.45)] = 0.30
    trap_pt: Annotated[float, Field(ge=0)] = 0.0
    choke_pt: Annotated[float, Field(ge=0)] = 0.0

    @property
    def mixes_inks(self) -> bool:
        """Whether inks can be mixed to order: printers' can, film cut from the shelf cannot."""
        return isinstance(self.price, PerSheet | PerPiece)

    @property
    def most_inks(self) -> int | None:
        """The most inks that the method or its price list allows; None where all are free."""
        if isinstance(self.price, PerSheet | PerPiece):
            return min(self.price.most_inks, self.most_colours or self.price.most_inks)
        return self.most_colours

    @property
    def prints_every_colour(self) -> bool:
        """Whether a film is made for it instead of plates: inks are then not counted."""
        return self.most_inks is None and self.family in ("full_colour", "direct")


class Spares(Record):
    """Pieces made beyond the order: ``share`` of it rounded up, at least ``least``."""

    share: Share
    least: Count


def _share(margin: Decimal) -> Decimal:
    """At a margin of the whole price or more no price would ever cover the cost."""
    if not 0 <= margin < 1:
        raise ValueError(
            f"{margin} is no share of the price: give 0 to below 1, such as 0.5 for 50 %;"
            " a part added to the cost is mark_up"
        )
    return margin


MOST_VALID_DAYS = 3_650
"""A quote that holds for longer than ten years is a slip of the pen."""


class Supplier(Record):
    """What a supplier asks beside its price list.

    ``freight`` None is the shop's usual one; from an order of ``free_from`` on it is free. An order
    below ``least_order`` is charged as one of that amount.
    """

    name: Annotated[str, Field(min_length=1)]
    freight: Money | None = None
    free_from: Money | None = None
    least_order: Money = Decimal(0)


class PriceRules(Record):
    """How costs become prices.

    ``rounding`` is "each piece" (round a piece's price to the smallest unit, then multiply) or
    "each line" (multiply exactly, then round once). ``margin`` is the part of the price that is
    not cost; ``mark_up`` the part added to the cost; exactly one of the two is given.
    ``change_minutes`` says how long a change usually takes at this shop, by finding id.

    What a quote promises (``quote_valid_days``, ``deposit``, ``turnaround``, ``tax_line``,
    ``terms``) is the shop's alone: where it is missing the quote leaves a blank line.
    """

    rounding: Literal["each piece", "each line"] = "each line"
    margin: Annotated[Decimal, Field(allow_inf_nan=False), AfterValidator(_share)] | None = None
    mark_up: Annotated[Decimal, Field(ge=0, le=MOST)] | None = None
    freight_per_supplier_order: Money
    suppliers: tuple[Supplier, ...] = ()
    labour_per_press: Money
    art_per_hour: Money
    art_step_minutes: CountFromOne = 15
    change_minutes: dict[str, Count] = Field(default_factory=dict)
    spares: Spares
    quote_valid_days: Annotated[int, Field(ge=1, le=MOST_VALID_DAYS)] | None = None
    deposit: Share | None = None
    turnaround: str = ""
    rush_share: Annotated[Decimal, Field(ge=0, le=MOST)] = Decimal(0)
    tax_line: str = ""
    terms: tuple[str, ...] = ()

    @model_validator(mode="wrap")
    @classmethod
    def _one_of_two(cls, data: Any, handler: ModelWrapValidatorHandler[Self]) -> Self:
        return with_faults(data, handler, _margin_faults)


def _margin_faults(given: Mapping[str, Any]) -> Iterator[Fault]:
    if (given.get("margin") is None) == (given.get("mark_up") is None):
        yield (), "give either margin or mark_up, not both and not neither"


class SmallPrint(Record):
    """A small print that may ride along where a sheet has room: a neck tag, a sleeve mark.

    ``inks`` names the inks it needs; none: it is printed in whatever the sheet carries. ``art`` is
    a path; without it the place is kept free and marked. ``most_per_sheet`` caps the copies.
    """

    name: Annotated[str, Field(min_length=1)]
    width_in: Positive
    height_in: Positive
    inks: tuple[str, ...] = ()
    art: str | None = None
    most_per_sheet: CountFromOne = 1000


class PrintConditionChoice(Record):
    """Which description of CMYK print stands for the shop's film printer.

    ``packaged`` names a packaged table; ``profile`` or ``chart`` is a path to the shop's own.
    """

    packaged: Literal["tr006", "fogra39"] = "tr006"
    profile: str | None = None
    chart: str | None = None
    total_ink_limit: Annotated[float, Field(gt=0, le=4)] | None = None


class Equipment(Record):
    """The press itself."""

    press_watts: Positive | None = None
    platen_in: tuple[Positive, Positive] | None = None
    circuit_amps: Positive | None = None
    volts: Positive = 120.0


def _currency(letters: str) -> str:
    if re.fullmatch("[A-Z]{3}", letters) is None:
        raise ValueError(
            f"'{letters}' is no currency: write the three capital letters of ISO 4217, such as USD"
        )
    return letters


_NAMED_BY = {
    "methods": "id",
    "inks": "name",
    "garment_colours": "name",
    "small_prints": "name",
    "fabrics": "name",
}
"""Lists whose entries are found by a name, and the key that holds it."""


def _named_twice(given: Mapping[str, Any]) -> Iterator[Fault]:
    for what, key in _NAMED_BY.items():
        seen: set[str] = set()
        entries = given.get(what)
        for place, entry in enumerate(entries if isinstance(entries, list | tuple) else ()):
            for name in _names_of(entry, key):
                if name in seen:
                    yield (what, place), f"'{name}' stands more than once in {what}"
                seen.add(name)


def filled_methods(methods: object) -> object:
    """Each table that says ``like = "id"`` upon the table of that method, key by key.

    So another supplier of the same kind of print is stated by its id, name, supplier and price.
    """
    if not isinstance(methods, list | tuple):
        return methods
    tables: dict[str, Mapping[str, Any]] = {}
    filled: list[object] = []
    for entry in methods:
        if isinstance(entry, Mapping):
            own = {key: value for key, value in entry.items() if key != "like"}
            entry = {**tables.get(str(entry.get("like")), {}), **own}
            tables[str(entry.get("id"))] = entry
        filled.append(entry)
    return filled


def _shop_faults(given: Mapping[str, Any]) -> Iterator[Fault]:
    yield from _named_twice(given)
    yield from _unlike(given.get("methods"))
    yield from _terms_of_nobody(given)


def _unlike(methods: object) -> Iterator[Fault]:
    """Methods that name none before them to be like."""
    before: list[str] = []
    for place, entry in enumerate(methods if isinstance(methods, list | tuple) else ()):
        if not isinstance(entry, Mapping):
            continue
        like = entry.get("like")
        if like is not None and like not in before:
            known = f"one of {', '.join(before)}" if before else "none"
            yield ("methods", place, "like"), f"'{like}' is no method before this one ({known})"
        before.append(str(entry.get("id")))


def _terms_of_nobody(given: Mapping[str, Any]) -> Iterator[Fault]:
    """Terms of suppliers that no method names, or that stand twice: a typing error loses money."""
    methods, prices = given.get("methods"), given.get("prices")
    if not isinstance(methods, list | tuple) or not isinstance(prices, Mapping):
        return
    named = sorted(
        {str(m["supplier"]) for m in methods if isinstance(m, Mapping) and m.get("supplier")}
    )
    terms = prices.get("suppliers")
    seen: set[str] = set()
    for place, entry in enumerate(terms if isinstance(terms, list | tuple) else ()):
        name = entry.get("name") if isinstance(entry, Mapping) else None
        if not isinstance(name, str):
            continue
        if name not in named or name in seen:
            words = (
                "has terms already" if name in seen else f"supplies no method ({', '.join(named)})"
            )
            yield ("prices", "suppliers", place, "name"), f"'{name}' {words}"
        seen.add(name)


def _names_of(entry: object, key: str) -> Iterator[str]:
    """A name and its aliases, in small letters."""
    table = (
        entry if isinstance(entry, Mapping) else vars(entry) if hasattr(entry, "__dict__") else {}
    )
    also = table.get("also")
    for name in (table.get(key), *(also if isinstance(also, list | tuple) else ())):
        if isinstance(name, str):
            yield name.lower()


class PaperRules(Record):
    """How the shop's papers look: page size, unit of lengths, lines under the shop's name."""

    page: Literal["letter", "a4"] = "letter"
    units: Literal["in", "mm"] = "in"
    contact: tuple[str, ...] = ()


class Shop(Record):
    """Everything a shop file says."""

    name: Annotated[str, Field(min_length=1)]
    demo: bool = False
    currency: Annotated[str, AfterValidator(_currency)]
    prices: PriceRules
    limits: Limits
    papers: PaperRules = PaperRules()
    equipment: Equipment = Equipment()
    print_condition: PrintConditionChoice = PrintConditionChoice()
    inks: tuple[StockInk, ...]
    garment_colours: tuple[GarmentColour, ...]
    garments: tuple[GarmentStock, ...] = ()
    fabrics: tuple[Fabric, ...]
    placements: tuple[Placement, ...] = ()
    small_prints: tuple[SmallPrint, ...] = ()
    methods: Annotated[tuple[Method, ...], Field(min_length=1)]

    @model_validator(mode="wrap")
    @classmethod
    def _names_once(cls, data: Any, handler: ModelWrapValidatorHandler[Self]) -> Self:
        """Methods that say ``like`` are filled up from the one they name, then all is checked."""
        filled = data
        if isinstance(data, Mapping):
            filled = {**data, "methods": filled_methods(data.get("methods"))}
        return with_faults(filled, handler, lambda _: _shop_faults(data))

    def method(self, method_id: str) -> Method:
        """The method with this id; KeyError where there is none."""
        for method in self.methods:
            if method.id == method_id:
                return method
        raise KeyError(method_id)

    def fabric(self, name: str) -> Fabric | None:
        """The fabric of this name or alias, whatever the case; None where it is unknown."""
        wanted = name.strip().lower()
        for fabric in self.fabrics:
            if wanted in (fabric.name.lower(), *(a.lower() for a in fabric.also)):
                return fabric
        return None
