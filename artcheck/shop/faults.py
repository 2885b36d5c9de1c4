"""Turns pydantic's faults into lines that a shop owner can act on, all at once.

Both the shop file and the order file come through here.
"""

from __future__ import annotations

import difflib
import tomllib
from pathlib import Path
from typing import Any, TypeVar, get_args

from pydantic import BaseModel, ValidationError

from artcheck.errors import OrderFileError, ShopFileError

_R = TypeVar("_R", bound=BaseModel)
_FileError = type[ShopFileError] | type[OrderFileError]

MOST_BYTES = 4 * 1024 * 1024
"""A shop or order file beyond this is not one: the demo shop has 6 kB."""


def load_toml(path: Path, error: _FileError) -> dict[str, Any]:
    """The file as nested dictionaries.

    Raises
    ------
    ShopFileError, OrderFileError
        As ``error`` says: the file cannot be opened, is not UTF-8, or is not TOML.
    """
    try:
        if path.is_file() and path.stat().st_size > MOST_BYTES:
            raise error(path.name, (f"larger than {MOST_BYTES} bytes: this is no such file",))
        return tomllib.loads(path.read_text(encoding="utf-8"))
    except OSError as fault:
        reason = fault.strerror or str(fault)
        raise error(path.name, (f"cannot be opened ({reason}): check the path",)) from None
    except (UnicodeDecodeError, tomllib.TOMLDecodeError, RecursionError) as fault:
        raise error(path.name, (f"is not TOML: {str(fault)[:200]}",)) from None


def validated(record: type[_R], data: dict[str, Any], file: str, error: _FileError) -> _R:
    """``data`` as a record, or every fault in it at once.

    Raises
    ------
    ShopFileError, OrderFileError
        As ``error`` says; its ``faults`` carry a key path each.
    """
    try:
        return record.model_validate(data)
    except ValidationError as found:
        faults = tuple(_line(record, data, f) for f in found.errors() if not _is_echo(f))
        raise error(file, faults) from None


def _is_echo(fault: Any) -> bool:
    """A list counted as empty only because its entries have faults of their own."""
    return fault["type"] == "too_short" and bool(fault["input"])


def _line(record: type[BaseModel], data: dict[str, Any], fault: Any) -> str:
    path = key_path(fault["loc"], data)
    if fault["type"] == "extra_forbidden":
        legal = _legal_keys(record, fault["loc"][:-1])
        if fault["loc"][-1] == "currency":
            return (
                f"{path} is not a known key: a shop has one currency, convert this list's amounts"
            )
        near = difflib.get_close_matches(str(fault["loc"][-1]), legal, n=1)
        hint = f"; did you mean {near[0]}?" if near else f"; known keys: {', '.join(sorted(legal))}"
        return f"{path} is not a known key{hint}"
    if fault["type"] == "missing":
        return f"{path} is missing"
    if fault["type"] == "value_error":
        return f"{path}: {str(fault['msg']).removeprefix('Value error, ')}"
    if fault["type"] == "decimal_parsing":
        words = "is no plain number: every amount is in the shop's one currency, without its sign"
        return f"{path}: {_short(fault['input'])} {words}"
    return f"{path}: {fault['msg'][:1].lower()}{fault['msg'][1:]}, not {_short(fault['input'])}"


def key_path(loc: tuple[int | str, ...], data: Any) -> str:
    """The place as a person would name it: ``methods[2] "spot" . price.breaks[0]``.

    Union tags that pydantic puts into the path and that are no keys of the file are left out.
    """
    parts: list[str] = []
    here = data
    for step in loc:
        if isinstance(step, int) and isinstance(here, dict):  # a row of a table by ink count
            parts.append(str(step))
            here = here.get(str(step))
        elif isinstance(step, int):
            here = here[step] if isinstance(here, list | tuple) and step < len(here) else None
            name = here.get("id") or here.get("name") if isinstance(here, dict) else None
            parts[-1:] = [f"{parts[-1] if parts else ''}[{step}]" + (f' "{name}"' if name else "")]
        elif isinstance(here, dict) and (step in here or step not in get_tags(here)):
            parts.append(str(step))
            here = here.get(step)
    return ".".join(parts) or "the file"


def get_tags(here: dict[str, Any]) -> tuple[str, ...]:
    """Values that pydantic may use as a union's tag at this place."""
    return (str(here.get("kind")),)


def _legal_keys(record: type[BaseModel], loc: tuple[int | str, ...]) -> list[str]:
    models: list[type[BaseModel]] = [record]
    for step in loc:
        if isinstance(step, int):
            continue
        inner = [m for model in models for m in _models_in(model.model_fields, step)]
        models = inner or models
    return sorted({key for model in models for key in model.model_fields})


def _models_in(fields: dict[str, Any], step: str) -> list[type[BaseModel]]:
    field = fields.get(step)
    return _models_of(field.annotation) if field is not None else []


def _models_of(annotation: Any) -> list[type[BaseModel]]:
    if isinstance(annotation, type) and issubclass(annotation, BaseModel):
        return [annotation]
    return [model for arg in get_args(annotation) for model in _models_of(arg)]


def _short(value: object) -> str:
    text = repr(value)
    return text if len(text) <= 60 else text[:57] + "..."
