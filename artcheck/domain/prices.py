"""Price lists as a shop file states them. Every fault in a list is told, each at its own place."""

import itertools
from collections.abc import Iterator, Mapping, Sequence
from decimal import Decimal, InvalidOperation
from typing import Annotated, Any, Literal, Self

from pydantic import Field, ModelWrapValidatorHandler, field_validator, model_validator

from artcheck.domain.base import MOST, Count, CountFromOne, Fault, Record, with_faults

Money = Annotated[Decimal, Field(ge=0, le=MOST, allow_inf_nan=False)]
Positive = Annotated[float, Field(gt=0)]


class _InkPriced(Record):
    """A price that rises with each ink and falls at each break.

    ``by_inks`` holds a row for 1, 2, 3 ... inks, a price per break; a print in mixed inks pays
    ``mix_per_ink`` for each; a white underbase counts as an ink where the printer says so.
    """

    breaks: tuple[CountFromOne, ...]
    by_inks: dict[int, tuple[Money, ...]]
    setup_per_ink: Money = Decimal(0)
    mix_per_ink: Money = Decimal(0)
    underbase_is_an_ink: bool = False

    @field_validator("by_inks", mode="before")
    @classmethod
    def _ink_counts(cls, value: object) -> object:
        """TOML keys are text: ``[methods.price.by_inks] 1 = [...]``."""
        if not isinstance(value, dict):
            return value
        return {int(k) if str(k).isdigit() else k: v for k, v in value.items()}

    @model_validator(mode="wrap")
    @classmethod
    def _whole(cls, data: Any, handler: ModelWrapValidatorHandler[Self]) -> Self:
        return with_faults(data, handler, lambda given: cls._faults(given))

    @classmethod
    def _faults(cls, given: Mapping[str, Any]) -> Iterator[Fault]:
        yield from break_faults(given.get("breaks"))
        yield from _table_faults(given.get("by_inks"), given.get("breaks"))

    @property
    def most_inks(self) -> int:
        """The largest number of inks that the list prices."""
        return max(self.by_inks)


class PerSheet(_InkPriced):
    """Bought by the printed sheet: breaks count sheets."""

    kind: Literal["per_sheet"]
    sheet_in: tuple[Positive, Positive]
    gutter_in: Annotated[float, Field(ge=0)] = 0.0
    margin_in: Annotated[float, Field(ge=0)] = 0.0
    rotate: bool = True
    fewest_sheets: CountFromOne = 1

    @classmethod
    def _faults(cls, given: Mapping[str, Any]) -> Iterator[Fault]:
        yield from super()._faults(given)
        breaks, fewest = _whole_numbers(given.get("breaks")), given.get("fewest_sheets", 1)
        if breaks and isinstance(fewest, int) and breaks[0] > fewest:
            words = f"prices start at {breaks[0]} sheets but {fewest} may be bought"
            yield ("breaks", 0), f"{words}: give a price for them, or raise fewest_sheets"
        sheet, margin = given.get("sheet_in"), given.get("margin_in", 0)
        if _numbers([margin]) and _numbers(sheet) and 2 * margin >= min(sheet):  # type: ignore[arg-type]
            yield ("margin_in",), "two margins leave nothing of the sheet: make it smaller"


class PerArea(Record):
    """Bought by the square inch of the printed box; ``per_piece`` is added (handling).

    Film that is cut is weeded: ``weeding_seconds_per_shape`` for each separate piece of the art, at
    ``weeding_per_hour``.
    """

    kind: Literal["per_area"]
    per_in2: Money
    per_piece: Money = Decimal(0)
    least_per_piece: Money = Decimal(0)
    least_per_design: Money = Decimal(0)
    weeding_seconds_per_shape: Annotated[float, Field(ge=0)] = 0.0
    weeding_per_hour: Money = Decimal(0)
    widest_in: Positive | None = None


class PerRoll(Record):
    """Bought by the begun foot of a roll; pieces stand in rows across it."""

    kind: Literal["per_roll"]
    width_in: Positive
    gutter_in: Annotated[float, Field(ge=0)] = 0.0
    per_foot: Money
    rotate: bool = True
    fewest_feet: CountFromOne = 1


class PerPiece(_InkPriced):
    """Printed on the garment: set-up per screen, then a price a piece; breaks count pieces."""

    kind: Literal["per_piece"]
    widest_in: Positive | None = None
    tallest_in: Positive | None = None
    fewest_pieces: CountFromOne = 1


class SizeClass(Record):
    """Prints that fit into a box, either way up; a price for each break."""

    name: Annotated[str, Field(min_length=1)]
    within_in: tuple[Positive, Positive]
    prices: tuple[Money, ...]


class PerSize(Record):
    """Transfers priced by size class, whatever the print's exact size; breaks count prints."""

    kind: Literal["per_size"]
    breaks: tuple[CountFromOne, ...]
    classes: Annotated[tuple[SizeClass, ...], Field(min_length=1)]
    per_design: Money = Decimal(0)
    least_per_design: Money = Decimal(0)
    fewest_prints: CountFromOne = 1

    @model_validator(mode="wrap")
    @classmethod
    def _whole(cls, data: Any, handler: ModelWrapValidatorHandler[Self]) -> Self:
        return with_faults(data, handler, _class_faults)


class PerStitch(Record):
    """Embroidered on the garment: a price for a thousand stitches; breaks count pieces.

    Stitches are reckoned from the inked area. ``per_design`` is the charge for setting the design
    out (digitising).
    """

    kind: Literal["per_stitch"]
    breaks: tuple[CountFromOne, ...]
    per_thousand: tuple[Money, ...]
    stitches_per_in2: Positive
    least_stitches: Count = 0
    per_design: Money = Decimal(0)
    widest_in: Positive | None = None
    tallest_in: Positive | None = None
    fewest_pieces: CountFromOne = 1

    @model_validator(mode="wrap")
    @classmethod
    def _whole(cls, data: Any, handler: ModelWrapValidatorHandler[Self]) -> Self:
        return with_faults(data, handler, _stitch_faults)


PriceList = Annotated[
    PerSheet | PerArea | PerRoll | PerSize | PerPiece | PerStitch, Field(discriminator="kind")
]


# --- faults, looked for in the table as it was written ------------------------------------------


def break_faults(breaks: object) -> Iterator[Fault]:
    """Breaks that are none, overlap or fall."""
    if isinstance(breaks, list | tuple) and not breaks:
        yield ("breaks",), "is empty: give the quantity from which each price holds"
    for place, (low, high) in enumerate(itertools.pairwise(_whole_numbers(breaks)), 1):
        if low >= high:
            yield ("breaks", place), f"breaks must rise: {high} follows {low}"


def row_faults(where: Sequence[str | int], row: object, breaks: object) -> Iterator[Fault]:
    """A row of prices with holes, or with a price that rises at a higher break."""
    if not isinstance(row, list | tuple):
        return
    if isinstance(breaks, list | tuple) and len(row) != len(breaks):
        yield (*where,), f"{len(row)} prices for {len(breaks)} breaks: give one for each"
    for place, (small, large) in enumerate(itertools.pairwise(map(_amount, row)), 1):
        if small is not None and large is not None and small < large:
            yield (
                (*where, place),
                f"{large} follows {small}: a price may not rise at a higher break",
            )


def _class_faults(given: Mapping[str, Any]) -> Iterator[Fault]:
    yield from break_faults(given.get("breaks"))
    classes = given.get("classes")
    for place, entry in enumerate(classes if isinstance(classes, list | tuple) else ()):
        if isinstance(entry, Mapping):
            where = ("classes", place, "prices")
            yield from row_faults(where, entry.get("prices"), given.get("breaks"))


def _stitch_faults(given: Mapping[str, Any]) -> Iterator[Fault]:
    yield from break_faults(given.get("breaks"))
    yield from row_faults(("per_thousand",), given.get("per_thousand"), given.get("breaks"))


def _table_faults(table: object, breaks: object) -> Iterator[Fault]:
    """Rows that are missing, and prices that fall with an ink more."""
    if not isinstance(table, dict):
        return
    rows = {int(k): row for k, row in table.items() if str(k).isdigit()}
    wanted = list(range(1, max(len(table), 1) + 1))
    if sorted(rows) != wanted:
        yield ("by_inks",), f"must price 1, 2, 3 ... inks in turn, not {sorted(map(str, table))}"
    for inks, row in sorted(rows.items()):
        yield from row_faults(("by_inks", inks), row, breaks)
        fewer = rows.get(inks - 1)
        if isinstance(row, list | tuple) and isinstance(fewer, list | tuple):
            yield from _cheaper_ink(inks, row, fewer)


def _cheaper_ink(inks: int, row: Sequence[object], fewer: Sequence[object]) -> Iterator[Fault]:
    for place, (more, less) in enumerate(zip(map(_amount, row), map(_amount, fewer), strict=False)):
        if more is not None and less is not None and more < less:
            yield (
                ("by_inks", inks, place),
                f"{more} is less than {less} for an ink fewer: no print costs less for an ink more",
            )


def _whole_numbers(value: object) -> list[int]:
    """The list itself where it holds whole numbers alone; otherwise empty: that is told apart."""
    whole = isinstance(value, list | tuple) and all(type(n) is int for n in value)
    return list(value) if whole else []  # type: ignore[call-overload]


def _numbers(value: object) -> bool:
    if not isinstance(value, list | tuple):
        return False
    return bool(value) and all(isinstance(n, int | float) for n in value)


def _amount(value: object) -> Decimal | None:
    try:
        amount = Decimal(str(value))
    except InvalidOperation:
        return None
    return amount if amount.is_finite() else None
