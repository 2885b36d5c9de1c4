"""What every record of numbers and words has in common."""

from collections.abc import Callable, Iterable, Mapping
from typing import Annotated, Any, TypeVar

from pydantic import BaseModel, ConfigDict, Field, ValidationError
from pydantic_core import InitErrorDetails

Box = tuple[int, int, int, int]
"""A place in the art: row0, col0, row1, col1 in pixels, half-open."""

Lab = tuple[float, float, float]
"""CIELAB, illuminant D50, 2 degree observer: L* 0-100, a*, b*."""

Share = Annotated[float, Field(ge=0, le=1)]
"""A part of a whole, 0-1."""

MOST = 10**9
"""Beyond this a count, an amount of money or a time is a slip of the hand; totals stay exact."""

Count = Annotated[int, Field(ge=0, le=MOST)]
CountFromOne = Annotated[int, Field(ge=1, le=MOST)]


class Record(BaseModel):
    """Frozen, no unknown keys, infinite and NaN numbers refused."""

    model_config = ConfigDict(frozen=True, extra="forbid", allow_inf_nan=False, defer_build=True)


Fault = tuple[tuple[str | int, ...], str]
"""Where in the given table, and what is wrong there."""

_M = TypeVar("_M")


def with_faults(
    data: object,
    handler: Callable[[Any], _M],
    faults: Callable[[Mapping[str, Any]], Iterable[Fault]],
) -> _M:
    """Validate, and tell the record's own faults together with those of its fields.

    A check behind the fields would run only once they are all right: an owner would mend a file
    in rounds. So ``faults`` looks at the table as it was written and must bear any type in it.

    Raises
    ------
    ValidationError
        Holding the faults of both.
    """
    own = list(faults(data)) if isinstance(data, Mapping) else []
    told: list[InitErrorDetails] = [
        {"type": "value_error", "loc": loc, "input": data, "ctx": {"error": ValueError(words)}}
        for loc, words in own
    ]
    try:
        made = handler(data)
    except ValidationError as found:
        told = [*_details(found), *told]
        raise ValidationError.from_exception_data(found.title, told) from None
    if told:
        raise ValidationError.from_exception_data(type(made).__name__, told)
    return made


def _details(found: ValidationError) -> list[InitErrorDetails]:
    keys = ("type", "loc", "input", "ctx")
    return [{key: fault[key] for key in keys if key in fault} for fault in found.errors()]  # type: ignore[literal-required, misc]
