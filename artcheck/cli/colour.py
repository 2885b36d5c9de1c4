"""The colour command: how near print and shelf come to colours, without any art."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import Any

from rich.console import Console
from rich.table import Table
from rich.text import Text

from artcheck.cli.check import with_profile
from artcheck.cli.tools import written
from artcheck.colour.print_model import PrintModel
from artcheck.colour.reach import Reach, nearest_reachable_many
from artcheck.colour.spaces import lab_to_hex, parse_colour
from artcheck.domain.base import Lab
from artcheck.domain.shop import Shop
from artcheck.errors import OrderFileError, UsageError
from artcheck.matching import colour_words, named_colours, nearest_stock
from artcheck.shop import load_shop
from artcheck.shop.faults import load_toml
from artcheck.shop.print_condition import load_print_model


def run_colour(
    lab: str | None,
    hex_text: str | None,
    texts: Sequence[str],
    file: Path | None,
    *,
    shop_file: Path | None,
    profile: Path | None,
    json_to: str | None,
    overwrite: bool,
) -> None:
    """Print or write what print makes of one colour or several.

    Raises
    ------
    UsageError
        No colour is given.
    ColourError
        A text names no colour, or the print condition cannot be used.
    """
    shop = with_profile(load_shop(shop_file), profile)
    asked = _asked(lab, hex_text, texts, file)
    names = named_colours(shop)
    targets = [parse_colour(text, names) for _, text in asked]
    model = load_print_model(shop.print_condition)
    reached = nearest_reachable_many(targets, model, shop.print_condition.total_ink_limit)
    entries = [
        _entry(name, found, shop, model) for (name, _), found in zip(asked, reached, strict=True)
    ]
    if written(
        entries[0] if len(entries) == 1 else {"colours": entries}, json_to, overwrite=overwrite
    ):
        return
    _show(entries, model)


def _asked(
    lab: str | None, hex_text: str | None, texts: Sequence[str], file: Path | None
) -> list[tuple[str, str]]:
    """(name, colour text) of everything asked for."""
    plain = [t for t in (f"lab({lab})" if lab else None, hex_text) if t]
    asked = [(text, text) for text in plain]
    asked += [_named(text) for text in texts]
    asked += _brand_file(file) if file else []
    if not asked:
        raise UsageError("No colour is given. Use --lab, --hex, --colour or --file.")
    return asked


def _named(text: str) -> tuple[str, str]:
    name, equals, colour = text.partition("=")
    return (name.strip(), colour.strip()) if equals else (text, text)


def _brand_file(file: Path) -> list[tuple[str, str]]:
    """Names and colour texts of a brand file's ``[colours]`` table."""
    data = load_toml(file, OrderFileError)
    table = data.get("colours", data.get("colors"))
    if not isinstance(table, dict) or not table:
        raise OrderFileError(file.name, ("colours is missing: write a table of names",))
    wrong = [name for name, value in table.items() if not isinstance(value, str)]
    if wrong:
        raise OrderFileError(file.name, tuple(f"colours.{name} is not a text" for name in wrong))
    return list(table.items())


def _entry(name: str, found: Reach, shop: Shop, model: PrintModel) -> dict[str, Any]:
    stock = nearest_stock(found.target, shop.inks)
    like = found.like_hue_delta_e_2000
    return {
        "name": name,
        "target_lab": _rounded(found.target),
        "target_hex": lab_to_hex(found.target),
        "reachable_lab": _rounded(found.lab),
        "reachable_hex": lab_to_hex(found.swatch_lab),
        "delta_e_2000": round(found.delta_e_2000, 3),
        "like_hue_lab": _rounded(found.like_hue_lab) if found.like_hue_lab else None,
        "like_hue_delta_e_2000": None if like is None else round(like, 3),
        "verdict": colour_words(found.delta_e_2000, shop.limits),
        "cmyk": [round(float(tone), 3) for tone in found.cmyk],
        "print_condition": model.description,
        "warnings": list(model.warnings),
        "nearest_ink": None
        if stock is None
        else {
            "name": stock.name,
            "delta_e_2000": round(stock.delta_e_2000, 3),
            "verdict": colour_words(stock.delta_e_2000, shop.limits),
        },
    }


def _rounded(lab: Lab) -> list[float]:
    return [round(float(value), 2) for value in lab]


def _show(entries: Sequence[dict[str, Any]], model: PrintModel) -> None:
    console = Console(highlight=False)
    table = Table(box=None, pad_edge=False, padding=(0, 2, 0, 0))
    for heading in ("colour", "", "asked L* a* b*", "", "reachable", "dE00", "", "nearest ink"):
        table.add_column(heading, justify="right" if heading == "dE00" else "left")
    for entry in entries:
        ink = entry["nearest_ink"]
        table.add_row(
            Text(entry["name"]),
            _swatch(entry["target_hex"]),
            _lab_words(entry["target_lab"]),
            _swatch(entry["reachable_hex"]),
            _lab_words(entry["like_hue_lab"] or entry["reachable_lab"]),
            f"{entry['delta_e_2000']:.1f}",
            entry["verdict"],
            "" if ink is None else f"{ink['name']} {ink['delta_e_2000']:.1f}, {ink['verdict']}",
        )
    console.print(table)
    console.print(Text(f"reckoned for {model.description}", style="dim"))
    for warning in model.warnings:
        console.print(Text(warning))


def _swatch(hex_text: str) -> Text:
    return Text("  ", style=f"on {hex_text}")


def _lab_words(lab: Sequence[float]) -> str:
    return "{:.0f} {:.0f} {:.0f}".format(*lab)
