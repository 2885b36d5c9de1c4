"""Reads the shop file over the packaged defaults, and the order file."""

from __future__ import annotations

import tomllib
from importlib import resources
from pathlib import Path
from typing import Any

from artcheck.domain.order import Order
from artcheck.domain.shop import Shop
from artcheck.errors import OrderFileError, ShopFileError
from artcheck.shop.faults import load_toml, validated


def load_shop(path: Path | None = None) -> Shop:
    """The shop: the file's entries over the packaged ones.

    Tables are merged key by key, lists are replaced whole. A file that states its own ``methods``
    stands alone on the trade's defaults; the invented demo shop then gives nothing, so that no
    invented price can slip into a real quote.

    Raises
    ------
    ShopFileError
        The file cannot be read, or has faults; all of them are told.
    """
    if path is None:
        data = merged(_packaged("defaults.toml"), _packaged("demo.toml"))
        return validated(Shop, data, "packaged demo shop", ShopFileError)
    own = load_toml(path, ShopFileError)
    base = _packaged("defaults.toml")
    if "methods" not in own:
        base = merged(base, _packaged("demo.toml"))
    data = merged(base, _owned_limits(own))
    shop = validated(Shop, _with_paths(data, path.parent), path.name, ShopFileError)
    small = tuple(
        small.model_copy(update={"art": str(path.parent / small.art)}) if small.art else small
        for small in shop.small_prints
    )
    return shop.model_copy(update={"small_prints": small})


def load_order(path: Path) -> Order:
    """The order of a TOML file; art paths are taken from the file's own folder.

    A print that several garments carry stands once for each of them (`Order.spread`).

    Raises
    ------
    OrderFileError
        The file cannot be read, or has faults; all of them are told.
    """
    order = validated(Order, load_toml(path, OrderFileError), path.name, OrderFileError)
    prints = tuple(p.model_copy(update={"art": str(path.parent / p.art)}) for p in order.prints)
    return order.model_copy(update={"prints": prints}).spread()


def packaged_shop_text() -> str:
    """The demo shop followed by the trade's defaults, as one TOML text to start a file from."""
    return f"{_packaged_text('demo.toml')}\n{_packaged_text('defaults.toml')}"


def merged(under: dict[str, Any], over: dict[str, Any]) -> dict[str, Any]:
    """``over`` upon ``under``: tables key by key, everything else replaced."""
    result = dict(under)
    for key, value in over.items():
        below = result.get(key)
        both = isinstance(below, dict) and isinstance(value, dict)
        result[key] = merged(below, value) if both else value  # type: ignore[arg-type]
    return result


def _owned_limits(own: dict[str, Any]) -> dict[str, Any]:
    """A limit that the shop changed is the shop's own figure, unless it says otherwise."""
    limits = own.get("limits")
    if not isinstance(limits, dict):
        return own
    stated = {
        name: {"status": "shop", "reason": "", "spread": "", **limit}
        if isinstance(limit, dict)
        else limit
        for name, limit in limits.items()
    }
    return {**own, "limits": stated}


def _with_paths(data: dict[str, Any], folder: Path) -> dict[str, Any]:
    """Paths of a profile or chart are taken from the shop file's own folder."""
    condition = data.get("print_condition")
    if not isinstance(condition, dict):
        return data
    rooted = {
        key: str(folder / value)
        if key in ("profile", "chart") and isinstance(value, str)
        else value
        for key, value in condition.items()
    }
    return {**data, "print_condition": rooted}


def _packaged(name: str) -> dict[str, Any]:
    return tomllib.loads(_packaged_text(name))


def _packaged_text(name: str) -> str:
    return (resources.files("artcheck.shop") / "data" / name).read_text(encoding="utf-8")
