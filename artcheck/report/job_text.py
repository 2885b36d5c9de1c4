"""A job folder's manifest as text for a terminal."""

from __future__ import annotations

from rich.console import Console
from rich.table import Table
from rich.text import Text

from artcheck.domain.manifest import Manifest, Side
from artcheck.report.words import NOTHING, plain

_VERDICTS = {
    "suits": "suits",
    "suits_with_changes": "suits with changes",
    "unsuitable": "unsuitable",
}

MOST_CHANGES = 8
"""Changes shown; the manifest holds all."""


def render_job(manifest: Manifest, method: str, console: Console) -> None:
    """Print what was made, what it loses, and what it saves."""
    inks = [ink for ink in manifest.inks if ink.role == "ink"]
    count = "full colour" if not inks else "1 ink" if len(inks) == 1 else f"{len(inks)} inks"
    size = f"{manifest.width_in:.4g} x {manifest.height_in:.4g} in at {manifest.ppi:g} ppi"
    console.print(Text(f"{plain(manifest.artwork.file)} in {count}: {plain(method)}, {size}."))
    console.print()
    console.print(_inks(manifest))
    if manifest.loss is not None:
        loss = manifest.loss
        console.print(
            f"\nColour lost (dE00): {loss.mean_delta_e_2000:.1f} on average,"
            f" {loss.p95_delta_e_2000:.1f} for the worst twentieth of the ink,"
            f" {loss.worst_region_delta_e_2000:.1f} in the worst area."
        )
    if manifest.comparison is not None:
        console.print()
        console.print(_comparison(manifest))
        still = [plain(line) for line in manifest.comparison.after.to_settle]
        _list(console, "Still to settle", still, most=None)
    _list(console, "Changed", [_change(manifest, i) for i in range(len(manifest.changes))])
    _list(console, "Look out", [plain(line) for line in manifest.warnings], most=None)


def _inks(manifest: Manifest) -> Table:
    table = Table("order", "ink", "colour", "in2", "plate", box=None, pad_edge=False)
    table.columns[3].justify = "right"
    for ink in manifest.inks:
        name = plain(ink.name) if ink.stock else f"{plain(ink.name)} (mixed)"
        table.add_row(
            str(ink.order), Text(name), ink.hex, f"{ink.area_in2:.1f}", Text(plain(ink.plate))
        )
    return table


def _comparison(manifest: Manifest) -> Table:
    assert manifest.comparison is not None
    currency = manifest.comparison.currency
    table = Table("", "the art", "this version", box=None, pad_edge=False)
    sides = manifest.comparison.before, manifest.comparison.after
    table.add_row("inks", *(_count(side) for side in sides))
    table.add_row("verdict", *(_VERDICTS[side.verdict] for side in sides))
    for words, key in (("cost", "total"), ("price", "price_total"), ("each", "price_per_piece")):
        amounts = [getattr(side, key) for side in sides]
        if any(amount is not None for amount in amounts):
            shown = [NOTHING if a is None else f"{a:f} {currency}" for a in amounts]
            table.add_row(words, *shown)
    return table


def _count(side: Side) -> str:
    return NOTHING if side.inks is None else str(side.inks)


def _change(manifest: Manifest, index: int) -> str:
    change = manifest.changes[index]
    if change.where is None:
        return plain(change.what)
    row0, col0, _, _ = change.where
    return (
        f"{plain(change.what)}, {col0 / manifest.ppi:.2f} in from the left and"
        f" {row0 / manifest.ppi:.2f} in down"
    )


def _list(console: Console, title: str, lines: list[str], most: int | None = MOST_CHANGES) -> None:
    if not lines:
        return
    console.print(f"\n{title}:")
    for line in lines[:most]:
        console.print(Text(f"  - {line}"))
    if most is not None and len(lines) > most:
        console.print(f"  - and {len(lines) - most} more: see manifest.json")
